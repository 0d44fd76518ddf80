"""The answer of a read-back for a person at a screen."""

from __future__ import annotations

import textwrap

from overarm.odds.finding import Word
from overarm.readback.result import ReadbackResult

WIDTH = 100
ORDER: tuple[Word, ...] = ("stop", "watch", "not known", "good")


def answer(result: ReadbackResult) -> str:
    """Return the whole answer, the gravest first."""
    stops = sum(item.word == "stop" for item in result.findings)
    said = [
        f"{result.setup_name}: {result.file} against the sheet ({result.what}), setup {result.setup_hash}"
    ]
    said += [_headline(result, stops), ""]
    for word in ORDER:
        head = f"  {'STOP' if word == 'stop' else word:<9}  "
        said += [_folded(item.sentence, head) for item in result.findings if item.word == word]
    settings = result.settings
    if settings is not None and settings.together is not None:
        together = settings.together
        more = f"; new stop: {', '.join(together.new_stops)}" if together.new_stops else ""
        said += ["", _folded(f"All differences together: {together.words}{more}.")]
    if settings is not None and settings.clean is not None:
        from overarm.odds.format import with_interval

        odds = f"As on the sheet: {with_interval(settings.clean)} clean; {settings.launches:,} launches each"
        said.append(_folded(f"{odds}, seed {settings.seed}, the same throws and gusts."))
    said += [_folded(f"Note: {note}.") for note in result.notes]
    if stops:
        said += ["", "Correct the aircraft or the sheet, then read it back again before it is thrown."]
    return "\n".join(said)


def _headline(result: ReadbackResult, stops: int) -> str:
    if stops:
        items = result.settings.items if result.settings is not None else ()
        unseen = sum(item.kind == "not tied" and item.decides_start for item in items)
        count = stops - unseen
        said = f"{count} difference{'' if count == 1 else 's'}" if count else "No difference found"
        what = "1 setting that decides" if unseen == 1 else f"{unseen} settings that decide"
        more = f"; {what} when the propeller turns not compared" if unseen else ""
        return f"{said}{more}."
    open_points = sum(item.word in ("watch", "not known") for item in result.findings)
    return (
        "No difference found." if not open_points else "No difference found; see what could not be compared."
    )


def _folded(text: str, head: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
