"""The answer of a settings search for a person at a screen."""

from __future__ import annotations

import textwrap

from overarm.odds.finding import Finding
from overarm.odds.what_if_words import points
from overarm.settings.result import Need, SettingsResult

WIDTH = 100
COLUMNS = (18, 13, 13)


def lines(result: SettingsResult) -> list[str]:
    """Return the whole answer, folded to a screen."""
    said = [f"{result.setup_name} ({result.style}), setup {result.setup_hash}", "", *_odds(result), ""]
    if result.refused:
        said += [*_refused(result), ""]
    else:
        said += [*_table(result), "", *_more(result), ""]
    return [*said, *_trail(result)]


def _odds(result: SettingsResult) -> list[str]:
    said = [_folded(f"{result.headline}")]
    if result.gain is not None:
        said.append(_folded(f"That is {points(result.gain)}, launch against launch with the same numbers."))
    said += [_folded(f"{item}.", "As written, broken: ") for item in result.before_broken]
    return said


def _table(result: SettingsResult) -> list[str]:
    head = ("setting", "as written", "advised", "works from .. to")
    said = [_row(*head)]
    for item in result.settings:
        said.append(_row(item.words, item.before or "-", item.text, item.band))
        said.append(_folded(item.sentence, "    "))
    return said


def _row(name: str, before: str, text: str, band: str) -> str:
    return f"  {name:<{COLUMNS[0]}}  {before:<{COLUMNS[1]}}  {text:<{COLUMNS[2]}}  {band}".rstrip()


def _more(result: SettingsResult) -> list[str]:
    said = []
    if result.usual is not None:
        broken = "; ".join(result.usual.broken)
        tail = f" The usual ones break a limit here: {broken}." if broken else ""
        said.append(_folded(f"Against the usual settings of the trade: {points(result.usual.gain)}.{tail}"))
    said += [
        _folded(f"{item.word.upper()}  {item.name}: {item.sentence}", "  ") for item in _not_good(result)
    ]
    said += [_folded(f"Not used yet: {_need(item)}.") for item in result.options]
    return said


def _not_good(result: SettingsResult) -> list[Finding]:
    return [item for item in result.findings if item.word != "good"]


def _refused(result: SettingsResult) -> list[str]:
    said = [_folded("Refused, because:")]
    said += [_folded(f"{item}.", "  - ") for item in result.refused]
    said += ["", "What it would take, at the hard end of the wind, one change at a time:"]
    said += [_folded(f"{_need(item)}.", "  - ") for item in result.needs if not item.refused]
    said += [
        _folded(f"{item.words}: refused: {item.refused}", "  - ") for item in result.needs if item.refused
    ]
    return said


def _need(item: Need) -> str:
    tail = "; then settings keep all limits" if item.opens else ""
    if item.broken:
        tail = f"; still broken: {', '.join(item.broken)}"
    return f"{item.words}: {points(item.gain)}, to {100.0 * item.share:.0f} %{tail}"


def _trail(result: SettingsResult) -> list[str]:
    wind = result.hard_wind_10m_mps
    turned = " from the other side" if wind < 0.0 else ""
    return [
        _folded(
            f"{result.trials} trials, seed {result.seed}, in {abs(wind):.1f} m/s of wind{turned} at "
            f"10 m, the hard end of the band. The odds rest on {result.launches:,} other launches "
            f"(seed {result.claim_seed}) that took part in no choice; the best trial itself showed "
            f"{100.0 * result.search_share:.1f} %, which flatters. Overarm {result.version}."
        ),
        _folded(
            "A model's advice, no promise. Try it with the propeller off first; people, local rules and the "
            "pilot in charge come before any number here."
        ),
    ]


def _folded(text: str, head: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
