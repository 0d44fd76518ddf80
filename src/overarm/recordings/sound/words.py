"""What was heard, as lines that a person reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from overarm.recordings.sound.run import Heard

RPM = 60.0


def lines_of(heard: Heard) -> list[str]:
    """Return the lines: each run, then the cards, then notes."""
    count = len(heard.runs)
    lines = [f"{heard.name}: {count} run{'' if count == 1 else 's'} of a propeller of {heard.blades} blades"]
    for k, run in enumerate(heard.runs, 1):
        lines.append(
            f"  run {k}: first heard at {run.first_sound_s:.2f} s, at the top from {run.top_s:.2f} s, until "
            f"{run.to_s:.2f} s; {RPM * run.top_turns_hz:,.0f} rpm (one standard error "
            f"{RPM * run.top_error_hz:,.0f}); blade lines {run.snr_db:.0f} dB over the floor"
        )
    lines += [f"  {item.word.upper():<7}{item.sentence}" for item in heard.beside]
    lines += [f"  note   {note}" for note in heard.notes]
    return lines
