"""The first form of a book: every table."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def _make_book() -> None:
    op.create_table(
        "book",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("made_utc", sa.String(), nullable=False),
    )


def _make_setups() -> None:
    op.create_table(
        "setups",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("style", sa.String(), nullable=False),
        sa.Column("thrower", sa.Text(), nullable=False),
        sa.Column("yaml", sa.Text(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )


def _make_recordings() -> None:
    op.create_table(
        "recordings",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("start_utc", sa.String(), nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("cleaned", sa.String(), nullable=False),
        sa.Column("channels", sa.JSON(), nullable=False),
        sa.Column("repairs", sa.JSON(), nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )


def _make_predictions() -> None:
    op.create_table(
        "predictions",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("setup", sa.String(), sa.ForeignKey("setups.id"), nullable=False),
        sa.Column("seed", sa.BigInteger(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("launches", sa.BigInteger(), nullable=False),
        sa.Column("clean_low", sa.Double(), nullable=False),
        sa.Column("clean_share", sa.Double(), nullable=False),
        sa.Column("clean_high", sa.Double(), nullable=False),
        sa.Column("quantiles", sa.JSON(), nullable=False),
        sa.Column("day", sa.JSON(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )
    op.create_index("ix_predictions_setup", "predictions", ["setup"])


def _make_launches() -> None:
    op.create_table(
        "launches",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("recording", sa.String(), sa.ForeignKey("recordings.id"), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("setup", sa.String(), sa.ForeignKey("setups.id"), nullable=True),
        sa.Column("prediction", sa.String(), sa.ForeignKey("predictions.id"), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("from_s", sa.Double(), nullable=False),
        sa.Column("to_s", sa.Double(), nullable=False),
        sa.Column("ended", sa.String(), nullable=False),
        sa.Column("phases", sa.JSON(), nullable=False),
        sa.Column("events", sa.JSON(), nullable=False),
        sa.Column("estimates", sa.JSON(), nullable=False),
        sa.Column("verdict", sa.JSON(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.Column("more", sa.JSON(), nullable=False),
        sa.Column("flown_utc", sa.String(), nullable=False),
        sa.Column("thrower", sa.Text(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("throw_speed_mps", sa.Double(), nullable=True),
        sa.Column("start_delay_s", sa.Double(), nullable=True),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )
    op.create_index("ix_launches_flown_utc", "launches", ["flown_utc"])
    op.create_index("ix_launches_outcome", "launches", ["outcome"])
    op.create_index("ix_launches_prediction", "launches", ["prediction"])
    op.create_index("ix_launches_recording", "launches", ["recording"])
    op.create_index("ix_launches_setup", "launches", ["setup"])


def _make_evidence() -> None:
    op.create_table(
        "evidence",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("input", sa.String(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("error", sa.Double(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("nth", sa.BigInteger(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )
    op.create_index("ix_evidence_input", "evidence", ["input"])
    op.create_index("ix_evidence_source", "evidence", ["source"])


def _make_notes() -> None:
    op.create_table(
        "notes",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("written_utc", sa.String(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("added_utc", sa.String(), nullable=False),
    )
    op.create_index("ix_notes_about", "notes", ["about"])


def _make_imports() -> None:
    op.create_table(
        "imports",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("number", sa.BigInteger(), nullable=False, unique=True),
        sa.Column("made_utc", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("added", sa.JSON(), nullable=False),
        sa.Column("already", sa.JSON(), nullable=False),
    )


def upgrade() -> None:
    """Make every table, those that are named before those that name them."""
    _make_book()
    _make_setups()
    _make_recordings()
    _make_predictions()
    _make_launches()
    _make_evidence()
    _make_notes()
    _make_imports()
