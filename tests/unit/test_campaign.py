"""A campaign gives the same numbers in any order, and every input and setting changes something."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from overarm.flight import inputs as flight_inputs
from overarm.flight.campaign import Inputs, fly_records, run, trace_launch, trace_record
from overarm.flight.draw import draw
from overarm.flight.inputs import overridden
from overarm.flight.outcomes import SUMMARY, Outcome
from overarm.flight.record import GROUPS, LAUNCH, field_index
from overarm.physics.hand import Hand, clear_time, stroke_time
from tests.examples import derived_of, inputs_of, setup_of

LAUNCHES = 250


def campaign(inputs: Inputs, launches: int = LAUNCHES, **options: int) -> np.ndarray:
    return np.concatenate([chunk.table for chunk in run(inputs, launches, 7, **options)])


def same(one: np.ndarray, other: np.ndarray) -> bool:
    """The same bytes in every column (rows may be padded between columns)."""
    return all(one[name].tobytes() == other[name].tobytes() for name in SUMMARY.names)


def test_any_chunk_size_gives_the_same_bytes() -> None:
    inputs = inputs_of("b")
    whole = campaign(inputs, chunk=1000)
    assert same(campaign(inputs, chunk=17), whole)


def test_going_on_later_gives_the_same_bytes() -> None:
    inputs = inputs_of("b")
    parts = [campaign(inputs, 100), campaign(inputs, LAUNCHES - 100, first=100)]
    assert same(np.concatenate(parts), campaign(inputs))


def test_one_worker_gives_the_same_bytes_as_two() -> None:
    import numba

    inputs = inputs_of("b")
    many = campaign(inputs)
    before = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        assert same(campaign(inputs), many)
    finally:
        numba.set_num_threads(before)


def test_another_seed_gives_other_launches() -> None:
    inputs = inputs_of("b")
    other = np.concatenate([chunk.table for chunk in run(inputs, LAUNCHES, 8)])
    assert not np.array_equal(other["release_speed_mps"], campaign(inputs)["release_speed_mps"])


def test_cancel_keeps_what_is_done() -> None:
    asked = iter([False, False, True])
    chunks = list(run(inputs_of("b"), 300, 7, chunk=100, cancelled=lambda: next(asked)))
    assert [chunk.first for chunk in chunks] == [0, 100]
    assert same(np.concatenate([c.table for c in chunks]), campaign(inputs_of("b"), 200))


def test_worlds_share_what_is_not_known() -> None:
    inputs = inputs_of("b")
    records, scores = draw(inputs.base, inputs.rules, 100, 7)
    unknown = [k for k, item in enumerate(inputs.rules.inputs) if item.layer == "unknown"]
    varies = [k for k, item in enumerate(inputs.rules.inputs) if item.layer == "varies"]
    assert unknown
    assert varies
    worlds = scores[:, unknown].reshape(4, 25, -1)
    assert np.all(worlds == worlds[:, :1])
    assert not np.any(worlds[0, 0] == worlds[1, 0])
    assert np.all(np.std(scores[:, varies], axis=0) > 0.5)
    assert records.dtype == LAUNCH


def test_a_traced_launch_is_the_launch_of_the_campaign() -> None:
    inputs = inputs_of("b")
    table = campaign(inputs, 5)
    trace = trace_launch(inputs, 7, 3)
    assert trace["height_m"].max() == pytest.approx(table["top_height_m"][3], abs=0.2)
    assert trace["t_s"][-1] == pytest.approx(table["end_s"][3], abs=0.02)


@pytest.mark.parametrize("letter", list("abcde"))
def test_no_launch_fails_numerically(letter: str) -> None:
    table = campaign(inputs_of(letter), 500)
    assert not np.any(table["outcome"] == Outcome.FAILED_NUMERICALLY)
    for name in SUMMARY.names:
        assert np.all(np.isfinite(table[name].astype(float))), name


def test_nonsense_is_an_outcome_not_an_exception() -> None:
    inputs = overridden(inputs_of("b"), {"wing.lift_alpha": float("nan")})
    assert set(campaign(inputs, 3)["outcome"]) == {Outcome.FAILED_NUMERICALLY}


# Fields that the launch of a given style cannot feel, with the reason.
NOT_FELT = {
    "hand.spin_in_hand": "the style says it",
    "line.used": "the style says it",
    "hand.clear_margin_m": "added to grip_to_disc",
    "mass.ixz_kg_m2": "zero in the examples and small",
}


def all_fields() -> list[str]:
    return [f"{name}.{field}" for name, group in GROUPS.items() for field in group._fields]


SWITCHES = {
    "surfaces.mixed", "propeller.behind", "control.winds_up", "control.speed_aided",
    "trigger.gravity_free", "line.stuck",
}  # fmt: skip
# Limits that do not bind in the examples, and switches that are off: set so that they matter.
SET_TO = {
    "trigger.jerks": 2.0, "trigger.speed_gate_mps": 9.0, "trigger.still_s": 5.0,
    "trigger.pitch_high_rad": 0.02, "trigger.bank_limit_rad": 0.01, "trigger.pitch_low_rad": 0.3,
    "trigger.speed_window_s": 0.01, "pack.floor_volts": 16.0, "logic.legal_ceiling_m": 10.0,
    "logic.give_up_s": 0.3, "logic.early_speed_mps": 20.0, "logic.step_s": 0.005, "logic.style": 1.0,
    "surfaces.roll_travel_rad": 0.01, "board.range_mps2": 8.0, "control.rate_limit_radps": 0.05,
    "line.hook_limit_rad": 0.1,
}  # fmt: skip


def changed(value: float, path: str) -> float:
    if path in SWITCHES:
        return 1.0 - value
    if path == "propeller.turning":
        return -value
    return SET_TO.get(path, 1.3 * value if value else 0.05)


@pytest.mark.parametrize("path", all_fields())
def test_every_field_changes_something(path: str) -> None:
    """An input that changes nothing is a defect: it would be accepted in silence."""
    if path in NOT_FELT:
        return
    assert any(_differs(letter, path) for letter in "bcd")


def _differs(letter: str, path: str) -> bool:
    inputs = inputs_of(letter)
    records, _ = draw(inputs.base, inputs.rules, 20, 7)
    if path == "logic.early_pitch_rad":  # matters only with an early speed
        records["logic"]["early_speed_mps"] = 15.0
    if path == "trigger.speed_window_s":  # matters only with a speed gate
        records["trigger"]["speed_gate_mps"] = 7.0
    before = fly_records(inputs, records, 7)
    flat = records.view(np.float64).reshape(len(records), -1)
    k = field_index(path)
    flat[:, k] = changed(float(flat[0, k]), path)
    return not same(fly_records(inputs, records, 7), before)


def test_the_notice_of_compiling_knows_the_engine() -> None:
    """The notice names compiled functions; after launches of each kind they must be found in the cache."""
    from overarm.cli.first import BY_HAND, BY_LINE, SAMPLES, TAKES_S
    from overarm.jit import compiled_before

    campaign(inputs_of("b"), 1)
    campaign(inputs_of("d"), 1)
    trace_record(inputs_of("b"), inputs_of("b").base, 1)
    assert {BY_HAND, BY_LINE, SAMPLES} == set(TAKES_S)
    assert all(compiled_before(name) for name in TAKES_S)
    assert not compiled_before("no_such_function")


HAND, LINE, ALONE = "_fly_blocks", "_fly_blocks_on_line", "_fly_rows"
ALL = "Compiling the engine for this machine: once, about a minute.\n"
MORE = "Compiling more of the engine for this machine: once, about {} s.\n"


@pytest.mark.parametrize(
    ("styles", "samples", "kept", "said"),
    [
        (("throw-started",), False, {HAND}, ""),
        (("line-launched",), False, {LINE}, ""),
        (("spin-in-hand", "line-launched"), True, {HAND, LINE, ALONE}, ""),
        (("throw-started",), False, set(), ALL),
        (("line-launched",), True, set(), ALL),
        (
            ("line-launched",),
            False,
            {HAND},
            MORE.format(10),
        ),
        (
            ("spin-in-hand",),
            False,
            {LINE},
            MORE.format(10),
        ),
        (
            ("line-launched",),
            True,
            {HAND},
            MORE.format(20),
        ),
    ],
)
def test_a_person_is_told_what_is_compiled_and_for_how_long(
    styles: tuple[str, ...],
    samples: bool,
    kept: set[str],
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Measured: 60 s of one core for the first launch of either kind, 10 s each for what comes after it."""
    from overarm.cli.first import tell_if_first

    monkeypatch.setattr("overarm.jit.compiled_before", lambda name: name in kept)
    tell_if_first(*styles, samples=samples)
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", said)


