"""Forces along other axes than ours: solved by where gravity is at rest and where the throw goes."""

from __future__ import annotations

import math
from itertools import permutations, product

import numpy as np

from overarm.odds.finding import Word
from overarm.recordings.channels import FORCES, RATES
from overarm.recordings.mend.parts import changed, listed
from overarm.recordings.mend.still import (
    LONGEST_STEP_S,
    Blocks,
    Lobe,
    blocks_of,
    lobes,
    quiet_blocks,
    rest_norm,
    together,
)
from overarm.recordings.recording import Channel, Numbers, Recording, Repair

GRAVITY_MPS2 = (7.0, 15.0)  # the force at rest or in a steady turn of up to 50 degrees of bank
AGREES = 0.9  # cosine between gravity felt and gravity by the angles: 26 degrees
ALONG = 0.8  # cosine from which gravity lies along an axis: 37 degrees of tilt
OUR_SHARE = 0.2  # of the quiet time with gravity where it should be: enough to leave the axes
ONE_SHARE = 0.8  # of the quiet time with gravity along one other axis: enough to turn them
THROW_ALONG = 0.85  # share of the speed of a throw that is along one axis
SLOW_MPS = 5.0  # a throw begins below this speed
STILL_MPS2 = 0.5  # spread of a half second on the ground
SWING_S = 1.2  # a swing back of the arm follows its swing ahead within this time
POSE_S = 3.0  # before the swing it is held in a pose of its own, back to this long before
UNDONE = 0.5  # of the speed of a lobe that only stops a swing the other way, not from rest
TURNED_RAD = 1.0  # no throw turns the model so far about the vertical
LANDED_S = (0.5, 2.5)  # still within this time after the lobe: a landing, no throw
DOWN_IS_Z = np.array([0.0, 0.0, -1.0])  # where the ground pushes if the axes are ours
RATES_TOLD = 0.5  # correlation with the slopes of the angles, from which the rates stay
WHERE = ("forward", "right", "down")


def turn_axes(recording: Recording) -> Recording:
    """Turn forces and rates into our axes where rest and throw leave no doubt; otherwise say so."""
    quiet = quiet_blocks(recording)
    found = together(recording, FORCES)
    if quiet is None or found is None or not recording.gravity_felt or listed(recording, "axes", ""):
        return recording
    if not GRAVITY_MPS2[0] <= rest_norm(quiet) <= GRAVITY_MPS2[1]:
        return recording
    up = DOWN_IS_Z if _agrees_with_angles(recording, quiet) else _felt_along(quiet)
    if up is None:
        return _between(recording, quiet)
    throw = _first_throw(recording, *found, quiet, up)
    ours = int(np.argmin(up)) == 2
    if throw is None:
        said = f"gravity is felt along {_axis(up)} at rest, and no throw shows which way is forward"
        return recording if ours else _in_doubt(recording, quiet, said)
    rotation = _best(up, throw)
    if np.array_equal(rotation, np.eye(3)):
        return recording
    return _turned(recording, rotation, up, throw)


def rotations() -> list[Numbers]:
    """Return the 24 rotations that turn axes into axes, each of shape (3, 3)."""
    found = []
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            matrix = np.zeros((3, 3))
            matrix[range(3), order] = signs
            if np.linalg.det(matrix) > 0.0:
                found.append(matrix)
    return found


def _best(up: Numbers, throw: Lobe) -> Numbers:
    ahead = throw.gained_mps / np.sqrt((throw.gained_mps**2).sum())
    return max(rotations(), key=lambda turn: float((turn @ ahead)[0] - 2.0 * (turn @ up)[2]))


def _agrees_with_angles(recording: Recording, quiet: Blocks) -> bool:
    bank, pitch = recording.channel("bank_rad"), recording.channel("pitch_rad")
    if bank is None or pitch is None:
        return False
    phi = np.interp(quiet.t_s, bank.t_s, bank.values)
    theta = np.interp(quiet.t_s, pitch.t_s, pitch.values)
    told = np.column_stack((np.sin(theta), -np.sin(phi) * np.cos(theta), -np.cos(phi) * np.cos(theta)))
    return bool(np.median((_directions(quiet) * told).sum(axis=1)) >= AGREES)


