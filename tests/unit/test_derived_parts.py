"""The parts of the derived figures one by one: cache, user's table, inertia, reach, stall, refusals."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from overarm.describe.derived import cache
from overarm.describe.derived.aerodynamics import Given, aerodynamics, best_glide, stall_offset, trim_elevator
from overarm.describe.derived.blade import Speed, blade_table, generic_blade
from overarm.describe.derived.figures import USUAL_EXPONENT, thrust_exponent
from overarm.describe.derived.inertia import Size, Swung, mass_and_inertia
from overarm.describe.derived.lattice import Planform
from overarm.describe.derived.propeller_file import Coefficients, read_propeller, table_of
from overarm.describe.derived.propulsion import Match
from overarm.describe.derived.reach import Arm, clear_times, time_to_clear_s
from overarm.errors import InputError, UnphysicalError
from overarm.flight.groups import hand_group
from overarm.physics.hand import CLEAR_MARGIN_M, clear_time
from overarm.physics.propeller import Propeller, thrust
from overarm.physics.wing import Wing, lift_coefficient
from tests.examples import setup_of

# ---- cache


@pytest.fixture
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(cache, "cache_folder", lambda: tmp_path / "derived")
    return tmp_path / "derived"


def test_cache_computes_once(own_cache: Path) -> None:
    calls = []

    def compute() -> dict[str, float]:
        calls.append(1)
        return {"a": 1.25}

    for _ in range(2):
        assert cache.kept("kind", {"x": 1.0}, ("a",), compute) == {"a": 1.25}
    assert len(calls) == 1
    cache.kept("kind", {"x": 2.0}, ("a",), compute)
    cache.kept("other", {"x": 1.0}, ("a",), compute)
    assert len(calls) == 3
    assert len(list(own_cache.iterdir())) == 3  # and no half-written file


@pytest.mark.parametrize("spoilt", ["", "{", "[1]", '{"a": "x"}', '{"b": 1.0}', '{"a": NaN}', "\x00\xff"])
def test_spoilt_cache_is_computed_again(own_cache: Path, spoilt: str) -> None:
    cache.kept("kind", {"x": 1.0}, ("a",), lambda: {"a": 1.0})
    (file,) = own_cache.iterdir()
    file.write_text(spoilt, "latin-1")
    assert cache.kept("kind", {"x": 1.0}, ("a",), lambda: {"a": 2.0}) == {"a": 2.0}
    assert json.loads(file.read_text("utf-8")) == {"a": 2.0}


def test_cache_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("not a folder", "utf-8")
    monkeypatch.setattr(cache, "cache_folder", lambda: tmp_path / "file" / "derived")
    assert cache.kept("kind", {"x": 1.0}, ("a",), lambda: {"a": 1.0}) == {"a": 1.0}


def test_not_finite_is_refused_and_not_kept(own_cache: Path) -> None:
    with pytest.raises(UnphysicalError, match="no finite a"):
        cache.kept("kind", {"x": 1.0}, ("a",), lambda: {"a": math.nan})
    assert not own_cache.exists()


# ---- the user's table of coefficients

GOOD = """# a comment
J, CT ,CP
0.0,0.1169,0.0516
0.451,0.0677,0.0472
0.560,0.0439,0.0360
0.774,0.0051,0.0138
"""


def written(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "table.csv"
    file.write_text(text, "utf-8")
    return file


def test_table_rows_come_back(tmp_path: Path) -> None:
    """The rows exactly as read, and within 1 % of static through the table over the advance angle."""
    rows = read_propeller(written(tmp_path, GOOD), 2)
    assert isinstance(rows, Coefficients)
    assert rows.advance_ratio.tolist() == [0.0, 0.451, 0.560, 0.774]
    assert rows.thrust.tolist() == [0.1169, 0.0677, 0.0439, 0.0051]
    assert rows.power.tolist() == [0.0516, 0.0472, 0.0360, 0.0138]
    table = table_of(rows, blade_table(generic_blade(0.2286, 0.1524), Speed(0.2286, 50.0)))
    propeller = Propeller(0.2286, 7e-5, 1.0, 1.0, 1.0, 0.0, 0.0, 1.0)
    for ratio, push, _power in zip(*rows, strict=True):
        found = thrust(propeller, 1.225, ratio * 100.0 * 0.2286, 100.0, table)
        assert found / (1.225 * 100.0**2 * 0.2286**4) == pytest.approx(push, abs=0.0012)
    assert np.all(np.isfinite(table))
    assert table[0, -1] < 0.0  # stopped, it drags


def test_blade_shape(tmp_path: Path) -> None:
    """The measured shape of a blade (stations of da4002 9x6.75, AIAA 2014-2151), in any order."""
    text = (
        "angle_deg,r_share,c_share\n16.66,0.9,0.1792\n37.48,0.3,0.1689\n25.83,0.5,0.1782\n18.79,0.75,0.1785\n"
    )
    blade = read_propeller(written(tmp_path, text), 3)
    assert not isinstance(blade, Coefficients)
    assert blade.station.tolist() == [0.3, 0.5, 0.75, 0.9]
    assert blade.chord.tolist() == [0.1689, 0.1782, 0.1785, 0.1792]
    assert np.degrees(blade.angle_rad).tolist() == pytest.approx([37.48, 25.83, 18.79, 16.66])
    assert blade.blades == 3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("J,CT\n0,0.1\n", "table.csv:1: no column CP"),
        ("", "no column J, CT, CP"),
        (GOOD + "0.8,abc,0.01\n", "table.csv:7:2: CT: not a number within -1 to 1 (got abc)"),
        (GOOD + "0.8,nan,0.01\n", "table.csv:7:2: CT: not a number within -1 to 1 (got nan)"),
        (GOOD + "0.8,0.1\n", "table.csv:7:3: CP: not a number within -1 to 1 (got nothing)"),
        (GOOD + "0.8,7.0,0.01\n", "table.csv:7:2: CT"),
        (GOOD + '0.8,"0.1\n', "table.csv:7:3: CP"),
        (GOOD + "-0.1,0.1,0.01\n", "table.csv:7:1: J: not a number within 0 to 5 (got -0.1)"),
        (GOOD + "0.451,0.1,0.01\n", "table.csv:7:1: J: stands twice (got 0.451)"),
        ("J,CT,CP\n0.5,0.1,0.05\n0.6,0.1,0.05\n0.7,0.1,0.05\n", "from J at most 0.2"),
        ("r_share,c_share,angle_deg\n0.3,0.1,20\n0.5,0.1,20\n0.6,0.1,20\n", "too few stations"),
        ("r_share,c_share,angle_deg\n0.3,0.1,200\n", "table.csv:2:3: angle_deg: not a number"),
        ("J,CT,CP\n0,-0.1,0.05\n0.3,0.1,0.05\n0.7,0.1,0.05\n", "must be above zero"),
    ],
)
def test_bad_tables(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_propeller(written(tmp_path, text), 2)
    assert said in str(caught.value)
    assert "table.csv" in str(caught.value)


def test_tables_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_propeller(tmp_path / "missing.csv", 2)
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00J")
    with pytest.raises(InputError, match="cannot be read"):
        read_propeller(tmp_path / "binary.csv", 2)
    (tmp_path / "large.csv").write_text(GOOD + "#" * 1_000_001, "utf-8")
    with pytest.raises(InputError, match="larger than 1 MB"):
        read_propeller(tmp_path / "large.csv", 2)


# ---- inertia


@pytest.mark.parametrize(
    ("mass_kg", "span_m", "tail_arm_m", "roll_kg_m2"),
    [
        (0.60, 0.95, 0.0, 0.020),
        (1.60, 1.35, 0.0, 0.100),
        (1.10, 1.40, 0.65, 0.055),
        (2.80, 1.90, 0.0, 0.42),
        (0.95, 1.10, 0.0, 0.042),
    ],
)
def test_roll_inertia_of_the_examples(
    mass_kg: float, span_m: float, tail_arm_m: float, roll_kg_m2: float
) -> None:
    """The five example aeroplanes, within 30 % (seen: 13 %)."""
    found = mass_and_inertia(Size(mass_kg, span_m, 0.25, tail_arm_m), Swung(None, None, None))
    assert found.ixx_kg_m2 == pytest.approx(roll_kg_m2, rel=0.15)


def test_inertia_of_the_published_flying_wing() -> None:
    """Beard and McLain (2012), table E.1: 1.56 kg, 1.4224 m, chord 0.3302 m: 0.1147, 0.0576, 0.1712."""
    found = mass_and_inertia(Size(1.56, 1.4224, 0.3302, 0.0), Swung(None, None, None))
    assert found[1:4] == pytest.approx((0.1147, 0.0576, 0.1712), rel=0.01)


def test_measured_inertia_wins_and_impossible_is_refused() -> None:
    size = Size(1.6, 1.35, 0.32, 0.0)
    assert mass_and_inertia(size, Swung(0.1, 0.05, 0.14))[1:4] == (0.1, 0.05, 0.14)
    with pytest.raises(UnphysicalError, match="no body"):
        mass_and_inertia(size, Swung(0.1, 0.05, 0.3))
    with pytest.raises(UnphysicalError, match="above zero"):
        mass_and_inertia(size, Swung(-0.1, None, None))
    with pytest.raises(UnphysicalError, match="above zero"):
        mass_and_inertia(size._replace(mass_kg=math.nan), Swung(None, None, None))


# ---- reach and tilt


@pytest.mark.parametrize(
    ("grip_m", "p50", "p95", "p99"),
    [(0.20, 0.11, 0.16, 0.18), (0.28, 0.13, 0.18, 0.21), (0.36, 0.14, 0.20, 0.24), (0.45, 0.16, 0.22, 0.26)],
)
def test_clear_times(grip_m: float, p50: float, p95: float, p99: float) -> None:
    """Against a separate sampling of the same guessed arm, rounded to 0.01 s there."""
    found = clear_times(Arm(), grip_m)
    assert (found.p50_s, found.p95_s, found.p99_s) == pytest.approx((p50, p95, p99), abs=0.0075)
    assert found.p999_s > found.p99_s


def test_clear_time_by_hand() -> None:
    """No spread: 0.4 t + 17.5 t^2 = 0.41 gives 0.14206 s."""
    found = clear_times(Arm(35.0, 0.0, 0.4, 0.0), 0.36)
    assert found.p50_s == pytest.approx(0.14206, abs=1e-5)
    assert found.p999_s == pytest.approx(found.p50_s, rel=1e-12)


def test_many_clear_times_are_those_of_the_flight() -> None:
    """The same formula for many hands as for one, also where the hand stops before the disc has passed."""
    speed, slowing, lag = np.array([8.0, 1.5, 3.0]), np.array([35.0, 60.0, 20.0]), np.array([0.4, 0.0, 4.0])
    found = time_to_clear_s(0.41, speed, slowing, lag)
    hand = hand_group(setup_of("b"))
    for k in range(3):
        one = hand._replace(
            speed_mps=speed[k], hand_deceleration_mps2=slowing[k], hand_lag_mps=lag[k], grip_to_disc_m=0.36,
            clear_margin_m=0.05,
        )  # fmt: skip
        assert found[k] == pytest.approx(clear_time(one), rel=1e-12)
    assert found[1] > np.sqrt(2.0 * 0.41 / 60.0)
    assert hand.clear_margin_m == CLEAR_MARGIN_M


def test_thrust_exponent_needs_two_throttles() -> None:
    """T as s^1.5: 1.5. Equal throttles, no thrust or a drive that is saturated say nothing: 1.75."""
    full = Match(1.0, 9000.0, 10.0, 0.2, 10.0, 11.0, 100.0, 30.0)
    half = full._replace(throttle=0.5, thrust_n=10.0 * 0.5**1.5)
    assert thrust_exponent(full, half) == pytest.approx(1.5)
    assert thrust_exponent(half, full) == pytest.approx(1.5)
    for odd in (half._replace(throttle=1.0), half._replace(thrust_n=0.0), half._replace(thrust_n=10.0)):
        assert thrust_exponent(full, odd) == USUAL_EXPONENT


# ---- stall and trim

WING = Wing(*[0.0] * len(Wing._fields))._replace(
    area_m2=0.42, span_m=1.35, chord_m=0.32, neutral_point_m=0.229, balance_point_m=0.203, lift_zero=0.06,
    lift_alpha=3.8, lift_elevator=0.9, moment_elevator=-0.32, moment_zero=-0.01, lift_max=1.2,
    stall_sharpness=50.0, drag_zero=0.036, drag_induced=0.094,
)  # fmt: skip


@settings(max_examples=30, deadline=None)
@given(
    peak=st.floats(1.0, 1.6),
    slope=st.floats(3.4, 5.6),
    zero=st.floats(0.0, 0.35),
    sharp=st.floats(50.0, 80.0),
)
def test_stall_offset_puts_the_peak_there(peak: float, slope: float, zero: float, sharp: float) -> None:
    wing = WING._replace(lift_max=peak, lift_alpha=slope, lift_zero=zero, stall_sharpness=sharp)
    wing = wing._replace(stall_offset_rad=stall_offset(wing))
    linear = (peak - zero) / slope
    values = [lift_coefficient(wing, linear + 0.001 * step) for step in range(-150, 350)]
    fall = next(place for place in range(1, 500) if values[place] < values[place - 1])
    assert values[fall - 1] == pytest.approx(peak, abs=2e-3)


def test_trim_elevator_by_hand() -> None:
    """Cm = -0.01 - 0.32 e - 0.6 x 0.08125 = 0 at e = -0.18359."""
    assert trim_elevator(WING, 0.6) == pytest.approx(-0.18359, abs=1e-5)


@pytest.mark.parametrize(
    ("area_m2", "span_m", "mass_kg", "drag", "efficiency", "glide", "speed_mps"),
    [
        (0.210, 0.95, 0.60, 0.040, 0.78, 8.1, 8.4),
        (0.420, 1.35, 1.60, 0.036, 0.78, 8.6, 9.9),
        (0.290, 1.40, 1.10, 0.042, 0.78, 9.9, 8.5),
        (0.560, 1.90, 2.80, 0.034, 0.80, 10.9, 10.4),
        (0.285, 1.10, 0.95, 0.040, 0.78, 8.1, 9.1),
    ],
)
def test_best_glide_of_the_examples(
    area_m2: float,
    span_m: float,
    mass_kg: float,
    drag: float,
    efficiency: float,
    glide: float,
    speed_mps: float,
) -> None:
    induced = area_m2 / (math.pi * efficiency * span_m**2)
    wing = WING._replace(area_m2=area_m2, drag_zero=drag, drag_induced=induced)
    assert best_glide(wing, mass_kg, 1.225, 1.2) == pytest.approx((glide, speed_mps), rel=0.01)


# ---- refusals

PLANFORM = Planform(
    1.35, 0.400, 0.222, math.radians(26.0), 0.0, math.radians(-2.0), 0.0, 0.203,
    0.25, 0.35, 0.95, 0.0, 0.0, 0.0, 0.025, 0.14, 0.0,
)  # fmt: skip
GIVEN = Given(
    False,
    PLANFORM,
    "reflexed",
    0.10,
    1.6,
    math.radians(20.0),
    1.225,
    1.79e-5,
    1.0,
    0.036,
    0.78,
    0.229,
    None,
    {},
)


def test_balance_behind_the_neutral_point() -> None:
    with pytest.raises(UnphysicalError) as caught:
        aerodynamics(GIVEN._replace(planform=PLANFORM._replace(balance_m=0.235)))
    assert "235 mm" in str(caught.value)
    assert "229 mm" in str(caught.value)
    assert "Move the balance point forward of 213 mm" in str(caught.value)


@pytest.mark.parametrize("field", ["area_m2", "lift_alpha", "lift_max"])
def test_coefficient_below_zero(field: str) -> None:
    with pytest.raises(UnphysicalError, match=field):
        aerodynamics(GIVEN._replace(coefficients={field: -1.0}))


def test_coefficient_not_finite() -> None:
    with pytest.raises(UnphysicalError, match="roll_beta is not a finite number"):
        aerodynamics(GIVEN._replace(coefficients={"roll_beta": math.inf}))


@pytest.mark.parametrize("name", ["no-such-section", "../../etc/passwd", "", "a b", "mh60\n", "x" * 50])
def test_unknown_section(name: str) -> None:
    with pytest.raises(InputError, match="reflexed, flat-bottom, symmetric"):
        aerodynamics(GIVEN._replace(section=name))


# ---- what is given wins, and each input counts


def test_given_wins() -> None:
    found = aerodynamics(GIVEN._replace(coefficients={"roll_aileron": 0.12}, lift_slope=3.5))
    assert found.wing.roll_aileron == 0.12
    assert found.wing.lift_alpha == 3.5
    assert found.wing.neutral_point_m == 0.229
    assert found.wing.drag_zero == 0.036
    assert found.lift_max == 1.0
    assert found.stall_speed_mps == pytest.approx(7.81, abs=0.01)


def test_defaults_are_in_the_usual_band() -> None:
    """Trimmed flying wing 0.90 to 1.05, drag 0.030 to 0.045: common practice, no source."""
    found = aerodynamics(GIVEN._replace(lift_max=None, drag_zero=None, neutral_point_m=None))
    assert 0.90 < found.lift_max < 1.05
    assert 0.030 < found.wing.drag_zero < 0.045
    assert found.wing.neutral_point_m == pytest.approx(0.229, abs=0.006)


def test_trimmed_stall_meets_the_stall_speed() -> None:
    """Held at the trim of the stall, the wing's largest lift is lift_max: zero-elevator peak less the
    elevator's share."""
    found = aerodynamics(GIVEN)
    held = found.wing.lift_max + found.wing.lift_elevator * found.stall_elevator_rad
    assert held == pytest.approx(1.0, abs=1e-9)
    assert found.stall_elevator_rad < found.trim_elevator_rad < 0.0
