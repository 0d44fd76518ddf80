"""Made-up launches for the tests of the pictures: a point mass with a throttle, nothing more.

The numbers are of the right size for a 1.6 kg flying wing; they are no prediction.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from overarm.odds.intervals import Interval
from overarm.sheets.carpet import CarpetData, rows_of
from overarm.sheets.chain import ChainData, Link
from overarm.sheets.content import Answer, Odds, Remark, Trail, sheet_content
from overarm.sheets.evidence import blade_data, fan_data, race_data, strip_data
from overarm.sheets.fan import Obstacle
from overarm.sheets.pictures import PictureData
from overarm.sheets.subject import Settings, Subject

COLUMNS = (
    "t_s", "x_m", "y_m", "height_m", "airspeed_mps", "groundspeed_mps", "pitch_rad", "bank_rad", "alpha_rad",
    "felt_mps2", "throttle", "rpm", "tip_mps", "thrust_n", "drag_n", "volts_v", "current_a", "elevator_rad",
    "aileron_rad", "speed_ratio", "state", "hand_gap_m",
)  # fmt: skip
MASS_KG, AREA_M2, STALL_MPS, FULL_N, TIP_MPS = 1.6, 0.42, 7.81, 15.4, 150.0
G = 9.80665
LISTENING, WAITING, RISING, CLIMBING, HANDED_OVER = 1.0, 2.0, 3.0, 4.0, 5.0


def launch(
    speed_mps: float,
    headwind_mps: float,
    rise_per_s: float = 2.0,
    wait_s: float = 0.6,
    handover_m: float = 35.0,
) -> dict[str, NDArray[np.float64]]:
    """Return one launch in the columns of a trace: carry, throw at 1.5 s, flight."""
    step, t, v, gamma, x, h, throttle = 0.01, 0.0, 0.0, np.radians(8.0), 0.0, 1.9, 0.0
    stroke_s = 2 * 1.2 / speed_mps
    throw, detected = 1.5, 1.5 + 0.5 * stroke_s
    release = throw + stroke_s
    rows = []
    while t < 25.0 and h > 0.0 and h < handover_m:
        since = t - detected
        state = LISTENING if since < 0 else WAITING if since < wait_s else RISING
        if since >= wait_s:
            throttle = min(0.95, rise_per_s * (since - wait_s))
            state = CLIMBING if throttle >= 0.95 else RISING
        thrust, drag = FULL_N * throttle**1.75 * max(0.0, 1 - v / 25.0), 0.0
        felt = 1.2 + 2.0 * np.sin(2 * np.pi * 1.9 * t)
        if throw <= t < release:
            felt = 0.5 * np.pi * speed_mps / stroke_s * np.sin(np.pi * (t - throw) / stroke_s)
            v = 0.5 * speed_mps * (1 - np.cos(np.pi * (t - throw) / stroke_s)) + headwind_mps
        elif t >= release:
            q = 0.5 * 1.225 * v * v * AREA_M2
            wanted = MASS_KG * G / max(q, 1.0)
            lift_coefficient = min(wanted * (1 + 2.0 * (np.radians(9.0) - gamma)), 1.0)
            drag = q * (0.036 + 0.094 * lift_coefficient**2)
            v += step * ((thrust - drag) / MASS_KG - G * np.sin(gamma))
            gamma += step * (q * lift_coefficient / MASS_KG - G * np.cos(gamma)) / max(v, 2.0)
            v = max(v, 2.0)
            x += step * (v * np.cos(gamma) - headwind_mps)
            h += step * v * np.sin(gamma)
            felt = (thrust - drag) / MASS_KG
        ratio, tip = v / STALL_MPS, TIP_MPS * throttle**0.8
        rows.append(
            (t, x, 0.0, h, v, v - headwind_mps, gamma + 0.1, 0.02, 0.1, felt, throttle,
             tip * 60 / (np.pi * 0.2286), tip, thrust, drag, 16.0, 20 * throttle, 0.0, 0.0, ratio, state,
             max(0.0, (t - release) * 2.0))
        )  # fmt: skip
        t += step
    if h >= handover_m:
        rows[-1] = (*rows[-1][:20], HANDED_OVER, rows[-1][21])
    table = np.array(rows)
    return {name: table[:, k].copy() for k, name in enumerate(COLUMNS)}


def launches(
    count: int, mean_mps: float, headwind_mps: float, **settings: float
) -> list[dict[str, NDArray[np.float64]]]:
    """Return launches with a spread of throw speeds and winds, the same each time."""
    rng = np.random.default_rng(7)
    return [
        launch(mean_mps + 0.8 * rng.standard_normal(), headwind_mps + 0.8 * rng.standard_normal(), **settings)
        for _ in range(count)
    ]


SUMMARY = [
    ("outcome", "u1"), ("world", "i4"), ("detection_s", "f8"), ("release_s", "f8"), ("first_spin_s", "f8"),
    ("clear_s", "f8"), ("thrust_match_s", "f8"), ("low_point_s", "f8"), ("handover_s", "f8"),
    ("release_speed_mps", "f8"), ("release_airspeed_mps", "f8"), ("live_s", "f8"), ("low_point_m", "f8"),
    ("low_speed_ratio", "f8"), ("end_s", "f8"), ("headwind_mps", "f8"), ("reach_tip_mps", "f8"),
]  # fmt: skip


def table_of(traces: list[dict[str, NDArray[np.float64]]]) -> NDArray[np.void]:
    """Return one row of events a launch; outcome 0 clean, 10 grounded, 12 dipped."""
    rng = np.random.default_rng(11)
    out = np.zeros(len(traces), SUMMARY)
    for row, trace in zip(out, traces, strict=True):
        t, height, state = trace["t_s"], trace["height_m"], trace["state"]
        flying = trace["hand_gap_m"] > 0
        row["detection_s"] = t[np.argmax(state >= WAITING)]
        row["release_s"] = t[np.argmax(flying)]
        row["clear_s"] = row["release_s"] + 0.14 * np.exp(0.2 * rng.standard_normal())
        row["first_spin_s"] = t[np.argmax(trace["throttle"] > 0.02)]
        row["thrust_match_s"] = t[np.argmax(trace["throttle"] > 0.6)]
        row["low_point_m"] = height[flying].min()
        row["release_airspeed_mps"] = trace["airspeed_mps"][np.argmax(flying)]
        row["end_s"] = t[-1]
        row["handover_s"] = t[-1] if height[-1] > 30 else -1.0
        row["low_speed_ratio"] = trace["speed_ratio"][flying].min()
        row["outcome"] = 10 if height[-1] < 1 else 12 if row["low_point_m"] < 0.7 else 0
    return out


@dataclasses.dataclass(frozen=True)
class Made:
    """A made-up setup with launches, pictures and words."""

    subject: Subject
    table: NDArray[np.void]
    traces: list[dict[str, NDArray[np.float64]]]
    data: PictureData
    content: dict[str, Any]


def subject_of(
    *, name: str = "Kestrel-sized wing", rise_per_s: float = 2.0, wind_mps: float = 4.0
) -> Subject:
    settings = Settings(
        jerk_level_mps2=8.0, jerk_dwell_s=0.1, jerks=1, start_wait_s=0.6, throttle_rise_per_s=rise_per_s,
        launch_ceiling=0.95, cruise_ceiling=0.65, climb_pitch_rad=math.radians(15), handover_height_m=35.0,
        give_up_s=6.0, home_height_m=60.0, home_circle_m=40.0,
    )  # fmt: skip
    return Subject(
        name=name, style="throw-started", settings=settings,
        airframe_words="Flying wing, 1.60 kg, 1.35 m span, 0.42 m²; stalls at 7.8 m/s",
        power_words="9x6 in pusher; 4 cells, 4.0 Ah; full pull 15.4 N",
        launch_words="Tall club flyer, right arm, overarm with a step",
        site_words="Stubble field; wind 4.0 m/s at 10 m, from ahead", balance_words="203 mm behind the root",
        propeller_words="9x6 in", pusher=True, mass_kg=MASS_KG, cells=4, pack_volts=16.2,
        stall_speed_mps=STALL_MPS, full_thrust_n=FULL_N, thrust_exponent=1.75, start_delay_s=0.15,
        joules_per_mps2=67.0 / TIP_MPS**2,
        speed_mean_mps=8.4, speed_sd_mps=0.8, release_height_m=1.9, wind_10m_mps=wind_mps, wind_sd_mps=0.8,
        wind_angle_rad=0.0, roughness_m=0.03,
        obstacles=(Obstacle("hedge", 80.0, 6.0), Obstacle("trees", 140.0, 15.0)),
    )  # fmt: skip


def carpet_of(subject: Subject, worse_mps: float = 0.0) -> CarpetData:
    winds = np.array([-1.0, 0.0, 1.0, 2.0, 3.0, 4.0, 6.0])
    speeds = rows_of(subject.speed_mean_mps, subject.speed_sd_mps)
    share = 1.0 / (1.0 + np.exp(-(speeds[:, None] + 0.9 * winds - 8.3 - worse_mps) * 2.2))
    return CarpetData(
        speeds,
        winds,
        share,
        subject.speed_mean_mps,
        subject.speed_sd_mps,
        subject.headwind_mps,
        0.6,
        "throw speed",
    )


def made(*, good: bool = True, name: str = "Kestrel-sized wing", count: int = 40, stop: str = "") -> Made:
    """Return a good launch, or one whose throttle rises far too slowly in little wind."""
    rise, wind = (2.0, 4.0) if good else (0.25, 1.5)
    subject = subject_of(name=name, rise_per_s=rise, wind_mps=wind)
    traces = launches(count, 8.6, subject.headwind_mps, rise_per_s=rise)
    table = table_of(traces)
    race = race_data(subject, table, traces)
    shares = (
        ("start", 0.99),
        ("clear", 0.999),
        ("speed", 0.95),
        ("thrust", 0.82 if good else 0.5),
        ("roll", 0.97),
    )
    chain = ChainData(
        tuple(Link(name, share, f"{100 * share:.0f} %") for name, share in shares),
        "Thrust arriving in time is the weakest link.",
    )
    carpet = carpet_of(subject, 0.0 if good else 3.2)
    odds = Odds(
        Interval(0.91, 0.84, 0.95) if good else Interval(0.45, 0.39, 0.52),
        13,
        41,
        (("dipped", 0.05), ("grounded", 0.03)),
    )
    remarks = [
        Remark("watch", "Climb pitch is near its limit."),
        Remark("not known", "Start delay was not measured."),
    ]
    if stop:
        remarks.append(Remark("stop", stop))
    trail = Trail("0.1.0", "9f2c4a7be1d0aa55", 1, 10_000, "25 November 2026")
    data = PictureData(
        fan_data(subject, traces), race, carpet, blade_data(subject, table, traces),
        strip_data(subject, traces, [int(o) for o in table["outcome"]]), chain,
    )  # fmt: skip
    content = sheet_content(subject, Answer(odds, trail, remarks), data)
    return Made(subject, table, traces, data, content)
