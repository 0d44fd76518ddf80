"""What a filled form teaches: readings to evidence, each with its error."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from overarm.describe.quantity import Quantity
from overarm.errors import Problem, UnphysicalError
from overarm.learn.bench import clear, glide, pull, swing, tilt
from overarm.learn.bench.cards import ClearForm, GlideForm, PullForm, SwingForm, TiltForm
from overarm.learn.bench.propagate import Figure
from overarm.learn.bench.read import FilledForm
from overarm.learn.evidence import Evidence, LeftOut

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived

COMPUTED_EFFICIENCY = 0.08
LEAST_SPREAD = 1e-9
ANYTHING = (Figure(0.0, 0.5), Figure(0.0, 5.0))  # tilt [rad] and bias [m/s2] that nobody knows


class Bench(NamedTuple):
    """What one form says: evidence, what is told besides, what teaches nothing; readings of jig and scale."""

    evidence: tuple[Evidence, ...] = ()
    told: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    jig: tuple[tilt.JigReading, ...] = ()
    pulls: tuple[pull.PullReading, ...] = ()


def figure_of(quantity: Quantity) -> Figure:
    """Return value and error of what was written."""
    return Figure(quantity.value, quantity.spread)


def of_form(filled: FilledForm, setup: Setup, derived: Derived) -> Bench:
    """Return what a form teaches about a setup; nothing for a history.

    Raises UnphysicalError for readings that cannot be.
    """
    form = filled.form
    if isinstance(form, PullForm):
        return _pull(form, filled, setup)
    if isinstance(form, SwingForm):
        return _swing(form, filled)
    if isinstance(form, GlideForm):
        return _glide(form, filled, setup, derived)
    if isinstance(form, TiltForm):
        readings = tuple(
            tilt.JigReading(figure_of(row.angle_rad), figure_of(row.force_mps2)) for row in form.readings
        )
        _check_angles(readings, filled)
        return _tilt(readings, filled)
    return _clear(form, filled) if isinstance(form, ClearForm) else Bench()


def _bench(filled: FilledForm, key: str, figure: Figure, method: str) -> Evidence:
    error = max(figure.error, LEAST_SPREAD * abs(figure.value))
    return Evidence(key, figure.value, error, "bench", method, filled.source, filled.form.day)


def _impossible(filled: FilledForm, message: str, cure: str, key: str) -> UnphysicalError:
    return UnphysicalError([Problem(message, cure, filled.file, key=key)])


def _pull(form: PullForm, filled: FilledForm, setup: Setup) -> Bench:
    readings = tuple(
        pull.PullReading(
            row.throttle_share.value,
            figure_of(row.pull_n),
            None if row.current_a is None else figure_of(row.current_a),
            None if row.volts_v is None else figure_of(row.volts_v),
        )
        for row in form.readings
    )
    if len({item.throttle for item in readings}) < 2:
        raise _impossible(filled, "has one throttle only", "Read the scale at two throttles", "readings")
    power = pull.exponent(readings)
    ceiling = setup.settings.launch_ceiling_share.value
    thrust = pull.thrust_at(readings, ceiling, power)
    told = [f"Pull grows with the throttle to the power {power.value:.2f} +- {power.error:.2f}."]
    found = [_bench(filled, "power.thrust", thrust, "spring scale at two throttles")]
    ohm = pull.pack_resistance(readings)
    if ohm is not None and ohm.value <= 0.0:
        raise _impossible(
            filled, "has volts that do not fall as the current rises", "Read the volts under load", "readings"
        )
    if ohm is not None:
        found.append(_bench(filled, "power.pack_resistance", ohm, "volts and current at two throttles"))
        return Bench(tuple(found), tuple(told), pulls=readings)
    nothing = LeftOut("pull, pack resistance", "it needs current and volts at two different currents")
    return Bench(tuple(found), tuple(told), (nothing,), pulls=readings)


def _swing(form: SwingForm, filled: FilledForm) -> Bench:
    periods = [Figure(row.time_s.value / form.swings, row.time_s.spread / form.swings) for row in form.times]
    hung = swing.Swing(
        figure_of(form.mass_kg),
        figure_of(form.line_m),
        figure_of(form.spacing_m),
        form.amplitude_rad.value,
    )
    key = f"airframe.{form.axis}_inertia"
    return Bench((_bench(filled, key, swing.swung(hung, periods), "swing on two lines"),))


def _glide(form: GlideForm, filled: FilledForm, setup: Setup, derived: Derived) -> Bench:
    airframe = setup.airframe
    efficiency = form.span_efficiency or airframe.span_efficiency
    wing = derived.wing
    computed = wing.area_m2 / (math.pi * wing.drag_induced * wing.span_m**2)
    glider = glide.Glider(
        mass_kg=figure_of(form.mass_kg),
        area_m2=figure_of(form.area_m2 or airframe.area_m2),
        span_m=airframe.span_m.value,
        span_efficiency=figure_of(efficiency)
        if efficiency
        else Figure(computed, COMPUTED_EFFICIENCY * computed),
        density_kgpm3=derived.density_kgpm3,
        height_m=figure_of(form.height_m),
        headwind_mps=figure_of(form.headwind_mps),
    )
    for k, row in enumerate(form.glides):
        if row.distance_m.value + form.headwind_mps.value * row.time_s.value <= 0.0:
            raise _impossible(
                filled, "goes backwards through the air", "Check distance, time and wind", f"glides.{k}"
            )
    flown = glide.glided(
        glider, [glide.Flat(figure_of(row.distance_m), figure_of(row.time_s)) for row in form.glides]
    )
    said = (
        f"{len(form.glides)} glides: ratio {flown.ratio.value:.1f} +- {flown.ratio.error:.1f} at "
        f"{flown.airspeed_mps.value:.1f} m/s, lift coefficient {flown.lift.value:.2f}."
    )
    found, left = [], []
    drag = flown.drag_zero
    if drag.value <= 0.0 or drag.error > 0.6 * drag.value:
        why = f"the glides give {drag.value:.3f} +- {drag.error:.3f}; more height or less wind is needed"
        left.append(LeftOut("glide, drag at zero lift", why))
    else:
        found.append(_bench(filled, "airframe.drag_zero", drag, "glides without power"))
    if form.stalls:
        slowest = glide.stall_lift(glider, [figure_of(row.airspeed_mps) for row in form.stalls])
        found.append(_bench(filled, "airframe.lift_max", slowest, "stalls in the glide"))
    return Bench(tuple(found), (said,), tuple(left))


def _clear(form: ClearForm, filled: FilledForm) -> Bench:
    found, left = [], []
    for k, row in enumerate(form.throws):
        slowing = clear.from_frames(
            figure_of(form.grip_to_disc_m),
            figure_of(form.hand_lag_mps),
            row.frames,
            form.frame_rate_hz.value,
        )
        if slowing.value <= 0.0:
            why = "the hand lag alone would clear the disc sooner; look at the frames again"
            left.append(LeftOut(f"clear, throw {k + 1}", why))
        else:
            found.append(_bench(filled, "thrower.hand_deceleration", slowing, "frames of a video"))
    return Bench(tuple(found), left_out=tuple(left))


def _tilt(readings: tuple[tilt.JigReading, ...], filled: FilledForm) -> Bench:
    """Return what the readings of the jig say on their own; where that is little, the errors are large."""
    alone = tilt.jig(*ANYTHING, readings)
    level = alone.level_reading()
    said = (
        f"The board reads {level.value:.2f} +- {level.error:.2f} m/s2 on a level model; tilt and bias have "
        f"errors that go together ({alone.correlation:+.2f}; near -1: hardly told apart)."
    )
    found = (
        _bench(filled, "airframe.board.tilt", alone.tilt_rad, "tilt jig"),
        _bench(filled, "airframe.board.bias", alone.bias_mps2, "tilt jig"),
    )
    return Bench(found, (said,), jig=readings)


def _check_angles(readings: tuple[tilt.JigReading, ...], filled: FilledForm) -> None:
    if len({item.angle.value for item in readings}) < 2:
        raise _impossible(filled, "has one angle only", "Add a reading nose-up or inverted", "readings")
