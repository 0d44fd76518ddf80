"""How each input is measured, in the words of the trade (common practice, no source).

How well one knows an input once it is measured stands with its card; only the figures that a card
computes from others have it here, as a share of the value (one standard deviation). The minutes of each
piece of work are our own estimates, for one person with the tools at hand; inputs that the same piece of
work measures share its minutes.
"""

from __future__ import annotations

from typing import NamedTuple

JIG = "level jig, 10 s of readings"
VIDEO = "side-on video of five throws, propeller off"
SCALE = "spring scale, walking out and back"
SHAKES = "phone on the model, five shakes"

HOW: dict[str, str] = {
    "airframe.mass": "scales, with the flight pack in",
    "airframe.area": "ruler and paper outline",
    "airframe.balance_point": "two fingers and a ruler",
    "airframe.drag_zero": "three glides from the shoulder over tall grass",
    "airframe.grip_to_disc": "ruler, held as it is thrown",
    "airframe.board.tilt": JIG,
    "airframe.board.bias": JIG,
    "airframe.board.level_error": JIG,
    "airframe.board.bank_error": JIG,
    "power.thrust": "spring scale at two throttles, 3 s each",
    "power.torque": "current at two throttles on the bench",
    "power.pack_resistance": "volts and current at two throttles",
    "power.thrust_line_height": "ruler from the balance point",
    "power.start_delay": "sound of ten starts on the bench",
    "thrower.release_speed": "five recorded throws, propeller off",
    "thrower.release_path": VIDEO,
    "thrower.release_pitch": VIDEO,
    "thrower.release_bank": "video from behind of five throws, propeller off",
    "thrower.hand_deceleration": "240 frames a second of five throws, propeller off",
    "thrower.stroke": VIDEO,
    "thrower.wind_up": VIDEO,
    "thrower.shake_travel": SHAKES,
    "thrower.shake_rate": SHAKES,
    "line.stretch": "a mark at the latch, tape measure",
    "line.returned_share": SCALE,
    "line.friction": "spring scale along the ramp",
    "day.wind": "wind meter at hand height for 2 minutes",
    "day.wind_angle": "streamer at the launch line",
    "day.pack_volts": "voltmeter before the launch",
}

COMPUTED_SHARE: dict[str, float] = {"power.thrust": 0.04, "power.torque": 0.06}


class Work(NamedTuple):
    """One piece of work at bench or field: how, the minutes it takes (own estimate), what it measures."""

    how: str
    minutes: float
    inputs: tuple[str, ...]


def _alone(minutes: float, name: str) -> Work:
    return Work(HOW[name], minutes, (name,))


WORKS: tuple[Work, ...] = (
    _alone(3.0, "airframe.mass"),
    _alone(20.0, "airframe.area"),
    _alone(5.0, "airframe.balance_point"),
    _alone(30.0, "airframe.drag_zero"),
    _alone(3.0, "airframe.grip_to_disc"),
    Work(
        JIG,
        15.0,
        (
            "airframe.board.tilt",
            "airframe.board.bias",
            "airframe.board.level_error",
            "airframe.board.bank_error",
        ),
    ),
    Work(
        "spring scale, volts and current at two throttles, 3 s each",
        25.0,
        ("power.thrust", "power.torque", "power.pack_resistance"),
    ),
    _alone(5.0, "power.thrust_line_height"),
    _alone(15.0, "power.start_delay"),
    _alone(20.0, "thrower.release_speed"),
    Work(
        "side-on video of five throws at 240 frames a second, propeller off",
        30.0,
        (
            "thrower.release_path",
            "thrower.release_pitch",
            "thrower.hand_deceleration",
            "thrower.stroke",
            "thrower.wind_up",
        ),
    ),
    _alone(25.0, "thrower.release_bank"),
    Work(SHAKES, 10.0, ("thrower.shake_travel", "thrower.shake_rate")),
    _alone(5.0, "line.stretch"),
    _alone(20.0, "line.returned_share"),
    _alone(15.0, "line.friction"),
    _alone(5.0, "day.wind"),
    _alone(3.0, "day.wind_angle"),
    _alone(2.0, "day.pack_volts"),
)
