"""Empty forms, with a comment beside each line."""

from __future__ import annotations

from overarm.errors import InputError, Problem

HEAD = "overarm_bench: 1\ntest: {name}\nday: {day}\n"
# Each line is a usual value to be overwritten; "+- 0.2 s" behind one says how well it was read.
BODIES = {
    "pull": """\
# Pull of the propeller on a spring scale, at two throttles or more, 3 s each.
# The model is tied by its tail, the line level; nobody in or near the disc; eyes covered.
# Rated three times the pull: line, peg and hook. Let the pack rest a minute between the readings.
readings:
  - {throttle: 50 %, pull: 4.7 N, current: 3.9 A, volts: 16.11 V}   # volts under load, not at rest
  - {throttle: 95 %, pull: 15.4 N, current: 21.6 A, volts: 15.73 V}   # a scale that shows g reads gf: 1570 gf
""",
    "swing": """\
# The model hangs on two equal lines, level, its balance point midway between them, and is turned a little
# about the upright axis. The axis that stands upright is the one that is measured: for roll hang it nose-up.
# Less than 10 deg to either side; no wind; 20 full swings (there and back) a timing, three timings.
axis: roll              # roll | pitch | yaw
mass: 1.60 kg
line_length: 1.5 m
line_spacing: 400 mm
amplitude: 5 deg        # to either side, on the average
swings: 20
times:
  - {time: 61.4 s +- 0.2 s}
  - {time: 61.2 s}
  - {time: 61.5 s}
""",
    "glide": """\
# Motor off, from the shoulder, straight and level into what wind there is, over tall grass.
# A glide in which it dived or mushed does not count. Three at least.
mass: 1.60 kg
height: 1.9 m           # release above the place where it touched down
headwind: 0.5 m/s +- 0.3 m/s
glides:
  - {distance: 15.5 m, time: 1.7 s}
  - {distance: 14.8 m, time: 1.6 s}
  - {distance: 16.1 m, time: 1.7 s}
# stalls:               # only if an airspeed was recorded, at height: where the nose dropped
#   - {airspeed: 7.9 m/s}
""",
    "tilt": """\
# The model stands on a jig whose angle is known; 10 s at each; the mean of the forward accelerometer.
# Level and 30 deg alone can hardly tell a tilted board from one that reads too much: add one inverted.
readings:
  - {angle: 0 deg, force: 0.36 m/s2}
  - {angle: 30 deg, force: 5.22 m/s2}
  - {angle: 180 deg, force: -0.16 m/s2}   # inverted
""",
    "clear": """\
# Video from the side, 240 frames a second or more, motor unplugged, propeller off. Count the frames from the
# release (the hand opens) until the place of the disc has passed the hand. Five throws at least.
frame_rate: 240 Hz
grip_to_disc: 36 cm
hand_lag: 0.4 m/s +- 0.3 m/s   # how much slower than the model the hand is at release
throws:
  - {frames: 32}
  - {frames: 36}
  - {frames: 30}
  - {frames: 35}
  - {frames: 33}
""",
    "history": """\
# What was predicted before each launch, and what happened. Figures: any, in any one unit.
launches:
  - odds: 91 %          # as they were told before the launch
    low: 84 %
    high: 95 %
    clean: true
    figures:
      - {name: throw speed m/s, p5: 7.0, p50: 8.4, p95: 9.8, was: 7.9}
  - {odds: 78 %, clean: false}
""",
}


def empty_form(name: str, day: str) -> str:
    """Return a form with usual values and a comment on each, to be overwritten.

    Raises InputError for a name that no form has.
    """
    if name not in BODIES:
        cure = f"Forms are {', '.join(BODIES)}"
        raise InputError([Problem("is no form", cure, key="new-form", value=name)])
    return HEAD.format(name=name, day=day) + BODIES[name]
