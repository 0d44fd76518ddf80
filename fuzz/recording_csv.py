"""A recording as a table of our own or of unknown columns, read and cleaned, in CSV."""

from __future__ import annotations

from fuzz.door import given, hold_recording
from overarm.recordings.reading import opened, read_recording

LONGEST = 2_048
WORDS = (
    b"time_s", b"time_utc", b"force_x_g", b"force_x_mps2", b"pitch_deg", b"pitch_rate_deg_s",
    b"throttle_pct", b"airspeed_mps", b"ground_speed_kmh", b"baro_height_m", b"volts_v", b"current_a",
    b"propeller_rpm", b"state", b"note", b"2026-05-01T10:00:00.25Z", b"+02:00", b"1e308", b"1e-320", b"nan",
    b"inf", b"-0.0", b'""', b"\r\n", b"\n\n", b"# rate: 50\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\x00", b";",
    b"\t", b"1,5",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return tables that are read."""
    unknown = b"clock,ax,ay,az,lat,lon,speed,alt,thr,vertical speed,pitch,gyro y\n" + b"".join(
        b"%d,1,2,%d,47.%d,8.%d,3,4,1500,%d,%d,3\n" % (k, k, k, k, k % 7, k) for k in range(12)
    )
    return [
        b"time_s,force_x_g,pitch_deg,note\n0,1,,hello\n0.1,,5,\n0.2,3,4,x\n",
        b"time_s,force_x_mps2,volts_v,state\n"
        + b"".join(b"%.2f,%d,12.%d,up\n" % (k / 50, k % 9, k) for k in range(20)),
        b"t;ax\n0;1,5\n1;2,5\n",
        (
            b"time_utc,ground_speed_kmh,state\n2026-05-01T10:00:00.25Z,36,up\n"
            b"2026-05-01 12:00:01+02:00,3.6,down\n"
        ),
        b"# rate: 50\n# label: throw\ntime_s,throttle_pct\n0,0\n0.02,40\n0.04,100\n",
        b'time_s,"volts_v",note\r\n0,1,"a ""b"", c"\r\n1,2,\r\n',
        unknown,
    ]


def run(data: bytes) -> None:
    """Read it as it was written, then cleaned."""
    hold_recording(given(read_recording, data, "log.csv"))
    hold_recording(given(opened, data, "log.csv"))