def _directions(quiet: Blocks) -> Numbers:
    norm = np.sqrt((quiet.mean_mps2**2).sum(axis=1, keepdims=True))
    return np.asarray(quiet.mean_mps2 / np.maximum(norm, 1e-9))


def _felt_along(quiet: Blocks) -> Numbers | None:
    """Return the axis along which the ground pushes at rest, as a vector (3,); None if it is in doubt."""
    directions = _directions(quiet)
    if (directions[:, 2] < -ALONG).mean() >= OUR_SHARE:
        return DOWN_IS_Z
    for axis, sign in product(range(3), (1.0, -1.0)):
        if (sign * directions[:, axis] > ALONG).mean() >= ONE_SHARE:
            along = np.zeros(3)
            along[axis] = sign
            return along
    return None


def _first_throw(
    recording: Recording, t_s: Numbers, force: Numbers, quiet: Blocks, up: Numbers
) -> Lobe | None:
    level = np.flatnonzero(up == 0.0)
    rest = np.median(quiet.mean_mps2, axis=0)
    for lobe in lobes(t_s, (force - rest)[:, level]):
        gained = np.zeros(3)
        gained[level] = lobe.gained_mps
        speed = float(np.sqrt((gained**2).sum()))
        if _stops_a_swing(t_s, (force - rest)[:, level], lobe) or _turns_round(recording, lobe, up):
            continue
        if (
            speed > 0.0
            and np.abs(gained).max() >= THROW_ALONG * speed
            and _from_hand(recording, lobe, t_s, force)
        ):
            return Lobe(lobe.from_s, lobe.to_s, gained)
        return None  # what comes first decides: after it, arms stop and models land
    return None


def _stops_a_swing(t_s: Numbers, above_rest: Numbers, lobe: Lobe) -> bool:
    """Return True for a lobe that takes back the speed of one just before it, as of an arm that stops."""
    earlier = (t_s >= lobe.from_s - SWING_S) & (t_s < lobe.from_s)
    if earlier.sum() < 3:
        return False
    steps = np.minimum(np.diff(t_s[earlier], append=lobe.from_s), LONGEST_STEP_S)
    posed = (t_s >= lobe.from_s - POSE_S) & (t_s < lobe.from_s - SWING_S)
    pose = np.median(above_rest[posed], axis=0) if posed.sum() > 2 else np.zeros(above_rest.shape[1])
    had_mps = ((above_rest[earlier] - pose) * steps[:, None]).sum(axis=0)
    return bool(had_mps @ lobe.gained_mps < -UNDONE * (lobe.gained_mps**2).sum())


def _turns_round(recording: Recording, lobe: Lobe, up: Numbers) -> bool:
    """Return True for a lobe in which the model is turned far: who turns round with it feels it swing out."""
    rates = together(recording, RATES)
    if rates is None:
        return False
    within = (rates[0] >= lobe.from_s) & (rates[0] <= lobe.to_s)
    if within.sum() < 3:
        return False
    turned_rad = float(rates[1][within].mean(axis=0) @ up) * (lobe.to_s - lobe.from_s)
    return abs(turned_rad) > TURNED_RAD


def _from_hand(recording: Recording, lobe: Lobe, t_s: Numbers, force: Numbers) -> bool:
    speed = recording.channel("ground_speed_mps") or recording.channel("airspeed_mps")
    if speed is not None and np.interp(lobe.from_s, speed.t_s, speed.values) > SLOW_MPS:
        return False
    if lobe.from_s - t_s[0] < 0.5:
        return False
    after = (t_s >= lobe.to_s + LANDED_S[0]) & (t_s <= lobe.to_s + LANDED_S[1])
    if after.sum() < 3:
        return False
    later = blocks_of(t_s[after], force[after])
    return not later.t_s.size or bool((later.spread_mps2 > STILL_MPS2).any())


