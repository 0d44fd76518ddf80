"""Motion of a phone that the browser is made to feel, through its debugging protocol.

The phone lies as the rehearsal asks: top edge forward along the nose, screen up. So its y is body forward,
and at rest z reads +9.81 (W3C, "Device Orientation and Motion", section on DeviceMotionEvent).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from playwright.sync_api import CDPSession, Page

G_MPS2 = 9.80665
STEP_S = 0.008  # finer than the events of the browser, which come at 60 Hz
KINDS = ("accelerometer", "linear-acceleration", "gyroscope")
STEP_HZ, STEP_MPS2 = 1.9, 1.5

Forward = Callable[[float], float]


class Phone:
    """The sensors of one page."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.wire: CDPSession = page.context.new_cdp_session(page)
        for kind in KINDS:
            metadata = {"available": True, "minimumFrequency": 1, "maximumFrequency": 100}
            self.wire.send(
                "Emulation.setSensorOverrideEnabled", {"enabled": True, "type": kind, "metadata": metadata}
            )
        self.feel(0.0)

    def feel(self, forward_mps2: float) -> None:
        """Feel this acceleration along the nose, on top of gravity."""
        for kind, xyz in (
            ("linear-acceleration", (0.0, forward_mps2, 0.0)),
            ("gyroscope", (0.0, 0.0, 0.0)),
            ("accelerometer", (0.0, forward_mps2, G_MPS2)),
        ):
            reading = {"xyz": dict(zip("xyz", xyz, strict=True))}
            self.wire.send("Emulation.setSensorOverrideReadings", {"type": kind, "reading": reading})

    def move(self, seconds: float, forward: Forward) -> None:
        """Feel a movement that is given over its time [s]."""
        began = time.monotonic()
        while (now := time.monotonic() - began) < seconds:
            self.feel(forward(now))
            time.sleep(STEP_S)
        self.feel(0.0)

    def until(self, phase: str) -> None:
        """Hold still until the countdown has come so far; the page must keep being fed."""
        while self.page.locator(f".count[data-phase={phase}]").count() == 0:
            self.move(0.05, lambda _now: 0.0)


def throw(now_s: float, speed_mps: float = 8.0, lasts_s: float = 0.3) -> float:
    """Return the force [m/s2] of a stroke after 0.4 s, half a sine that gives a speed, and of its stop."""
    since = now_s - 0.4
    if 0.0 <= since < lasts_s:
        return 0.5 * math.pi * speed_mps / lasts_s * math.sin(math.pi * since / lasts_s)
    return -speed_mps / 0.5 if lasts_s <= since < lasts_s + 0.5 else 0.0


def walk(now_s: float) -> float:
    """Return the force [m/s2] of a calm walk: steps as a sine."""
    return STEP_MPS2 * math.sin(2.0 * math.pi * STEP_HZ * now_s)
