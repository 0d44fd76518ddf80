"""A first setup from a few answers: everything else is a marked guess with a word on how to measure it."""

from __future__ import annotations

import json
import math
from typing import NamedTuple

from overarm.describe.airframe import Airframe, Tail
from overarm.describe.card import Card, amount_of, field_at
from overarm.describe.power import Power, PropellerSize
from overarm.describe.questions import Answers, amount_in

# Scalings through the five example aeroplanes, for want of anything better: own estimates.
MOTOR_PER_KG = 0.052
PROPELLER_KG, PROPELLER_M, PROPELLER_POWER = 0.0045, 0.1524, 2.5
ROTOR_M, ROTOR_KG, ROTOR_POWER = 0.0135, 0.031, 0.27
WINDING_OHM_KG = 0.0034
IDLE_A, IDLE_KG, IDLE_POWER = 1.0, 0.05, 0.3
CAPACITY_AH_PER_KG = 2.3
CELL_OHM_AH = 0.018
LIGHT_KG = 0.8
COMMENT_COLUMN = 34


def rounded(number: float, digits: int = 2) -> str:
    """Return a positive number with so many significant digits, without an exponent: 2300, 0.15."""
    return f"{round(number, digits - 1 - math.floor(math.log10(number))):.10g}"


class Guess(NamedTuple):
    """The parts of a drive that were not asked for."""

    motor_g: float
    rotor_mm: float
    winding_mohm: float
    idle_a: float
    propeller_g: float
    capacity_mah: float
    pack_mohm: float


def drive_guess(answers: Answers) -> Guess:
    """Return what motor, propeller and pack of such an aeroplane are commonly like."""
    mass_kg = amount_in(Airframe, "mass", answers["mass"])
    diameter_m = PropellerSize.read(answers["propeller"]).diameter_m.value
    motor_kg = MOTOR_PER_KG * mass_kg
    capacity_ah = CAPACITY_AH_PER_KG * mass_kg
    propeller_kg = PROPELLER_KG * (diameter_m / PROPELLER_M) ** PROPELLER_POWER
    pack_ohm = int(answers["cells"]) * CELL_OHM_AH / capacity_ah
    return Guess(
        motor_g=1000.0 * _within("motor_mass", motor_kg),
        rotor_mm=1000.0 * _within("rotor_radius", ROTOR_M * (motor_kg / ROTOR_KG) ** ROTOR_POWER),
        winding_mohm=1000.0 * _within("motor_resistance", WINDING_OHM_KG / motor_kg),
        idle_a=_within("no_load_current", IDLE_A * (motor_kg / IDLE_KG) ** IDLE_POWER),
        propeller_g=1000.0 * _within("propeller_mass", propeller_kg),
        capacity_mah=1000.0 * _within("capacity", capacity_ah),
        pack_mohm=1000.0 * _within("pack_resistance", pack_ohm),
    )


def _within(key: str, value: float, card: type[Card] = Power) -> float:
    """Return a value, moved into what its field takes; rounding keeps it there."""
    info = field_at(card, (key,))
    rule = amount_of(info) if info is not None else None
    assert rule is not None, f"{key} is no amount"
    return min(max(value, 1.05 * rule.low), 0.95 * rule.high)


class Start(NamedTuple):
    """Settings to begin with; common practice, no source."""

    level: str
    dwell: str
    wait: str
    rise: str
    pitch: str
    handover: str
    gate: str = ""


def first_settings(answers: Answers) -> Start:
    """Return settings to begin with for a style and a mass."""
    light = amount_in(Airframe, "mass", answers["mass"]) < LIGHT_KG
    if answers["style"] == "line-launched":
        return Start("12 m/s2", "0.15 s", "0.60 s", "100 %/s", "12 deg", "40 m", "7 m/s")
    level, dwell = ("5 m/s2", "0.08 s") if light else ("8 m/s2", "0.10 s")
    if answers["style"] == "spin-in-hand":
        rise = "25 %/s" if light else "20 %/s"
        return Start("6 m/s2", "0.08 s", "0.30 s", rise, "12 deg", "30 m")
    rise = "150 %/s" if light else "200 %/s"
    return Start(level, dwell, "0.55 s" if light else "0.65 s", rise, "12 deg", "30 m" if light else "35 m")


def setup_text(answers: Answers) -> str:
    """Return a commented setup file; ``answers`` are complete and have passed their checks."""
    parts = [_head(answers), _airframe(answers), _power(answers)]
    parts.append(_line(answers) if answers["style"] == "line-launched" else _thrower(answers))
    return _aligned("\n".join((*parts, _settings(answers), _place_and_day(answers))))


def _aligned(text: str) -> str:
    """Return the text with the comments behind values in one column."""
    lines = []
    for line in text.splitlines():
        value, mark, comment = line.partition("  # ")
        behind = bool(mark) and bool(value.strip()) and not line.startswith("name:")
        lines.append(f"{value.rstrip():<{COMMENT_COLUMN}}  # {comment.strip()}" if behind else line)
    return "\n".join(lines) + "\n"


def _head(answers: Answers) -> str:
    return f"""\
# A setup to begin with. Each number has its unit; after it you may say how well you know it:
#   mass: 1.60 kg measured            measured, with the usual error of a measurement
#   mass: 1.60 kg +- 2 % measured     with your own (one standard deviation)
# A number without a word counts as guessed, and the odds get wider. Replace guesses as you measure.
overarm: 1
name: {json.dumps(answers["name"], ensure_ascii=False)}
style: {answers["style"]}  # throw-started | spin-in-hand | line-launched
"""


