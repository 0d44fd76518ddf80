"""From a sound file to what it says of motor and propeller, beside the power card if there is one."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

import overarm
from overarm.errors import InputError, Problem
from overarm.odds.finding import Word
from overarm.recordings.sound.file import Sound, read_sound
from overarm.recordings.sound.rise import Rise, Run, rise_of, runs_of
from overarm.recordings.sound.track import Track, track_of

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

Floats = NDArray[np.float64]

SCHEMA = 1
BLADES = (2, 6)
RPM = 60.0
THRUST_WATCH, THRUST_STOP = 0.05, 0.15  # of the thrust of the card; own estimates
RISE_WATCH = 0.15  # of the throttle rise of the card; own estimate
CARD_THROTTLES = 40
THROTTLE_FROM = 0.08


@dataclass(frozen=True, slots=True)
class Beside:
    """One figure of the sound beside the card."""

    name: str
    value: float
    error: float
    card: float
    word: Word
    sentence: str


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What a sound says."""

    name: str
    sha256: str
    version: str
    blades: int
    seconds: float
    track: Track
    runs: tuple[Run, ...]
    rises: tuple[Rise | None, ...]  # one for each run; None without a setup, or if too fast to be told
    beside: tuple[Beside, ...]
    notes: tuple[str, ...]

    @property
    def has_stop(self) -> bool:
        """Return True if a figure says stop."""
        return any(item.word == "stop" for item in self.beside)

    def to_dict(self) -> dict[str, Any]:
        """Return what was heard as JSON-ready data; ``docs/reference/sound.schema.json`` describes it."""
        return {
            "overarm_sound": SCHEMA,
            "name": self.name,
            "sha256": self.sha256,
            "version": self.version,
            "blades": self.blades,
            "seconds": self.seconds,
            "runs": [_plain(*pair) for pair in zip(self.runs, self.rises, strict=True)],
            "beside": [{name: getattr(item, name) for name in Beside.__slots__} for item in self.beside],
            "notes": list(self.notes),
        }

    def lines(self) -> list[str]:
        """Return what was heard as lines that a person reads."""
        from overarm.recordings.sound.words import lines_of

        return lines_of(self)


def _plain(run: Run, rise: Rise | None) -> dict[str, Any]:
    return {
        "from_s": run.from_s,
        "to_s": run.to_s,
        "top_rpm": RPM * run.top_turns_hz,
        "top_rpm_error": RPM * run.top_error_hz,
        "first_sound_s": run.first_sound_s,
        "top_s": run.top_s,
        "snr_db": run.snr_db,
        "t_s": run.t_s.tolist(),
        "rpm": (RPM * run.turns_hz).tolist(),
        "rpm_error": (RPM * run.error_hz).tolist(),
        "rise": None if rise is None else rise._asdict(),
    }


def hear(file: Path, blades: int, setup: Setup | None = None, derived: Derived | None = None) -> Heard:
    """Return what a sound of a standing run says of the propeller.

    Parameters
    ----------
    file : Path
        WAV or FLAC, a phone at 1 m and 45 degrees off the axis.
    blades : int
        Of the propeller, 2 to 6.
    setup, derived
        With them top speed, thrust, throttle rise and start delay are held against the cards.

    Raises
    ------
    InputError
        For a file that cannot be used, a number of blades that cannot be, and a sound without a propeller.
    """
    if not BLADES[0] <= blades <= BLADES[1]:
        cure = f"Give {BLADES[0]} to {BLADES[1]}"
        raise InputError([Problem("no propeller has so many blades", cure, key="blades", value=str(blades))])
    sound = read_sound(file)
    track = track_of(sound.samples, sound.rate_hz, blades)
    runs = runs_of(track)
    if not runs:
        cure = "Record 1 m from the disc, 45 degrees off the axis, out of the wind, for 2 s or more"
        raise InputError([Problem("no propeller is heard in it for 0.3 s", cure, str(file))])
    return _heard(sound, blades, track, runs, (setup, derived))