def test_a_person_waits_out_a_still_time() -> None:
    """A still time longer than the carry delays the throw; it does not forbid it."""
    setup = setup_of("b")
    still = replace(setup.settings.start_wait_s, value=3.0)
    patient = setup.model_copy(update={"settings": setup.settings.model_copy(update={"still_time_s": still})})
    table = np.concatenate([c.table for c in run(flight_inputs.inputs_of(patient, derived_of("b")), 50, 7)])
    assert np.mean(table["outcome"] == Outcome.NO_START) < 0.1
    assert np.median(table["detection_s"]) > 3.0


@pytest.mark.parametrize("step_s", [0.01, 0.0025])
def test_the_disc_is_clear_when_the_closed_form_says_so(step_s: float) -> None:
    """In still air the model hardly slows down before the disc has passed: `hand.clear_time`."""
    calm = {"air.wind_10m_mps": 0.0, "air.gust_scale": 0.0, "logic.step_s": step_s}
    inputs = overridden(inputs_of("b"), calm)
    table = fly_records(inputs, inputs.base, 1)
    hand = Hand(*inputs.base["hand"][0].item())
    flown_s = float(table["clear_s"][0] - (table["windup_s"][0] + hand.windup_s + stroke_time(hand)))
    assert clear_time(hand) - 1e-6 <= flown_s <= clear_time(hand) + 0.004 + step_s


