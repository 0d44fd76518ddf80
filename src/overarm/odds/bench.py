"""What a measurement of each input is worth: how it is done, and how well one then knows the input.

Spreads are one standard deviation, SI, absolute or as a share of the value. Common practice and
engineering estimates, no source.
"""

from __future__ import annotations

import math
from typing import NamedTuple


class Bench(NamedTuple):
    """One measurement."""

    how: str
    share: float = 0.0  # of the value
    absolute: float = 0.0  # SI

    def spread(self, value: float) -> float:
        """Return the spread of the input once it is measured, in its own unit (SI)."""
        return self.share * abs(value) + self.absolute


MEASUREMENTS: dict[str, Bench] = {
    "airframe.mass": Bench("scales, with the flight pack in", share=0.01),
    "airframe.area": Bench("ruler and paper outline", share=0.02),
    "airframe.balance_point": Bench("two fingers and a ruler", absolute=0.002),
    "airframe.drag_zero": Bench("three glides from the shoulder over tall grass", share=0.08),
    "airframe.grip_to_disc": Bench("ruler, held as it is thrown", absolute=0.005),
    "airframe.board.tilt": Bench("level jig, 10 s of readings", absolute=math.radians(0.5)),
    "airframe.board.bias": Bench("level jig, 10 s of readings", absolute=0.1),
    "airframe.board.level_error": Bench("level jig, 10 s of readings", absolute=math.radians(0.5)),
    "airframe.board.bank_error": Bench("level jig, 10 s of readings", absolute=math.radians(0.5)),
    "power.thrust": Bench("spring scale at two throttles, 3 s each", share=0.04),
    "power.torque": Bench("current at two throttles on the bench", share=0.06),
    "power.pack_resistance": Bench("volts and current at two throttles", share=0.15),
    "power.thrust_line_height": Bench("ruler from the balance point", absolute=0.003),
    "power.start_delay": Bench("sound of ten starts on the bench", absolute=0.03),
    "thrower.release_speed": Bench("five recorded throws, propeller off", share=0.03),
    "thrower.release_path": Bench("side-on video of five throws, propeller off", absolute=math.radians(2.0)),
    "thrower.release_pitch": Bench("side-on video of five throws, propeller off", absolute=math.radians(2.0)),
    "thrower.release_bank": Bench(
        "video from behind of five throws, propeller off", absolute=math.radians(3.0)
    ),
    "thrower.hand_deceleration": Bench("240 frames a second of five throws, propeller off", share=0.20),
    "thrower.stroke": Bench("side-on video of five throws, propeller off", share=0.05),
    "thrower.wind_up": Bench("side-on video of five throws, propeller off", share=0.10),
    "thrower.shake_travel": Bench("phone on the model, five shakes", share=0.10),
    "thrower.shake_rate": Bench("phone on the model, five shakes", share=0.05),
    "line.stretch": Bench("a mark at the latch, tape measure", share=0.01),
    "line.returned_share": Bench("spring scale, walking out and back", share=0.05),
    "line.friction": Bench("spring scale along the ramp", share=0.15),
    "day.wind": Bench("wind meter at hand height for 2 minutes", absolute=0.5),
    "day.wind_angle": Bench("streamer at the launch line", absolute=math.radians(10.0)),
    "day.pack_volts": Bench("voltmeter before the launch", absolute=0.02),
}
