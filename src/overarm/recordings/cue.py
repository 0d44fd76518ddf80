"""What the trigger would have been told: the filtered cue of a recording, with pose, speed and rest.

The board filters all the time, so the filter runs from the start of the recording; it starts again after
a break. Checked in ``tests/unit/test_trigger_room_replay.py``.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from overarm.air import GRAVITY_MPS2
from overarm.jit import over_samples
from overarm.physics.attitude import attitude_start, attitude_step
from overarm.physics.sensor import Board, low_pass
from overarm.physics.trigger import Trigger, is_still
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.recording import Channel, Numbers, Recording

# A step this much longer than the usual one, and at least this long, is a hole: nothing goes across it.
HOLE_STEPS = 5.0
HOLE_S = 0.2
# Without a setup the attitude is estimated as the board of the cards does by default.
USUAL_BOARD = Board(
    tilt_rad=0.0, bias_mps2=0.0, noise_mps2=0.15, range_mps2=157.0, filter_hz=10.0, rate_hz=100.0,
    offset_x_m=0.05, offset_z_m=0.0, attitude_time_s=2.0, level_error_rad=0.0, bank_error_rad=0.0,
    speed_delay_s=0.2, trust_band_mps2=5.0, gyro_bias_radps=0.0, vibration_mps2=3.0,
)  # fmt: skip
NO_FORWARD = "there is no forward acceleration in it"


class Cue(NamedTuple):
    """The cue of a recording, sample by sample; all arrays have shape (n,)."""

    t_s: Numbers
    step_s: Numbers  # since the sample before; the usual step after a break
    begins: NDArray[np.bool_]  # the first sample after a break
    metric_mps2: Numbers
    pitch_rad: Numbers  # as the autopilot believes it; 0 if it cannot be known
    bank_rad: Numbers
    speed_mps: Numbers  # the last one that the receiver reported; 0 before the first
    still: Numbers  # 1: at rest
    rate_hz: float  # the usual rate of the samples; 0 for fewer than two
    tilt_felt: bool  # the metric rises with the nose, as that of a raw trigger does
    lacks: tuple[str, ...]  # what the trigger asks for and the recording does not have, in words
    remarks: tuple[str, ...]  # what else a reader should know


def steps_of(t_s: Numbers, breaks_s: tuple[float, ...]) -> tuple[Numbers, NDArray[np.bool_], float]:
    """Return (steps [s], first samples after a break, usual rate [Hz]) of sample times [s], shape (n,)."""
    begins = np.zeros(t_s.size, dtype=np.bool_)
    if not t_s.size:
        return np.zeros(0), begins, 0.0
    gaps = np.diff(t_s)
    forward = gaps[gaps > 0.0]
    usual = float(np.median(forward)) if forward.size else 0.0
    begins[0] = True
    begins[1:] = (gaps <= 0.0) | (gaps > max(HOLE_STEPS * usual, HOLE_S))
    at = np.searchsorted(t_s, np.asarray(breaks_s, dtype=np.float64), side="left")
    begins[at[at < t_s.size]] = True
    step = np.concatenate([[usual], gaps])
    step[begins] = usual
    return step, begins, 1.0 / usual if usual > 0.0 else 0.0


@over_samples
def filtered(values: Any, step_s: Any, begins: Any, filter_hz: float) -> Any:
    """Return the values behind the first-order low pass of the board."""
    out = np.empty_like(values)
    now = 0.0
    for i in range(values.size):
        now = values[i] if begins[i] else low_pass(now, values[i], filter_hz, step_s[i])
        out[i] = now
    return out


@over_samples
def _attitude(board: Any, forces: Any, rates: Any, step_s: Any, begins: Any) -> Any:
    """Return (2, n) pitch and bank [rad] of the estimator, started at what the accelerometers say."""
    out = np.zeros((2, step_s.size))
    now = attitude_start(board, 0.0, 0.0)
    for i in range(step_s.size):
        felt = (forces[0, i], forces[1, i], forces[2, i])
        if begins[i]:
            size = np.sqrt(felt[1] * felt[1] + felt[2] * felt[2])
            now = attitude_start(board, np.arctan2(felt[0], size), np.arctan2(-felt[1], -felt[2]))
        else:
            now = attitude_step(board, now, felt, (rates[0, i], rates[1, i], rates[2, i]), step_s[i])
        out[0, i], out[1, i] = now.pitch_rad, now.bank_rad
    return out


@over_samples
def _rest(forces: Any, rates: Any, gravity_felt: bool) -> Any:
    """Return 1 where the readings are those of a model at rest, else 0."""
    out = np.zeros(forces.shape[1])
    for i in range(out.size):
        x, y, z = forces[0, i], forces[1, i], forces[2, i]
        if not gravity_felt:
            x, y, z = GRAVITY_MPS2 + np.sqrt(x * x + y * y + z * z), 0.0, 0.0
        out[i] = is_still(x, y, z, (rates[0, i], rates[1, i], rates[2, i]))
    return out


def _at(channel: Channel | None, t_s: Numbers) -> Numbers:
    """Return a channel at other times, straight between its samples; 0 without one."""
    return np.zeros(t_s.size) if channel is None else np.interp(t_s, channel.t_s, channel.values)


def _last(channel: Channel | None, t_s: Numbers) -> Numbers:
    """Return the last sample of a channel that was there at each time; 0 before the first."""
    if channel is None:
        return np.zeros(t_s.size)
    place = np.searchsorted(channel.t_s, t_s, side="right") - 1
    return np.where(place >= 0, channel.values[np.maximum(place, 0)], 0.0)


def _rows(recording: Recording, names: tuple[str, ...], t_s: Numbers) -> Numbers:
    return np.stack([_at(recording.channel(name), t_s) for name in names])


class _Pose(NamedTuple):
    pitch_rad: Numbers
    bank_rad: Numbers
    known: bool
    remark: str


def _pose(
    recording: Recording, board: Board, t_s: Numbers, steps: tuple[Numbers, NDArray[np.bool_]]
) -> _Pose:
    """Return the attitude as recorded, else as the estimator of the board makes it from forces and rates."""
    pitch, bank = recording.channel("pitch_rad"), recording.channel("bank_rad")
    if pitch is not None:
        return _Pose(_at(pitch, t_s), _at(bank, t_s), True, "")
    if not recording.gravity_felt or any(recording.channel(name) is None for name in FORCES):
        return _Pose(np.zeros(t_s.size), np.zeros(t_s.size), False, "")
    forces, rates = _rows(recording, FORCES, t_s), _rows(recording, RATES, t_s)
    found = _attitude(board, forces, rates, *steps)
    turned = all(recording.channel(name) is not None for name in RATES)
    how = "accelerometers and gyros" if turned else "accelerometers alone"
    return _Pose(found[0], found[1], True, f"the attitude is estimated from {how}, as the board would")


def cue_of(recording: Recording, trigger: Trigger, filter_hz: float, board: Board = USUAL_BOARD) -> Cue:
    """Return what a trigger would have been told by a recording.

    Parameters: recording, cleaned; trigger, of which only the kind of the cue and what it asks for count;
    filter_hz [Hz], the cut-off of the low pass before the cue, 0 for none; board, whose estimator makes the
    attitude where none was recorded. Where gravity was taken off, it is put back as ``g sin(pitch)`` for a
    raw trigger if the pitch was recorded. A recording without forward acceleration gives empty arrays.
    """
    forward = recording.channel("force_x_mps2")
    if forward is None:
        none, no = np.zeros(0), np.zeros(0, dtype=np.bool_)
        return Cue(none, none, no, none, none, none, none, none, 0.0, False, (NO_FORWARD,), ())
    t_s = forward.t_s
    step_s, begins, rate_hz = steps_of(t_s, recording.breaks_s)
    pose = _pose(recording, board, t_s, (step_s, begins))
    free = trigger.gravity_free > 0.5
    values = np.asarray(forward.values, dtype=np.float64)
    if not recording.gravity_felt and pose.known and not free:
        values = values + GRAVITY_MPS2 * np.sin(pose.pitch_rad)
    metric = filtered(values, step_s, begins, filter_hz)
    if free and recording.gravity_felt:
        metric = metric - GRAVITY_MPS2 * np.sin(pose.pitch_rad)
    still = _rest(_rows(recording, FORCES, t_s), _rows(recording, RATES, t_s), recording.gravity_felt)
    lacks, remarks = _told(recording, trigger, pose)
    return Cue(
        t_s,
        step_s,
        begins,
        metric,
        pose.pitch_rad,
        pose.bank_rad,
        _last(recording.channel("ground_speed_mps"), t_s),
        still,
        rate_hz,
        not free and (recording.gravity_felt or pose.known),
        lacks,
        remarks,
    )


def windowed(trigger: Trigger) -> bool:
    """Return whether the trigger has a pose window that some pose is outside of."""
    half = np.pi / 2
    return trigger.pitch_low_rad > -half or trigger.pitch_high_rad < half or trigger.bank_limit_rad < np.pi


def _told(recording: Recording, trigger: Trigger, pose: _Pose) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return (what is lacking, what else should be known)."""
    free, felt = trigger.gravity_free > 0.5, recording.gravity_felt
    lacks, remarks = [], []
    if free and felt and not pose.known:
        lacks.append("its pitch is not known, so gravity cannot be taken off")
    if windowed(trigger) and not pose.known:
        lacks.append("its pose is not known, so the pose window was left out")
    if trigger.speed_gate_mps > 0.0 and recording.channel("ground_speed_mps") is None:
        lacks.append("there is no ground speed in it, so the speed gate was left out")
    if trigger.still_s > 0.0 and any(recording.channel(name) is None for name in FORCES):
        lacks.append("there are not three axes in it, so the still time was left out")
    if not felt:
        back = "it was put back from the recorded pitch" if pose.known and not free else "tilt is not in it"
        remarks.append(
            f"gravity was taken off: {back}" if not free else "gravity was taken off by the recorder"
        )
    if pose.remark and (free or windowed(trigger)):
        remarks.append(pose.remark)
    return tuple(lacks), tuple(remarks)


def asked(recording: Recording, trigger: Trigger) -> Trigger:
    """Return the trigger without what the recording cannot answer: see `Cue.lacks`."""
    turn = 2.0 * np.pi
    known = recording.channel("pitch_rad") is not None or (
        recording.gravity_felt and all(recording.channel(name) is not None for name in FORCES)
    )
    if not known:
        trigger = trigger._replace(pitch_low_rad=-turn, pitch_high_rad=turn, bank_limit_rad=turn)
    if recording.channel("ground_speed_mps") is None:
        trigger = trigger._replace(speed_gate_mps=0.0)
    if any(recording.channel(name) is None for name in FORCES):
        trigger = trigger._replace(still_s=0.0)
    return trigger
