"""What a recorded launch came to, its margins, its settings as flown, and triggers on it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from overarm.flight.outcomes import Outcome
from overarm.recordings.launch import Estimate, Event
from overarm.recordings.recording import Channel
from overarm.review.advice import advice_of
from overarm.review.flown import as_flown, overrides_of
from overarm.review.margins import margins_of, weakest_of
from overarm.review.outcome import verdict_of
from overarm.review.result import Margin
from overarm.review.seen import Seen
from overarm.review.trials import trials_of
from overarm.review.untold import ABORTED, CANNOT_TELL
from tests.examples import derived_of, setup_of
from tests.reviewed import CLEAN, DIPPED, GROUNDED, HASTY, KNOWN, SHORT, Known, flown_seen, seen_of

FALSE = next(item for item in KNOWN if item.outcome == "false start")


def altered(seen: Seen, **changes: Any) -> Seen:
    """Return a launch with other events (None takes one out), estimates or fields."""
    import dataclasses

    events = {**seen.launch.events, **changes.pop("events", {})}
    events = {name: event for name, event in events.items() if event is not None}
    estimates = {**seen.estimates, **changes.pop("estimates", {})}
    launch = seen.launch._replace(events=events, **changes)
    return Seen(dataclasses.replace(seen.taken, launch=launch), estimates)


def without_channels(seen: Seen, *names: str) -> Seen:
    """Return a launch of a recorder that lacks some channels."""
    import dataclasses

    recording = seen.taken.recording
    kept = {name: one for name, one in recording.channels.items() if name not in names}
    taken = dataclasses.replace(seen.taken, recording=dataclasses.replace(recording, channels=kept))
    return Seen(taken, seen.estimates)


def moved(seen: Seen, name: str, to_s: float) -> Seen:
    return altered(seen, events={name: Event(to_s, 0.01, "moved")})


@pytest.mark.parametrize("known", KNOWN, ids=lambda item: f"{item.letter} {item.outcome}")
def test_a_record_comes_to_what_was_flown(known: Known) -> None:
    """The truth is the outcome that the simulator judged, from its own state and not from the recording."""
    found = verdict_of(flown_seen(known))
    assert found.outcome == known.outcome
    assert found.in_hand == (known.outcome in ("hand at risk", "false start"))
    assert (found.word == "good") == (known.outcome == "clean")
    assert found.sentence.endswith(".")


def test_every_outcome_of_a_verdict_is_one_of_the_odds() -> None:
    labels = {one.label for one in Outcome} | {ABORTED, CANNOT_TELL}
    assert {verdict_of(flown_seen(known)).outcome for known in KNOWN} <= labels


def test_people_come_first() -> None:
    """A launch that would be clean is a hand at risk as soon as the spin is before the clear hand."""
    seen = flown_seen(CLEAN)
    clear = seen.launch.events["clear"].t_s
    for spin, outcome in ((clear + 0.02, "clean"), (clear - 0.02, "hand at risk")):
        assert verdict_of(moved(seen, "first_spin", spin)).outcome == outcome
    unseen = altered(seen, events={"first_spin": None, "first_throttle": Event(clear - 0.3, 0.01, "")})
    found = verdict_of(unseen)
    assert found.outcome == "hand at risk"
    assert found.sentence.startswith("The throttle was open")


def test_a_broken_off_throw_is_quiet_or_a_false_start() -> None:
    seen = altered(flown_seen(CLEAN), kind=ABORTED, ended="in the hand")
    assert verdict_of(seen)[:2] == ("false start", "stop")
    quiet = altered(seen, events={"first_spin": None, "first_throttle": None})
    assert verdict_of(quiet)[:2] == (ABORTED, "not known")


def test_a_motor_that_nothing_shows_is_not_said_to_be_off() -> None:
    """A phone on a held throw has no throttle: nobody may conclude that the motor stayed off."""
    seen = altered(flown_seen(CLEAN), kind=ABORTED, events={"first_spin": None, "first_throttle": None})
    assert "the motor off" in verdict_of(seen).sentence
    blind = without_channels(seen, "throttle", "current_a", "propeller_radps")
    assert "whether the motor started is not recorded" in verdict_of(blind).sentence
    assert "stayed off" not in advice_of(blind, verdict_of(blind), ((), (), None), (), None).sentence


def test_a_coarse_time_does_not_show_a_clear_hand() -> None:
    """With an error of half a second, 0.14 s after the clear hand is no clean launch: nobody knows."""
    seen = flown_seen(CLEAN)
    clear = seen.launch.events["clear"].t_s
    coarse = altered(seen, events={"first_spin": Event(clear + 0.14, 0.5, "coarse")})
    found = verdict_of(coarse)
    assert (found.outcome, found.word) == (CANNOT_TELL, "not known")
    assert "0.14 s after the hand was clear, give or take 0.50 s" in found.sentence
    hand = next(item for item in margins_of(coarse) if item.link == "hand")
    assert "one standard error 0.50 s" in hand.sentence
    late = altered(seen, events={"first_spin": Event(clear + 1.2, 0.5, "coarse")})
    assert verdict_of(late).outcome == "clean"
    silent = without_channels(
        altered(seen, events={"first_spin": None, "first_throttle": None}),
        *("throttle", "current_a", "propeller_radps"),
    )
    assert "when the motor started is not recorded" in verdict_of(silent).sentence


def test_what_is_not_shown_is_not_clean() -> None:
    seen = flown_seen(CLEAN)
    cut = altered(
        seen, ended="log ends", to_s=seen.launch.events["release"].t_s + 2.0, events={"handover": None}
    )
    assert verdict_of(cut).outcome == CANNOT_TELL
    air = altered(seen, kind="already in the air")
    assert verdict_of(air).outcome == CANNOT_TELL
    blind = altered(seen, estimates={"low_point_m": Estimate("low_point_m", None, 0.0, "", "no height")})
    assert verdict_of(blind).outcome == CANNOT_TELL


def test_without_a_setup_an_early_start_is_never_good() -> None:
    spun = Known("c", 0, "clean")
    found = verdict_of(seen_of(spun, None, None))
    assert (found.outcome, found.word, found.in_hand) == (CANNOT_TELL, "stop", True)
    assert "give the setup" in found.sentence
    assert verdict_of(flown_seen(spun)).outcome == "clean"
    plain = seen_of(CLEAN, None, None)
    assert verdict_of(plain).outcome in ("clean", CANNOT_TELL)
    assert "s after the release" in verdict_of(plain).sentence
    assert "hand was clear" not in verdict_of(plain).sentence
    assert margins_of(plain) == ()


def test_the_floor_of_the_volts_is_that_of_the_regulator() -> None:
    """Volts a cell and a floor of the whole pack side by side read as one: 3.71 V under a floor of 6 V."""
    volts = next(item for item in margins_of(flown_seen(CLEAN)) if item.link == "power")
    floor = derived_of("b").pack.floor_volts
    assert volts.sentence.endswith(f"V a cell; the regulator needs {floor:.1f} V.")


def test_clear_slack_is_first_spin_less_clear() -> None:
    seen = flown_seen(HASTY)
    hand = next(item for item in margins_of(seen) if item.link == "hand")
    spin, clear = seen.launch.events["first_spin"], seen.launch.events["clear"]
    assert hand.value == pytest.approx(spin.t_s - clear.t_s)
    assert hand.error == pytest.approx(math.hypot(spin.error_s, clear.error_s))
    assert hand.word == "stop"
    assert hand.grade == pytest.approx(hand.value / 0.10)


def test_the_speed_budget_by_hand() -> None:
    """1.05 Vs and g (sin(climb) + 1/E) t: the closed form of the race, all of the gap without thrust."""
    seen, derived = flown_seen(DIPPED), derived_of("b")
    race = next(item for item in margins_of(seen) if item.link == "race")
    speed, gap = seen.value("throw_speed_mps"), seen.value("thrust_match_after_s")
    wind = 4.0 * math.log(1.9 / 0.03) / math.log(10.0 / 0.03)  # the card: 4 m/s at 10 m, stubble or meadow
    climb = math.radians(15.0 - 3.0)
    assert speed is not None
    assert gap is not None
    lost = 9.80665 * (math.sin(climb) + 1.0 / derived.best_glide_ratio) * gap
    assert race.value == pytest.approx(speed + wind - 1.05 * derived.stall_speed_mps - lost, abs=1.5)
    assert race.word == "watch"


def test_the_weakest_link_is_the_cause() -> None:
    """A launch that came down has a low point of nought; what was short is its speed."""
    margins = margins_of(flown_seen(SHORT))
    assert min(margins, key=lambda item: item.grade).link == "sink"
    weakest = weakest_of(margins, "grounded")
    assert weakest is not None
    assert weakest.link == "race"
    assert weakest_of((), "clean") is None


@pytest.mark.parametrize(
    ("outcome", "link"), [("hand at risk", "hand"), ("power lost", "power"), ("clean", "roll")]
)
def test_a_broken_link_goes_before_a_lower_grade(outcome: str, link: str) -> None:
    def one(name: str, grade: float) -> Margin:
        return Margin(name, "watch", 0.0, 0.0, 0.0, "", grade, "")

    found = weakest_of((one("hand", 0.5), one("power", 0.4), one("roll", -1.0)), outcome)
    assert found is not None
    assert found.link == link


def test_a_shorter_wait_than_the_card_is_a_stop() -> None:
    """The settings flown had a wait of 0.1 s; the card here says 0.6 s."""
    seen = seen_of(HASTY, setup_of("b"), derived_of("b"))
    wait = next(item for item in as_flown(seen) if item.key == "settings.start_wait")
    assert wait.word == "stop"
    assert wait.flown == pytest.approx(0.1, abs=0.03)
    assert overrides_of(as_flown(seen))["logic.start_wait_s"] == wait.flown
    same = as_flown(flown_seen(HASTY))
    assert {item.word for item in same} == {"good"}
    assert overrides_of(same) == {}


def test_a_start_long_after_the_trigger_is_no_other_wait() -> None:
    seen = flown_seen(CLEAN)
    late = Estimate("start_wait_s", 17.5, 0.01, "made")
    wait = as_flown(altered(seen, estimates={"start_wait_s": late}))[0]
    assert (wait.key, wait.word) == ("settings.start_wait", "watch")
    assert "not yet listening" in wait.sentence
    assert overrides_of((wait,)) == {}


def test_a_ceiling_that_was_not_reached_is_not_compared() -> None:
    assert "settings.launch_ceiling" not in {item.key for item in as_flown(flown_seen(GROUNDED))}


def tilted(seen: Seen, carry_mps2: float, throw_mps2: float) -> Seen:
    """Return a launch whose forward force is flat in the carry and flat in the throw."""
    import dataclasses

    force = seen.taken.recording.channels["force_x_mps2"]
    begin, release = seen.gesture_s, seen.release_s
    assert begin is not None
    assert release is not None
    values = np.where(force.t_s < begin, 0.0, np.where(force.t_s < release, throw_mps2, -1.0))
    bump = (force.t_s > begin - 5.0) & (force.t_s < begin - 4.86)  # 0.14 s, as in domain example E
    values = np.where(bump, carry_mps2, values)
    channels = {**seen.taken.recording.channels, "force_x_mps2": Channel(force.t_s, values, "made")}
    recording = dataclasses.replace(seen.taken.recording, channels=channels)
    return Seen(dataclasses.replace(seen.taken, recording=recording), seen.estimates)


def test_other_triggers_on_the_record() -> None:
    """A carry that reads 5.8 for longer than a dwell of 0.08 s fires a level of 5; 8 does not, and a throw
    that is six times the level still does (example E, second layer; common practice, no source)."""
    found = {
        (t.level_mps2, t.dwell_s): t
        for t in trials_of(tilted(flown_seen(GROUNDED), 6.4, 48.0), ((8.0, 0.15),))
    }
    own = found[5.0, 0.08]
    assert own.is_card
    assert own.carry_fires == 1
    higher = found[8.0, 0.08]
    assert (higher.carry_fires, higher.throw_fires) == (0, True)
    assert higher.factor == pytest.approx(6.0, rel=0.03)
    assert "this carry would not have fired; the throw still would, by a factor of 6.0" in higher.sentence
    assert (8.0, 0.15) in found
    assert trials_of(seen_of(CLEAN, None, None)) == ()


def test_few_samples_cannot_tell() -> None:
    import dataclasses

    seen = flown_seen(CLEAN)
    force = seen.taken.recording.channels["force_x_mps2"]
    thin = Channel(force.t_s[::8], force.values[::8], "every eighth")
    channels = {**seen.taken.recording.channels, "force_x_mps2": thin}
    recording = dataclasses.replace(seen.taken.recording, channels=channels)
    found = trials_of(Seen(dataclasses.replace(seen.taken, recording=recording), seen.estimates))
    assert {t.tells for t in found} == {"cannot tell"}
    assert all(t.carry_fires is None and t.throw_fires is None for t in found)


def test_the_height_counts_from_before_the_throw() -> None:
    seen = flown_seen(CLEAN)
    begin = seen.gesture_s
    assert begin is not None
    height = seen.height
    assert height is not None
    before = height.values[(height.t_s > begin - 1.6) & (height.t_s < begin - 0.4)]
    assert np.mean(before) == pytest.approx(1.9)  # the card's height of release


def test_rest_before_a_throw_arms_a_still_time() -> None:
    """With a still time the board fired; a trial of the card's own settings must say so too."""
    seen = flown_seen(Known("b", 0, "clean", (("settings.still_time", "1 s"),)))
    assert seen.event("detection") is not None
    own = trials_of(seen)[0]
    assert own.is_card
    assert own.throw_fires is True
    assert own.carry_fires == 0