def _heard(
    sound: Sound,
    blades: int,
    track: Track,
    runs: tuple[Run, ...],
    cards: tuple[Setup | None, Derived | None],
) -> Heard:
    setup, derived = cards
    rises: tuple[Rise | None, ...] = (None,) * len(runs)
    beside: tuple[Beside, ...] = ()
    notes = list(sound.notes)
    if setup is not None and derived is not None:
        throttles, turns = throttle_curve(derived)
        rises = tuple(rise_of(run, np.interp(run.turns_hz, turns, throttles)) for run in runs)
        longest = max(range(len(runs)), key=lambda k: runs[k].to_s - runs[k].from_s)
        beside = _beside(runs[longest], rises[longest], setup, derived)
        if len(runs) > 1:
            notes.append(f"Run {longest + 1} of {len(runs)}, the longest, stands beside the cards.")
    else:
        notes.append("Without a setup nothing is held against a power card.")
    return Heard(
        sound.name,
        sound.sha256,
        overarm.__version__,
        blades,
        sound.seconds,
        track,
        runs,
        rises,
        beside,
        tuple(notes),
    )


def throttle_curve(derived: Derived) -> tuple[Floats, Floats]:
    """Return throttles [0..1] and the speeds [rev/s] at which the standing propeller settles there, (k,)."""
    from overarm.describe.derived.propulsion import Drive, settle

    drive = Drive(
        derived.propeller, derived.propeller_table, derived.motor, derived.pack, derived.density_kgpm3
    )
    throttles = np.linspace(THROTTLE_FROM, 1.0, CARD_THROTTLES)
    turns = np.array([settle(drive, float(throttle)).rpm / RPM for throttle in throttles])
    return throttles, turns


def _beside(run: Run, rise: Rise | None, setup: Setup, derived: Derived) -> tuple[Beside, ...]:
    found = [_top(run, derived), _thrust(run, derived)]
    if rise is not None:
        found += [_rise(rise, setup), _delay(run, rise, setup, derived.spool_time_s)]
    return tuple(found)


def _top(run: Run, derived: Derived) -> Beside:
    rpm, error, card = RPM * run.top_turns_hz, RPM * run.top_error_hz, derived.full.rpm
    share = rpm / card - 1.0
    sentence = f"{rpm:,.0f} rpm at the top; the card gives {card:,.0f} ({100.0 * share:+.1f} %)."
    return Beside("top speed [rpm]", rpm, error, card, _pull_word(rpm / card), sentence)


def _pull_word(ratio: float) -> Word:
    """Return the word of a speed by what it does to the thrust, which goes with its square."""
    off = ratio**2 - 1.0
    return "good" if abs(off) <= THRUST_WATCH else "watch" if off > -THRUST_STOP else "stop"


def _thrust(run: Run, derived: Derived) -> Beside:
    """Return the static thrust that the speed stands for: ``T = T_card (n/n_card)^2``, standing still."""
    ratio = RPM * run.top_turns_hz / derived.full.rpm
    value = derived.full.thrust_n * ratio**2
    error = 2.0 * value * run.top_error_hz / run.top_turns_hz
    off = ratio**2 - 1.0
    sentence = (
        f"{value:.1f} N of static thrust if the propeller is that of the card, which gives "
        f"{derived.full.thrust_n:.1f} N ({100.0 * off:+.0f} %). A backwards propeller turns as fast and "
        "pulls a third to a half: only the scale shows that."
    )
    return Beside("static thrust [N]", value, error, derived.full.thrust_n, _pull_word(ratio), sentence)


def _rise(rise: Rise, setup: Setup) -> Beside:
    card = setup.settings.throttle_rise_per_s.value
    off = rise.per_s / card - 1.0
    word: Word = "good" if abs(off) <= RISE_WATCH + 2.0 * rise.per_s_error / card else "watch"
    sentence = (
        f"The throttle rises {100.0 * rise.per_s:.0f} %/s (one standard error "
        f"{100.0 * rise.per_s_error:.0f}); the settings card has {100.0 * card:.0f} %/s."
    )
    return Beside("throttle rise [1/s]", rise.per_s, rise.per_s_error, card, word, sentence)


def _delay(run: Run, rise: Rise, setup: Setup, lag_s: float) -> Beside:
    """Return the start delay: from where the throttle's line meets zero to the first sound.

    The speed follows the throttle ``lag_s`` late, so the line lies that much too late.
    """
    card = setup.power.start_delay_s
    value = run.first_sound_s - (rise.zero_s - lag_s)
    error = float(np.hypot(rise.zero_error_s, run.first_sound_error_s))
    far = abs(value - card.value) > 2.0 * float(np.hypot(error, card.spread))
    sentence = (
        f"The propeller is first heard {value:.2f} s after the throttle began to rise (one standard error "
        f"{error:.2f} s, by drawing the rise back to zero); the card has {card.value:.2f} s."
    )
    return Beside("start delay [s]", value, error, card.value, "watch" if far else "good", sentence)
