"""Whatever a book holds, its export makes the same book again."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from overarm.learn.evidence import Evidence
from overarm.logbook.carry import export_book, import_file
from tests.examples import setup_of
from tests.logbooks import content_of, odds_of_b, original_of, recording_of, review_of, sqlite_book

TEXT = st.text(max_size=30)
NUMBER = st.floats(allow_nan=False, allow_infinity=False)
WHOLE = st.integers(0, 2**63 - 1)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**63) + 1, 2**63 - 1) | NUMBER | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
EVIDENCE = st.builds(
    Evidence,
    input=TEXT,
    value=NUMBER,
    error=NUMBER,
    kind=st.sampled_from(["launch", "bench"]),
    method=TEXT,
    source=TEXT,
    day=TEXT,
)


@st.composite
def reviews(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a review with anything in its free places."""
    review = review_of(1, draw(TEXT), draw(NUMBER))
    launch = review["launches"][0]
    launch |= {
        "verdict": draw(st.dictionaries(TEXT, PLAIN, max_size=2)),
        "more": draw(PLAIN),
        "number": draw(WHOLE),
        "ended": draw(TEXT),
    }
    launch["events"] = draw(st.dictionaries(TEXT, PLAIN, max_size=2))
    share = draw(st.floats(0.0, 1.0))
    clean = {"low": share / 2, "share": share, "high": (1 + share) / 2}
    review["prediction"] = {
        **odds_of_b(),
        "seed": draw(WHOLE),
        "clean": clean,
        "quantiles": draw(PLAIN) or {},
    }
    if not isinstance(review["prediction"]["quantiles"], dict):
        review["prediction"]["quantiles"] = {"drawn": review["prediction"]["quantiles"]}
    return review


CONTENT = st.tuples(
    st.lists(reviews(), max_size=2), st.lists(EVIDENCE, max_size=3), st.lists(TEXT, max_size=3)
)
NUMBERS = itertools.count()


@settings(
    max_examples=12,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(CONTENT)
def test_any_book_comes_back(tmp_path: Path, drawn: tuple[Any, ...]) -> None:
    told, evidence, texts = drawn
    home = tmp_path / str(next(NUMBERS))
    home.mkdir()
    with sqlite_book(home, "one.sqlite") as book, sqlite_book(home, "two.sqlite") as other:
        with book.batch("add") as batch:
            for k, review in enumerate(told):
                recording = recording_of(k)
                batch.recording(recording, original_of(k), texts[0] if texts else "")
                batch.review(review, recording.sha256, setup_of("b"))
            batch.evidence(evidence)
            for text in texts:
                if text.strip():
                    batch.note(text)
        export_book(book, home / "one.zip")
        before = content_of(book)
        import_file(other, home / "one.zip")
        assert content_of(other) == before
        export_book(other, home / "two.zip")
        assert (home / "one.zip").read_bytes() == (home / "two.zip").read_bytes()
        assert import_file(book, home / "two.zip").new == {}
        assert content_of(book) == before
        if other.counts()["imports"]:
            other.undo()
        assert not any(content_of(other).values())