def _axis(vector: Numbers) -> str:
    at = int(np.argmax(np.abs(vector)))
    return ("" if vector[at] > 0.0 else "minus ") + "xyz"[at]


def _turned(recording: Recording, rotation: Numbers, up: Numbers, throw: Lobe) -> Recording:
    words = ", ".join(f"{where} is {_axis(row)}" for where, row in zip(WHERE, rotation, strict=True))
    channels = _taken(recording, FORCES, rotation)
    with_rates = _rates_turn_too(recording, rotation)
    if with_rates:
        channels |= _taken(recording, RATES, rotation)
    sentence = (
        f"The forces are along other axes: gravity is felt along {_axis(up)} at rest and the throw at "
        f"{throw.from_s:.2f} s goes along {_axis(throw.gained_mps)}. They were turned: {words} of the file"
        f"{'; the turn rates with them' if with_rates else ''}. Say the axes in the mapping if that is wrong."
    )
    return changed(recording, channels, [_told(recording, sentence, "watch")])


def _taken(recording: Recording, names: tuple[str, ...], rotation: Numbers) -> dict[str, Channel]:
    channels = {}
    for name, row in zip(names, rotation, strict=True):
        at = int(np.argmax(np.abs(row)))
        old = recording.channels[names[at]]
        values = old.values if row[at] > 0.0 else -old.values
        channels[name] = Channel(old.t_s, values, f"{old.source}; taken as {name}, {_axis(row)} of the file")
    return channels


def _rates_turn_too(recording: Recording, rotation: Numbers) -> bool:
    """Return True if the rates are along the axes of the forces: unless the angles say otherwise."""
    rates = together(recording, RATES)
    if rates is None:
        return False
    slopes = [_slope(recording, name, rates[0]) for name in ("bank_rad", "pitch_rad")]
    told = [slope for slope in slopes if slope is not None]
    if len(told) < 2:
        return True
    slopes_radps, seen = np.column_stack(told), rates[1]
    as_is = _correlation(slopes_radps, seen[:, :2])
    return as_is < RATES_TOLD or as_is < _correlation(slopes_radps, (seen @ rotation.T)[:, :2])


def _correlation(one: Numbers, other: Numbers) -> float:
    sizes = float((one**2).sum() * (other**2).sum())
    return float((one * other).sum()) / math.sqrt(sizes) if sizes > 0.0 else 0.0


def _slope(recording: Recording, name: str, t_s: Numbers) -> Numbers | None:
    channel = recording.channel(name)
    if channel is None or channel.t_s.size < 3:
        return None
    return np.interp(t_s, channel.t_s, np.gradient(channel.values, channel.t_s))


def _between(recording: Recording, quiet: Blocks) -> Recording:
    sentence = (
        f"At rest gravity lies between the axes, {_felt(quiet)}: the board may be turned. The forces are "
        f"taken as they stand."
    )
    return changed(recording, {}, [_told(recording, sentence, "watch")])


def _in_doubt(recording: Recording, quiet: Blocks, said: str) -> Recording:
    channels = {
        name: Channel(
            channel.t_s[:0], channel.values[:0], f"{channel.source}; left out, its axis is not known"
        )
        for name in (*FORCES, *RATES)
        if (channel := recording.channel(name)) is not None
    }
    sentence = (
        f"The axes of the forces are not known: {said}, {_felt(quiet)}. Forces and turn rates were left out. "
        f"Say in the mapping which column is forward, which right and which down."
    )
    return changed(recording, channels, [_told(recording, sentence, "stop")])


def _felt(quiet: Blocks) -> str:
    x, y, z = np.median(quiet.mean_mps2, axis=0)
    return f"({x:.1f}, {y:.1f}, {z:.1f}) m/s2"


def _told(recording: Recording, sentence: str, word: Word) -> Repair:
    samples = int(recording.channels[FORCES[0]].t_s.size)
    return Repair("axes", "", samples, sentence, word, recording.from_s, recording.to_s)
