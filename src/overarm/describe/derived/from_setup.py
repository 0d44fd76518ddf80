"""From the cards of a setup to its derived figures."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.air import GRAVITY_MPS2, site_density, viscosity
from overarm.describe.derived.aerodynamics import Aerodynamics, Given, aerodynamics, best_glide
from overarm.describe.derived.drivetrain import Driven, PowerValues, drivetrain
from overarm.describe.derived.figures import Derived
from overarm.describe.derived.inertia import Size, Swung, mass_and_inertia
from overarm.describe.derived.lattice import Planform, mean_chord
from overarm.describe.derived.propulsion import Reading, blade_pass, rpm_at_tip, spool_time
from overarm.describe.derived.reach import Arm, HandReach, clear_times
from overarm.describe.derived.reserves import authority
from overarm.describe.places import placed
from overarm.errors import Problem, UnphysicalError
from overarm.physics.motor import Motor
from overarm.physics.surfaces import Surfaces
from overarm.physics.trigger import self_start_tilt
from overarm.rng import log_spread

if TYPE_CHECKING:
    from overarm.describe.airframe import Airframe
    from overarm.describe.quantity import Quantity
    from overarm.describe.setup import Setup

# Fins are small on most flying wings and seldom on a card: with these the nose stays in the wind.
FIN_AREA_SHARE = 0.06
FIN_ASPECT = 1.5
ZERO_C_K = 273.15
TRACTOR_BLOWN_SHARE = 0.3  # share of the surfaces in the stream of a tractor; own estimate
NEUTRAL_NOTE_SHARE = 0.03

SOURCES = (
    "lift, moments and their derivatives: AeroSandbox vortex lattice (Sharpe, MIT 2021)",
    "section lift, drag and moment: NeuralFoil (Sharpe, MIT 2023)",
    "stall blend: Beard and McLain, Small Unmanned Aircraft (2012), chapter 4",
    "propeller: blade elements in a vortex wake (Drela, MIT 2006), fitted to AIAA 2011-1255 and 2014-2151",
    "motor: Drela, First-Order DC Electric Motor Model, MIT (2007)",
    "cell voltage: Chen and Rincon-Mora, IEEE Trans. Energy Conversion 21 (2006) 504",
    "hand deceleration: own estimate, no public data",
)


def _value(quantity: Quantity | None) -> float | None:
    """Return the number of a quantity, None where it is not given."""
    return None if quantity is None else float(quantity.value)


class _Sheets(NamedTuple):
    """Tail and fins; no tail: area 0."""

    tail_area_m2: float
    tail_span_m: float
    tail_x_m: float
    fin_area_m2: float
    fin_height_m: float


def _sheets(airframe: Airframe) -> _Sheets:
    tail, fins_m2 = airframe.tail, FIN_AREA_SHARE * airframe.area_m2.value
    if tail is None:
        return _Sheets(0.0, 0.0, 0.0, fins_m2, math.sqrt(FIN_ASPECT * 0.5 * fins_m2))
    if airframe.layout == "flying wing":
        return _Sheets(0.0, 0.0, 0.0, tail.fin_area_m2.value, tail.fin_height_m.value)
    return _Sheets(
        tail.area_m2.value,
        tail.span_m.value,
        airframe.balance_point_m.value + tail.arm_m.value,
        tail.fin_area_m2.value,
        tail.fin_height_m.value,
    )


def planform_of(airframe: Airframe) -> Planform:
    """Return the sheets of the airframe; the chords are scaled so that the area is the given one."""
    root_m, tip_m, span_m = airframe.root_chord_m.value, airframe.tip_chord_m.value, airframe.span_m.value
    area_m2 = airframe.area_m2.value
    if min(root_m, tip_m, span_m, area_m2) <= 0.0:
        problem = Problem("span, area and chords must all be above zero", "Check them.", key="airframe")
        raise UnphysicalError([problem])
    scale = area_m2 / (0.5 * (root_m + tip_m) * span_m)
    sheets = _sheets(airframe)
    surfaces = airframe.surfaces
    return Planform(
        span_m=span_m,
        root_chord_m=root_m * scale,
        tip_chord_m=tip_m * scale,
        sweep_rad=airframe.sweep_rad.value,
        dihedral_rad=airframe.dihedral_rad.value,
        twist_rad=airframe.twist_rad.value,
        incidence_rad=0.0,
        balance_m=airframe.balance_point_m.value,
        flap_share=surfaces.chord_share.value,
        flap_from=surfaces.span_from_share.value,
        flap_to=surfaces.span_to_share.value,
        tail_area_m2=sheets.tail_area_m2,
        tail_span_m=sheets.tail_span_m,
        tail_x_m=sheets.tail_x_m,
        fin_area_m2=sheets.fin_area_m2,
        fin_height_m=sheets.fin_height_m,
        alpha_rad=0.0,
    )


def _given(setup: Setup, planform: Planform, density_kgpm3: float) -> Given:
    airframe = setup.airframe
    return Given(
        conventional=airframe.layout == "conventional",
        planform=planform,
        section=airframe.section,
        thickness=_value(airframe.section_thickness_share),
        mass_kg=airframe.mass_kg.value,
        pitch_travel_rad=airframe.surfaces.travel_rad.value,
        density_kgpm3=density_kgpm3,
        viscosity_pas=viscosity(setup.day.temperature_k.value),
        lift_max=_value(airframe.lift_max),
        drag_zero=_value(airframe.drag_zero),
        span_efficiency=_value(airframe.span_efficiency),
        neutral_point_m=_value(airframe.neutral_point_m),
        lift_slope=_value(airframe.lift_slope),
        coefficients=airframe.coefficients or {},
    )


def _power(setup: Setup, density_kgpm3: float) -> PowerValues:
    power, day = setup.power, setup.day
    motor = Motor(
        ke_vs=1.0 / power.kv_radps_per_v.value,
        resistance_ohm=power.motor_resistance_ohm.value + power.controller_resistance_ohm.value,
        idle_current_a=power.no_load_current_a.value,
        dead_band=power.dead_band_share.value,
        start_delay_s=power.start_delay_s.value,
        soft_rise_per_s=power.soft_rise_per_s.value,
    )
    return PowerValues(
        diameter_m=power.propeller.diameter_m.value,
        pitch_m=power.propeller.pitch_m.value,
        blades=power.blades,
        propeller_kg=power.propeller_mass_kg.value,
        motor_kg=power.motor_mass_kg.value,
        rotor_radius_m=power.rotor_radius_m.value,
        turning=1.0 if power.turning == "clockwise" else -1.0,
        behind=1.0 if power.position == "pusher" else 0.0,
        height_m=power.thrust_line_height_m.value,
        tilt_rad=power.thrust_line_tilt_rad.value,
        motor=motor,
        cells=power.cells,
        pack_ohm=power.pack_resistance_ohm.value,
        pack_temperature_c=day.pack_temperature_k.value - ZERO_C_K,
        open_volts=_value(day.pack_volts_v),
        floor_volts=power.regulator_floor_v.value,
        ceiling=setup.settings.launch_ceiling_share.value,
        density_kgpm3=density_kgpm3,
    )


def _readings(setup: Setup) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            line.throttle_share.value,
            line.pull_n.value,
            _value(line.current_a),
            _value(line.volts_v),
            _value(line.rpm),
        )
        for line in setup.power.bench
    )


def _surfaces(setup: Setup, trim_elevator_rad: float) -> Surfaces:
    surfaces = setup.airframe.surfaces
    mixed = setup.airframe.layout != "conventional"
    given_trim = _value(surfaces.trim_rad)
    roll = _value(surfaces.aileron_travel_rad)
    travel = surfaces.travel_rad.value
    return Surfaces(
        mixed=1.0 if mixed else 0.0,
        pitch_travel_rad=travel,
        roll_travel_rad=travel if mixed or roll is None else roll,
        pitch_trim_rad=trim_elevator_rad if given_trim is None else given_trim,
        servo_time_s=surfaces.servo_time_s.value,
        servo_rate_radps=surfaces.servo_rate_radps.value,
        slipstream_share=TRACTOR_BLOWN_SHARE if setup.power.position == "tractor" else 0.0,
    )


def _reach(setup: Setup) -> HandReach | None:
    thrower = setup.thrower
    if thrower is None or setup.power.position != "pusher":
        return None
    slowing, lag = thrower.hand_deceleration_mps2, thrower.hand_lag_mps
    arm = Arm(
        slowing.value,
        math.hypot(log_spread(slowing.value, slowing.spread), thrower.hand_deceleration_scatter.value),
        lag.value,
        math.hypot(lag.spread, thrower.hand_lag_scatter_mps.value),
        thrower.release_speed_mps.value,
    )
    return clear_times(arm, setup.airframe.grip_to_disc_m.value)


def _tilt(setup: Setup) -> float | None:
    if setup.settings.jerk_cue != "raw":
        return None
    board = setup.airframe.board
    tilt_rad = self_start_tilt(
        setup.settings.jerk_level_mps2.value, board.tilt_rad.value, board.bias_mps2.value
    )
    return tilt_rad if math.isfinite(tilt_rad) else None


def _notes(setup: Setup, found: Aerodynamics, driven: Driven) -> tuple[str, ...]:
    airframe, wing = setup.airframe, found.wing
    notes = list(driven.notes)
    apart_m = wing.neutral_point_m - found.lattice_neutral_m
    if airframe.neutral_point_m is not None and abs(apart_m) > NEUTRAL_NOTE_SHARE * wing.chord_m:
        notes.append(
            f"The neutral point is given at {wing.neutral_point_m * 1000:.0f} mm; the vortex lattice finds "
            f"{found.lattice_neutral_m * 1000:.0f} mm."
        )
    if airframe.tail is None:
        notes.append("No fins on the card: two fins at the tips with 6 % of the wing's area are assumed.")
    if abs(found.stall_elevator_rad) >= airframe.surfaces.travel_rad.value:
        notes.append("Trim at the stall needs all the elevator travel: the balance point is far forward.")
    return tuple(notes)


def derive(setup: Setup) -> Derived:
    """Return the derived figures of a setup at its central values.

    Slow the first time for an airframe (about a second), a few milliseconds when kept in the cache.
    Raises InputError or UnphysicalError, each with its cure and, for a setup from a file, its place.
    """
    with placed(setup):
        return _derived(setup)


def _derived(setup: Setup) -> Derived:
    pressure_pa = _value(setup.day.pressure_pa)
    density_kgpm3 = site_density(setup.day.temperature_k.value, setup.site.elevation_m.value, pressure_pa)
    planform = planform_of(setup.airframe)
    found = aerodynamics(_given(setup, planform, density_kgpm3))
    wing, mass_kg = found.wing, setup.airframe.mass_kg.value
    driven = drivetrain(_power(setup, density_kgpm3), _readings(setup), setup.power.coefficient_table)
    drive, full = driven.drive, driven.full
    surfaces = _surfaces(setup, found.trim_elevator_rad)
    left = authority(found, surfaces, drive.propeller, full, density_kgpm3)
    glide, glide_mps = best_glide(wing, mass_kg, density_kgpm3, found.lift_max)
    airframe = setup.airframe
    arm_m = airframe.tail.arm_m.value if airframe.tail and airframe.layout == "conventional" else 0.0
    mass = mass_and_inertia(
        Size(mass_kg, planform.span_m, mean_chord(planform), arm_m),
        Swung(
            _value(airframe.roll_inertia_kg_m2),
            _value(airframe.pitch_inertia_kg_m2),
            _value(airframe.yaw_inertia_kg_m2),
        ),
    )
    blades, diameter_m = setup.power.blades, drive.propeller.diameter_m
    return Derived(
        wing=wing,
        mass=mass,
        surfaces=surfaces,
        propeller=drive.propeller,
        propeller_table=drive.table,
        motor=drive.motor,
        pack=drive.pack,
        density_kgpm3=density_kgpm3,
        lift_max=found.lift_max,
        stall_speed_mps=found.stall_speed_mps,
        stall_elevator_rad=found.stall_elevator_rad,
        trim_elevator_rad=found.trim_elevator_rad,
        static_margin_share=found.static_margin_share,
        best_glide_ratio=glide,
        best_glide_speed_mps=glide_mps,
        reynolds=found.reynolds,
        full=full,
        half=driven.half,
        thrust_to_weight=full.thrust_n / (mass_kg * GRAVITY_MPS2),
        spool_time_s=spool_time(drive, full),
        roll_reserve=left.roll_reserve,
        roll_authority_ratio=left.roll_whole_travel,
        pitch_reserve=left.pitch_reserve,
        thrust_line_share=left.thrust_line_share,
        hand_reach=_reach(setup),
        self_start_tilt_rad=_tilt(setup),
        blade_pass_full_hz=blade_pass(blades, full.rpm),
        blade_pass_half_hz=blade_pass(blades, driven.half.rpm),
        rpm_at_tip_25=rpm_at_tip(diameter_m, 25.0),
        rpm_at_tip_60=rpm_at_tip(diameter_m, 60.0),
        notes=_notes(setup, found, driven),
        sources=SOURCES,
    )
