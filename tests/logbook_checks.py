"""What every logbook must do, whatever database it is in; both databases are held to each of these.

A check gets a maker of new, empty books and an empty folder.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from overarm.errors import InputError
from overarm.learn.answers import figures_of
from overarm.learn.evidence import evidence_of
from overarm.logbook.book import Book
from overarm.logbook.carry import export_book, import_file
from overarm.logbook.look import Wanted
from tests.examples import FILES, setup_of
from tests.logbooks import (
    EVIDENCE,
    content_of,
    odds_of_b,
    original_of,
    put,
    recording_of,
    review_of,
    same_channels,
)

Maker = Callable[[], Book]
Check = Callable[[Maker, Path], None]


def what_goes_in_comes_out(maker: Maker, folder: Path) -> None:
    with maker() as book:
        sha256 = put(book)
        given, found = recording_of(1, "2031-05-20T18:30:00Z"), book.recording(sha256)
        assert same_channels(given, found)
        for field in dataclasses.fields(given):
            if field.name != "channels":
                assert getattr(found, field.name) == getattr(given, field.name), field.name
        assert book.original(sha256) == original_of(1)
        assert sorted(book.evidence()) == sorted(item._replace(source=sha256) for item in EVIDENCE)
        assert len(book.evidence("power.thrust")) == 2  # two equal readings are two readings
        launch = book.show(book.search(Wanted(outcome="clean"))[0]["id"])
        told = review_of(1)["launches"][0]
        for column, key in {"phases": "spans", "events": "events", "estimates": "estimates"}.items():
            assert launch["row"][column] == told[key]
        assert launch["row"]["verdict"] == told["verdict"]
        assert launch["row"]["more"] == {"advice": "Change nothing."}
        assert launch["row"]["flown_utc"] == "2031-05-20T18:30:00.050Z"
        assert launch["related"]["predictions"][0]["clean_share"] == 0.91
        assert launch["related"]["predictions"][0]["day"]["wind"] == setup_of("b").day.wind_mps.value


def a_setup_stands_alone(maker: Maker, folder: Path) -> None:
    """A setup with a card and a table in other files comes out with the same hash and the same numbers."""
    import overarm

    text = FILES["b"].read_text("utf-8")
    head, rest = text.split("\nday:", 1)
    card, _, tail = rest.partition("\n\n")
    (folder / "cards").mkdir()
    (folder / "cards" / "day.yaml").write_text(f"{card}\n".replace("\n  ", "\n").lstrip("\n"), "utf-8")
    (folder / "b.yaml").write_text(f"{head}\nday: cards/day.yaml\n\n{tail}", "utf-8")
    setup = overarm.load(folder / "b.yaml")
    with maker() as book:
        hash_ = book.add_setup(setup)
        (folder / "out").mkdir()
        again = overarm.load(book.write_setup(hash_, folder / "out"))
        assert again.hash() == hash_ == setup_of("b").hash()
        assert again.values() == setup.values()
        with pytest.raises(InputError, match="is there already"):
            book.write_setup(hash_, folder / "out")


def an_export_makes_the_same_book(maker: Maker, folder: Path) -> None:
    with maker() as book, maker() as other:
        put(book, 1)
        put(book, 2, "dipped", 7.9)
        book.add_evidence([EVIDENCE[0]._replace(value=-0.0, error=5e-324)])
        done = export_book(book, folder / "one.zip")
        added = import_file(other, folder / "one.zip")
        assert added.new == done.counts
        assert content_of(other) == content_of(book)
        assert export_book(other, folder / "two.zip") == done
        assert (folder / "one.zip").read_bytes() == (folder / "two.zip").read_bytes()


def an_import_twice_adds_nothing(maker: Maker, folder: Path) -> None:
    with maker() as book, maker() as other:
        put(book)
        export_book(book, folder / "one.zip")
        import_file(other, folder / "one.zip")
        before = content_of(other, batches=True)
        again = import_file(other, folder / "one.zip")
        assert (again.id, again.new) == (None, {})
        assert again.already["launches"] == 2
        assert content_of(other, batches=True) == before


def two_books_become_one(maker: Maker, folder: Path) -> None:
    with maker() as book, maker() as other, maker() as both:
        put(book, 1)
        put(other, 2)
        put(both, 1)
        put(both, 2)
        export_book(other, folder / "other.zip")
        added = import_file(book, folder / "other.zip")
        assert added.already["setups"] == 1  # the same setup
        assert added.new["recordings"] == 1
        ids = [[row["id"] for row in content_of(one)[kind]] for one in (book, both) for kind in ("launches",)]
        assert ids[0] == ids[1]


def an_undo_is_exact(maker: Maker, folder: Path) -> None:
    with maker() as book, maker() as other:
        put(book, 1)
        before = content_of(book, batches=True)
        put(other, 2)
        export_book(other, folder / "other.zip")
        put(book, 3)
        import_file(book, folder / "other.zip")
        assert book.undo().removed["recordings"] == 1
        assert book.undo("2").number == 2
        assert content_of(book, batches=True) == before
        book.undo(before["imports"][0]["id"][:20])
        assert not any(content_of(book, batches=True).values())
        with pytest.raises(InputError, match="no such batch"):
            book.undo()


def an_undo_keeps_what_another_batch_brought_too(maker: Maker, folder: Path) -> None:
    """Two archives hold one launch: it stays as long as one of the two imports does."""
    with maker() as book, maker() as other:
        sha256 = put(other, 1)
        export_book(other, folder / "first.zip")
        put(other, 2)
        export_book(other, folder / "both.zip")
        import_file(book, folder / "first.zip")
        import_file(book, folder / "both.zip")
        undone = book.undo("1")
        assert not undone.removed
        assert {item.batch for item in undone.kept} == {2}
        assert content_of(book) == content_of(other)
        assert book.original(sha256) == original_of(1)
        book.undo("2")
        assert not any(content_of(book, batches=True).values())


def an_undo_keeps_what_is_used(maker: Maker, folder: Path) -> None:
    """The first flight brought the setup, which the second uses: it stays, and goes with the second."""
    with maker() as book:
        put(book, 1)
        sha256 = put(book, 2)
        note = book.add_note("about the second", sha256[:10])
        undone = book.undo("1")
        assert {(item.table, item.batch) for item in undone.kept} == {("setups", 2), ("predictions", 2)}
        assert undone.removed["recordings"] == 1
        assert book.show(note)["row"]["about"] == sha256
        kept = book.undo("2").kept
        assert [(item.table, item.batch) for item in kept] == [("recordings", 3)]  # the note uses it
        assert book.counts()["setups"] == 0
        assert book.original(sha256) == original_of(2)
        book.undo()
        assert not any(content_of(book, batches=True).values())


def notes_from_a_file(maker: Maker, folder: Path) -> None:
    file = folder / "notes.json"
    told = [{"text": "wet grass"}, {"text": "late gust", "written_utc": "2031-05-20T20:00:00+02:00"}]
    file.write_text(json.dumps({"overarm_notes": 1, "notes": told}), "utf-8")
    with maker() as book:
        assert import_file(book, file).new == {"notes": 2}
        assert import_file(book, file).new == {}
        times = {row["text"]: row["written_utc"] for row in book.newest("notes")}
        assert times == {"wet grass": "", "late gust": "2031-05-20T18:00:00.000Z"}


def a_search_finds_what_is_wanted(maker: Maker, folder: Path) -> None:
    with maker() as book:
        put(book, 1)
        put(book, 2, "dipped", 7.9)
        book.add_note("ÄRGER with 100 % throttle", put(book, 3, start_utc=""))

        def found(**wanted: str) -> list[tuple[str, int]]:
            return sorted((row["recording_name"], row["number"]) for row in book.search(Wanted(**wanted)))

        first, second, third = (f"flight-{k}.csv" for k in (1, 2, 3))
        assert len(found()) == 6
        assert found(outcome="dipped") == [(second, 1)]
        assert found(text="ärger 100 %") == [(third, 1), (third, 2)]
        assert found(text="100 _") == []  # no letter stands for any other
        assert found(text="flight-1 WELL") == [(first, 1)]
        assert found(text="larger foam", outcome="clean") == [(first, 1), (third, 1)]
        assert found(setup=setup_of("b").hash()[:6]) == found(setup="LARGER FOAM") == found()
        assert found(setup="nothing like it") == []
        assert found(thrower="practised") == found()
        assert found(thrower="somebody else") == []
        assert found(to_day="2031-05-20") == [(first, 1), (first, 2), (third, 1), (third, 2)]
        assert found(from_day="2031-05-21T18:30:00.1", to_day="2031-05-21") == [(second, 2)]
        with pytest.raises(InputError, match="is no day"):
            found(from_day="yesterday")


def what_cannot_be_told_is_no_failure(maker: Maker, folder: Path) -> None:
    """A launch that nobody can tell the outcome of says nothing of its odds."""
    with maker() as book:
        put(book, 1, "clean")
        put(book, 2, "cannot tell")
        whole = book.trends()[1]
        assert (whole.launches, whole.foretold) == (2, 1)
        assert whole.happened_clean == 1.0


def trends_by_hand(maker: Maker, folder: Path) -> None:
    """Two flights at odds of 0.91, one clean: Brier (0.09² + 0.91²) / 2 = 0.41810, on paper."""
    with maker() as book:
        put(book, 1)
        put(book, 2, "dipped", 7.9)
        days, whole = book.trends()
        assert [(day.day, day.launches) for day in days] == [("2031-05-20", 1), ("2031-05-21", 1)]
        assert whole.throw_speed_mps == pytest.approx(8.15)
        assert whole.throw_speed_scatter_mps == pytest.approx(0.5 / 2**0.5)
        assert whole.start_delay_s == pytest.approx(0.14)
        assert (whole.foretold, whole.expected_clean, whole.happened_clean) == (2, pytest.approx(0.91), 0.5)
        assert whole.brier == pytest.approx(0.4181)
        assert days[0].throw_speed_scatter_mps is None


def the_last_review_counts(maker: Maker, folder: Path) -> None:
    with maker() as book:
        sha256 = put(book)
        book.add_review({**review_of(1, "dipped"), "version": "0.2.0"}, sha256, setup_of("b"))
        assert [row["outcome"] for row in book.search(Wanted()) if row["kind"] == "launch"] == ["dipped"]
        assert book.trends()[1].launches == 1
        book.undo()
        assert [row["outcome"] for row in book.search(Wanted()) if row["kind"] == "launch"] == ["clean"]


def a_batch_that_fails_leaves_nothing(maker: Maker, folder: Path) -> None:
    with maker() as book:
        put(book, 1)
        before = content_of(book, batches=True)
        wrong = review_of(2)
        wrong["launches"][1]["to_s"] = float("nan")
        recording = recording_of(2)

        def add() -> None:
            with book.batch("add") as batch:
                batch.recording(recording, original_of(2))
                batch.review(wrong, recording.sha256, setup_of("b"))

        with pytest.raises(InputError, match="to_s"):
            add()
        book.tidy(remove=True)
        assert content_of(book, batches=True) == before


def bad_input_is_refused(maker: Maker, folder: Path) -> None:
    with maker() as book:
        with pytest.raises(InputError, match="not those that were read"):
            book.add_recording(recording_of(1), b"other bytes")
        with pytest.raises(InputError, match="is not among the setups"):
            book.add_prediction(odds_of_b())
        book.add_setup(setup_of("b"))
        with pytest.raises(InputError, match="is no share"):
            book.add_prediction({**odds_of_b(), "clean": {"low": 0.9, "share": 0.8, "high": 1.0}})
        with pytest.raises(InputError, match="64 bits"):
            book.add_prediction({**odds_of_b(), "seed": 2**70})
        with pytest.raises(InputError, match="is not among the recordings"):
            book.add_review(review_of(1), "0" * 64)
        with pytest.raises(InputError, match="a note needs text"):
            book.add_note("  ")
        with pytest.raises(InputError, match="is no id in this book"):
            book.add_note("x", "zz")
        with pytest.raises(InputError, match="is no kind"):
            book.newest("wings")
        assert book.counts()["recordings"] == 0


def odd_letters_are_kept_or_marked(maker: Maker, folder: Path) -> None:
    with maker() as book:
        book.add_note("a\0b \ud800 ö 🛩 \\u0000 %s :name")
        assert book.newest("notes")[0]["text"] == "a\ufffdb ? ö 🛩 \\u0000 %s :name"


def a_damaged_file_is_found_and_mended(maker: Maker, folder: Path) -> None:
    with maker() as book:
        first, second = put(book, 1), put(book, 2)
        export_book(book, folder / "whole.zip")
        book.store.path(first).write_bytes(b"something else")
        book.store.drop(second)
        book.store.put(b"nobody names this")
        found = book.tidy()
        assert (found.damaged, found.missing, len(found.unused)) == ((first,), (second,), 1)
        assert not found.sound
        with pytest.raises(InputError, match="is not what was put"):
            book.original(first)
        with pytest.raises(InputError, match="is missing"):
            export_book(book, folder / "broken.zip")
        assert not (folder / "broken.zip").exists()
        assert import_file(book, folder / "whole.zip").new == {}
        assert len(book.tidy(remove=True).removed) == 1
        assert book.tidy().sound
        assert book.original(second) == original_of(2)


def a_recording_teaches_once(maker: Maker, _folder: Path) -> None:
    """Reviewed with a second setup it teaches what the last review says, not both; that undone, the first."""

    def speeds(book: Book) -> list[float]:
        return [item.value for item in book.evidence("thrower.release_speed")]

    with maker() as book:
        sha256 = put(book)  # its evidence, 8.25 m/s, comes from no review: it stays
        for speed_mps in (8.4, 9.1):
            review = review_of(1, speed_mps=speed_mps)
            (launch, _) = figures_of(review, "review.json", (sha256, "2031-05-20"))
            with book.batch("add", "again") as batch:
                batch.review(review, sha256)
                batch.evidence(evidence_of(launch)[0])
        assert sorted(speeds(book)) == [8.25, 9.1]
        assert [item.value for item in book.evidence("power.start_delay")] == [0.14]  # both reviews say so
        book.undo()
        assert sorted(speeds(book)) == [8.25, 8.4]


CHECKS: tuple[Check, ...] = (
    what_goes_in_comes_out,
    a_setup_stands_alone,
    an_export_makes_the_same_book,
    an_import_twice_adds_nothing,
    two_books_become_one,
    an_undo_is_exact,
    an_undo_keeps_what_another_batch_brought_too,
    an_undo_keeps_what_is_used,
    notes_from_a_file,
    a_search_finds_what_is_wanted,
    trends_by_hand,
    what_cannot_be_told_is_no_failure,
    the_last_review_counts,
    a_recording_teaches_once,
    a_batch_that_fails_leaves_nothing,
    bad_input_is_refused,
    odd_letters_are_kept_or_marked,
    a_damaged_file_is_found_and_mended,
)
