"""The cards, in one place."""

from __future__ import annotations

from overarm.describe.airframe import Airframe, Board, Surfaces, Tail
from overarm.describe.card import Card
from overarm.describe.day import Day
from overarm.describe.line import Line, PullPoint
from overarm.describe.power import Power, PropellerSize, Reading
from overarm.describe.settings import PoseWindow, Settings
from overarm.describe.setup import SCHEMA_VERSION, Setup
from overarm.describe.site import LaunchPoint, Obstacle, Site
from overarm.describe.thrower import Thrower

__all__ = [
    "SCHEMA_VERSION", "Airframe", "Board", "Card", "Day", "LaunchPoint", "Line", "Obstacle", "PoseWindow",
    "Power", "PropellerSize", "PullPoint", "Reading", "Settings", "Setup", "Site", "Surfaces", "Tail",
    "Thrower",
]  # fmt: skip
