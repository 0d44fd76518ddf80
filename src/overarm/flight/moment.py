"""The whole launch at one instant."""

from __future__ import annotations

from typing import NamedTuple

from overarm.flight.autopilot import Mind
from overarm.flight.drive import Drive
from overarm.physics.rigid_body import Body
from overarm.physics.surfaces import Servos


class Moment(NamedTuple):
    """Time, aeroplane, autopilot, servos and drive.

    ``thrown`` is 1 once the model left the hand or the ramp.
    """

    t_s: float
    body: Body
    mind: Mind
    servos: Servos
    drive: Drive
    thrown: float