def test_the_autopilot_learns_the_bank_of_a_throw() -> None:
    """Thrown with 20 degrees of bank the model is level again within three seconds."""
    still = {"air.wind_10m_mps": 3.0, "air.gust_scale": 0.0, "hand.bank_rad": 0.35}
    inputs = overridden(inputs_of("a"), still)
    trace = trace_record(inputs, inputs.base, 1)
    start = np.nonzero(trace["alpha_rad"])[0][0]
    later = np.searchsorted(trace["t_s"], trace["t_s"][start] + 3.0)
    assert trace["bank_rad"][start] == pytest.approx(0.35, abs=0.02)
    assert abs(trace["bank_rad"][later]) < 0.07


def test_what_the_cue_felt_is_kept() -> None:
    table = campaign(inputs_of("c"))
    fired = table[table["detection_s"] > 0.0]
    assert np.all(fired["longest_above_s"] >= 0.08 - 1e-6)
    assert np.all(fired["peak_jerk_mps2"] > 6.0)
    assert np.all(fired["windup_s"] > fired["detection_s"])


def test_a_start_while_carried_runs_the_motor_beside_the_hand() -> None:
    """A level below what a nose-up carry feels fires at once; with a long carry the disc turns in the
    hand, and people come first."""
    inputs = overridden(inputs_of("b"), {"hand.carry_pitch_rad": 1.2, "hand.carry_s": 4.0})
    table = fly_records(inputs, inputs.base, 1)
    assert table["detection_s"][0] < 1.0
    assert table["outcome"][0] == Outcome.HAND_AT_RISK
    assert table["live_s"][0] > 0.5


def test_a_weak_line_slows_on_a_long_ramp() -> None:
    """Beyond the stretch weight and friction slow the model down; it leaves slower or not at all."""
    weak = {"line.ramp_m": 10.0, "line.stretch_m": 2.0, "line.stiffness_npm": 60.0, "hand.pitch_rad": 0.0}
    inputs = overridden(inputs_of("d"), weak)
    table = fly_records(inputs, inputs.base, 1)
    assert table["outcome"][0] != Outcome.CLEAN
