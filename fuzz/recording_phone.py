"""Motion of a phone as its browser tells it, in CSV."""

from __future__ import annotations

from fuzz.door import given, hold_recording
from overarm.recordings.reading import opened

LONGEST = 2_048
WORDS = (
    b"timeStamp", b"interval", b"accelerationIncludingGravity.x", b"acceleration.x", b"rotationRate.alpha",
    b"rotationRate.beta", b"accelerationIncludingGravity.y", b"time_ms", b"-9.81", b"1e300", b"nan", b"\n",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return motions with and without gravity."""
    felt = b"timeStamp" + b"".join(b",accelerationIncludingGravity.%c" % axis for axis in b"xyz")
    turned = b",rotationRate.alpha,rotationRate.beta,rotationRate.gamma,interval\n"
    rows = b"".join(b"%d,%d,0.1,9.8,%d,2,3,16\n" % (16 * k, k % 5, k) for k in range(14))
    return [
        felt + b",interval\n1,2,3,4,16\n17,3,4,5,16\n",
        felt + turned + rows,
        felt.replace(b"IncludingGravity", b"") + b"\n0,0,0,0\n16,1,2,3\n32,1,2,9\n",
        (felt + turned + rows).replace(b",", b";"),
    ]


def run(data: bytes) -> None:
    """Read and clean it."""
    hold_recording(given(opened, data, "motion.csv"))