def _airframe(answers: Answers) -> str:
    root, tip, span = (amount_in(Airframe, key, answers[key]) for key in ("root_chord", "tip_chord", "span"))
    area_m2 = 0.5 * (root + tip) * span
    wing = answers["layout"] == "flying wing"
    section = "reflexed" if wing else "flat-bottom"
    tail = f"""\
  tail:  # guessed; measure them
    arm: {1000.0 * 0.46 * span:.0f} mm  # balance point to the tail's quarter chord
    area: {rounded(100.0 * _within("area", 0.18 * area_m2, Tail), 2)} dm2
    span: {1000.0 * 0.34 * span:.0f} mm
    fin_area: {rounded(100.0 * _within("fin_area", 0.076 * area_m2, Tail), 2)} dm2
    fin_height: {1000.0 * 0.14 * span:.0f} mm
"""
    return f"""\
airframe:
  layout: {answers["layout"]}
  mass: {answers["mass"]}  # all-up, on scales, with the flight pack
  span: {answers["span"]}
  area: {area_m2:.4f} m2  # from span and chords; replace it if you know better
  root_chord: {answers["root_chord"]}
  tip_chord: {answers["tip_chord"]}
  sweep: {answers["sweep"]}  # of the leading edge
  section: {section}  # reflexed | flat-bottom | symmetric | a section's name
  balance_point: {answers["balance_point"]}  # behind the root leading edge
  grip_to_disc: {answers["grip_to_disc"]}  # from the hand along the body to the propeller disc
  grip_gap: 50 mm  # from the hand or forearm out to the edge of the disc
  surfaces:
    travel: 20 deg  # each way
{"" if wing else tail}\
  board:
    tilt: 0 deg  # nose-up tilt of the sensor board; level the model and read it
"""


def _power(answers: Answers) -> str:
    guess = drive_guess(answers)
    floor = "  regulator_floor: 3 V  # below it the autopilot resets\n"
    return f"""\
power:
  position: {answers["position"]}
  propeller: {answers["propeller"]}
  propeller_mass: {rounded(guess.propeller_g, 2)} g
  kv: {answers["kv"]}
  motor_resistance: {rounded(guess.winding_mohm, 2)} mohm
  no_load_current: {rounded(guess.idle_a, 2)} A
  motor_mass: {rounded(guess.motor_g, 2)} g
  rotor_radius: {rounded(guess.rotor_mm, 3)} mm
  cells: {answers["cells"]}
  capacity: {rounded(guess.capacity_mah, 2)} mAh
  pack_resistance: {rounded(guess.pack_mohm, 2)} mohm  # of the whole pack, warm
{floor if answers["cells"] == "1" else ""}\
  # A spring scale at two throttles narrows the odds most. Then take the # away and write what it shows:
  # bench:
  #   - {{throttle: 95 %, pull: 9.4 N measured, current: 16.1 A, volts: 11.9 V}}
  #   - {{throttle: 50 %, pull: 3.0 N measured, current: 3.0 A}}
"""


def _thrower(answers: Answers) -> str:
    hold = "  hold_time: 3.4 s  # from the start to the draw-back of the throw\n"
    return f"""\
thrower:
  person: ""
  arm: {"two-handed" if answers["throw"] == "push" else "right"}  # right | left | two-handed
  throw: {answers["throw"]}  # overarm | side | underarm | push
  release_speed: {answers["release_speed"]}  # over the ground; film five throws of an empty airframe
  release_speed_scatter: 0.8 m/s  # how much your throws differ among themselves
  release_path: 8 deg  # above the horizon
  release_pitch: 10 deg
  release_height: 1.8 m
{hold if answers["style"] == "spin-in-hand" else ""}"""


def _line(answers: Answers) -> str:
    return f"""\
line:
  stretch: {answers["stretch"]}  # beyond the slack length; two paces short is a stall
  stiffness: {answers["stiffness"]}  # better four points from a spring scale, instead of it:
  # pull_points: [{{stretch: 2 m, pull: 20 N}}, {{stretch: 4 m, pull: 38 N}}]
  ramp_length: 1.5 m
  ramp_angle: 14 deg
  ramp_height: 1.6 m
"""


def _settings(answers: Answers) -> str:
    start = first_settings(answers)
    gate = f"  speed_gate: {start.gate}  # the jerk alone is not enough on a line\n" if start.gate else ""
    return f"""\
settings:  # common practice to begin with; write here what your autopilot really has
  jerk_level: {start.level}
  jerk_dwell: {start.dwell}
{gate}  start_wait: {start.wait}  # from the jerk to the first throttle
  throttle_rise: {start.rise}
  launch_ceiling: 95 %
  cruise_ceiling: 65 %
  climb_pitch: {start.pitch}
  handover_height: {start.handover}
  give_up_time: 6 s
  after_task: come home and circle  # or: carry on
  home_height: 40 m
  home_circle_radius: 45 m
"""


def _place_and_day(answers: Answers) -> str:
    volts = 4.1 * int(answers["cells"])
    return f"""\
site:
  place: ""
  ground: meadow  # short grass | meadow | crops | hedges | trees
  # obstacles:
  #   - {{name: trees, distance: 140 m, height: 15 m}}

day:
  wind: {answers["wind"]}
  wind_height: 10 m  # a forecast; a meter in the hand is at 1.5 m
  wind_angle: 0 deg  # 0 from ahead, 90 deg from the right, 180 deg from behind
  temperature: 15 C
  pack_volts: {volts:.1f} V  # whole pack, at rest
"""
