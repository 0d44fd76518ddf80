"""How each input is measured, in the words of the trade (common practice, no source).

How well one knows an input once it is measured stands with its card; only the figures that a card
computes from others have it here, as a share of the value (one standard deviation).
"""

from __future__ import annotations

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
