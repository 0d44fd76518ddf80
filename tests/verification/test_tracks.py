"""Tracks against the examples of their standards: NMEA 0183, FAI IGC, GPX 1.0 and 1.1, W3C motion.

Distances against the examples of GeographicLib (Karney, doi 10.1007/s00190-012-0578-z).
"""

from __future__ import annotations

import math
from functools import reduce
from pathlib import Path

import numpy as np
import pytest

from overarm.errors import InputError
from overarm.recordings.reading import read_recording
from overarm.recordings.recording import Recording

# The common examples of NMEA 0183; their checksums are 47, 6A, 48 and 1D.
GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
VTG = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"
GLL = "$GPGLL,4916.45,N,12311.12,W,225444,A,*1D"
# The B record of the FAI specification, Appendix A.
B = "B1602405407121N00249342WA0028000421"
HEAD = "AXXX001\nHFDTE010726\n"
GPX_11 = '<?xml version="1.0"?><gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">'


def read(folder: Path, text: str, name: str) -> Recording:
    file = folder / name
    file.write_text(text, "utf-8")
    return read_recording(file)


def summed(sentence: str) -> str:
    """Return a sentence with its checksum: the exclusive or of all between $ and * (NMEA 0183)."""
    return f"${sentence}*{reduce(lambda a, b: a ^ ord(b), sentence, 0):02X}"


def only(recording: Recording, name: str) -> float:
    (value,) = recording.channels[name].values
    return float(value)


def test_the_checksum_of_the_tests() -> None:
    for sentence in (GGA, RMC, VTG, GLL):
        assert summed(sentence[1:-3]) == sentence


def test_nmea_gga_and_rmc(tmp_path: Path) -> None:
    """48 deg 07.038' N, 11 deg 31.000' E, 545.4 m, 22.4 kt over 084.4 deg, 23 March 1994."""
    found = read(tmp_path, f"{GGA}\r\n{RMC}\r\n", "log.txt")
    assert found.form == "NMEA"
    assert found.start_utc == "1994-03-23T12:35:19.000Z"
    assert math.degrees(only(found, "latitude_rad")) == pytest.approx(48 + 7.038 / 60, abs=1e-12)
    assert math.degrees(only(found, "longitude_rad")) == pytest.approx(11 + 31 / 60, abs=1e-12)
    assert only(found, "satellite_height_m") == 545.4
    assert only(found, "ground_speed_mps") == pytest.approx(22.4 * 1852 / 3600, rel=1e-12)
    assert math.degrees(only(found, "course_rad")) == pytest.approx(84.4)


def test_nmea_vtg_belongs_to_the_fix_before(tmp_path: Path) -> None:
    found = read(tmp_path, f"{GGA}\n{VTG}\n", "log.nmea")
    assert only(found, "ground_speed_mps") == pytest.approx(10.2 / 3.6)
    assert math.degrees(only(found, "course_rad")) == pytest.approx(54.7)


def test_nmea_gll_west(tmp_path: Path) -> None:
    found = read(tmp_path, GLL, "log.nmea")
    assert math.degrees(only(found, "latitude_rad")) == pytest.approx(49 + 16.45 / 60)
    assert math.degrees(only(found, "longitude_rad")) == pytest.approx(-(123 + 11.12 / 60))
    assert found.start_utc == ""


def test_nmea_over_midnight_with_parts_of_seconds(tmp_path: Path) -> None:
    times = ("235959.80", "000000.00", "000000.20")
    lines = [summed(f"GNRMC,{t},A,4807.038,N,01131.000,E,10.0,90.0,311226,,,A") for t in times]
    found = read(tmp_path, "\n".join(lines), "log.nmea")
    assert found.channels["latitude_rad"].t_s.tolist() == pytest.approx([0.0, 0.2, 0.4])
    assert found.start_utc == "2026-12-31T23:59:59.800Z"


def test_nmea_leaves_out_and_counts_wrong_sums_and_missing_fixes(tmp_path: Path) -> None:
    wrong = GGA.replace("545.4", "945.4")
    none = summed("GPGGA,123520,,,,,0,00,,,M,,M,,")
    found = read(tmp_path, "\n".join([*[RMC] * 9, wrong, none]), "log.nmea")
    assert "satellite_height_m" not in found.channels
    assert found.settings["checksum errors"] == "1 of 11 sentences"
    assert found.settings["broken lines"] == "1 of 11, the first on line 10"
    assert found.settings["sentences without a fix"] == "1 of 11"


def test_nmea_with_most_sums_wrong_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"log.nmea:1: has a wrong checksum"):
        read(tmp_path, "\n".join([GGA.replace("545.4", "945.4")] * 3), "log.nmea")


def test_igc_b_record_of_the_specification(tmp_path: Path) -> None:
    """16:02:40 UTC, 54 deg 07.121' N, 002 deg 49.342' W, valid, 280 m by pressure, 421 m by satellite."""
    found = read(tmp_path, f"{HEAD}{B}\n", "log.igc")
    assert found.start_utc == "2026-07-01T16:02:40.000Z"
    assert math.degrees(only(found, "latitude_rad")) == pytest.approx(54 + 7.121 / 60, abs=1e-12)
    assert math.degrees(only(found, "longitude_rad")) == pytest.approx(-(2 + 49.342 / 60), abs=1e-12)
    assert only(found, "baro_height_m") == 280.0
    assert only(found, "satellite_height_m") == 421.0


def test_igc_is_known_by_what_it_begins_with(tmp_path: Path) -> None:
    assert read(tmp_path, f"{HEAD}{B}\n", "log.txt").form == "IGC"


def test_igc_without_a_third_dimension_has_no_height_by_satellite(tmp_path: Path) -> None:
    found = read(tmp_path, f"{HEAD}{B}\n{B.replace('WA', 'WV').replace('B160240', 'B160241')}\n", "log.igc")
    assert found.channels["satellite_height_m"].t_s.tolist() == [0.0]
    assert found.channels["baro_height_m"].t_s.tolist() == [0.0, 1.0]


def test_igc_speed_of_extensions_and_events(tmp_path: Path) -> None:
    """GSP in km/h and TRT in degrees; figures after the third are decimals (from memory)."""
    text = f"{HEAD}I033639GSP4042TRT4343TDS\n{B}03601805\nE160241PEV\n"
    found = read(tmp_path, text, "log.igc")
    assert only(found, "ground_speed_mps") == pytest.approx(10.0)
    assert math.degrees(only(found, "course_rad")) == pytest.approx(180.0)
    assert [(note.t_s, note.text) for note in found.notes] == [(0.5, "PEV")]


def test_speed_from_positions(tmp_path: Path) -> None:
    """A degree of latitude from 45 deg on is 111 141.548 m; of longitude at the equator 111 319.491 m."""
    north = [f"B16024{s}4500000N00900000EA0000000000" for s in "0"]
    north.append("B1602414500060N00900000EA0000000000")
    found = read(tmp_path, HEAD + "\n".join(north), "log.igc")
    assert only(found, "ground_speed_mps") == pytest.approx(111_141.548 * 0.001, rel=1e-4)
    assert only(found, "course_rad") == pytest.approx(0.0)
    assert found.channels["ground_speed_mps"].t_s.tolist() == [0.5]
    east = ["B1602400000000N00900000EA0000000000", "B1602410000000N00900060EA0000000000"]
    found = read(tmp_path, HEAD + "\n".join(east), "log.igc")
    assert only(found, "ground_speed_mps") == pytest.approx(111_319.491 * 0.001, rel=1e-6)
    assert only(found, "course_rad") == pytest.approx(math.pi / 2)


def test_igc_over_midnight(tmp_path: Path) -> None:
    found = read(
        tmp_path, HEAD + B.replace("160240", "235959") + "\n" + B.replace("160240", "000001"), "a.igc"
    )
    assert found.channels["latitude_rad"].t_s.tolist() == [0.0, 2.0]


def point(lat: float, lon: float, second: float, more: str = "") -> str:
    when = f"<ele>{500 + second}</ele><time>2026-05-01T10:00:{second:05.2f}Z</time>"
    return f'<trkpt lat="{lat}" lon="{lon}">{when}{more}</trkpt>'


def test_gpx(tmp_path: Path) -> None:
    """GPX 1.1: degrees of WGS 84, metres, ISO 8601 in UTC."""
    points = point(47.0, 8.0, 0) + point(47.5, -8.25, 0.5)
    found = read(tmp_path, f"{GPX_11}<trk><trkseg>{points}</trkseg></trk></gpx>", "log.xml")
    assert found.form == "GPX"
    assert found.start_utc == "2026-05-01T10:00:00.000Z"
    assert np.degrees(found.channels["latitude_rad"].values).tolist() == pytest.approx([47.0, 47.5])
    assert np.degrees(found.channels["longitude_rad"].values).tolist() == pytest.approx([8.0, -8.25])
    assert found.channels["satellite_height_m"].values.tolist() == [500.0, 500.5]
    assert found.channels["latitude_rad"].t_s.tolist() == [0.0, 0.5]


def test_gpx_in_utf_16_and_on_one_long_line(tmp_path: Path) -> None:
    """XML 1.0, section 4.3.3: an entity in UTF-16 begins with its mark."""
    points = "".join(point(47, 8, 0.02 * k) for k in range(2000))
    head = GPX_11.replace("?>", ' encoding="UTF-16"?>', 1)
    file = tmp_path / "log.gpx"
    file.write_bytes(f"{head}<trk><name>Höhe</name><trkseg>{points}</trkseg></trk></gpx>".encode("utf-16"))
    assert read_recording(file).channels["latitude_rad"].t_s.size == 2000


def test_gpx_segments_are_breaks(tmp_path: Path) -> None:
    one, two = point(47, 8, 0) + point(47, 8, 1), point(47, 8, 5) + point(47, 8, 6)
    text = f"{GPX_11}<trk><trkseg>{one}</trkseg><trkseg>{two}</trkseg></trk></gpx>"
    found = read(tmp_path, text, "log.gpx")
    assert found.breaks_s == (3.0,)
    assert found.channels["ground_speed_mps"].t_s.tolist() == [0.5, 5.5]


def test_gpx_speed_and_course(tmp_path: Path) -> None:
    """GPX 1.0 has them as elements, 1.1 in extensions; m/s and degrees."""
    more = "<speed>11.5</speed><course>84</course>"
    old = GPX_11.replace("1.1", "1.0").replace("GPX/1/1", "GPX/1/0")
    for head, tail in ((old, more), (GPX_11, f"<extensions>{more}</extensions>")):
        text = f"{head}<trk><trkseg>{point(47, 8, 0, tail)}</trkseg></trk></gpx>"
        found = read(tmp_path, text, "log.gpx")
        assert only(found, "ground_speed_mps") == 11.5
        assert math.degrees(only(found, "course_rad")) == pytest.approx(84.0)


MOTION = (
    "timeStamp,acceleration.x,acceleration.y,acceleration.z,accelerationIncludingGravity.x,"
    "accelerationIncludingGravity.y,accelerationIncludingGravity.z,"
    "rotationRate.alpha,rotationRate.beta,rotationRate.gamma,interval\n"
)


def motion(x: float, y: float, z: float, turn: tuple[float, float, float] = (0, 0, 0)) -> str:
    alpha, beta, gamma = turn
    return MOTION + "".join(f"{16 * k},0,0,0,{x},{y},{z},{alpha},{beta},{gamma},16\n" for k in range(40))


def middle(recording: Recording, name: str) -> float:
    return float(np.median(recording.channels[name].values))


def test_a_phone_flat_on_the_body(tmp_path: Path) -> None:
    """W3C Device Orientation and Motion: flat, screen up, at rest (0, 0, 9.81); ISO 1151: (0, 0, -9.81)."""
    found = read(tmp_path, motion(0, 0, 9.81), "phone.csv")
    assert found.form == "phone"
    assert [middle(found, f"force_{axis}_mps2") for axis in "xyz"] == pytest.approx([0.0, 0.0, -9.81])
    assert found.channels["force_x_mps2"].rate_hz == pytest.approx(62.5)
    assert found.gravity_felt


def test_a_phone_tipped_nose_up(tmp_path: Path) -> None:
    """By 30 degrees about its x: the top edge rises, so its y feels g sin 30; so does body forward."""
    g, tilt = 9.81, math.radians(30)
    found = read(tmp_path, motion(0, g * math.sin(tilt), g * math.cos(tilt)), "phone.csv")
    assert middle(found, "force_x_mps2") == pytest.approx(g * math.sin(tilt))
    assert middle(found, "force_z_mps2") == pytest.approx(-g * math.cos(tilt))


def test_a_phone_that_turns(tmp_path: Path) -> None:
    """Right-handed about x, y, z: x lifts the top edge (nose up), y the left edge (right wing down), z turns
    to the left seen from above (nose left)."""
    found = read(tmp_path, motion(0, 0, 9.81, (10, 20, 30)), "phone.csv")
    rates = [middle(found, f"{name}_rate_radps") for name in ("pitch", "roll", "yaw")]
    assert np.degrees(rates).tolist() == pytest.approx([10.0, 20.0, -30.0])


def test_a_platform_with_all_signs_turned(tmp_path: Path) -> None:
    found = read(tmp_path, motion(-1.0, -2.0, -9.81), "phone.csv")
    assert [middle(found, f"force_{axis}_mps2") for axis in "xyz"] == pytest.approx([2.0, 1.0, -9.81])
    assert "turned on all axes" in found.settings["sign of gravity"]


def test_phone_names_with_underscores_and_seconds(tmp_path: Path) -> None:
    rows = "".join(f"{0.016 * k:.3f},0,1,9.81,16\n" for k in range(20))
    heads = (
        "time_s," + ",".join(f"acceleration_including_gravity_{axis}" for axis in "xyz") + ",interval_ms\n"
    )
    found = read(tmp_path, heads + rows, "phone.csv")
    assert found.channels["force_x_mps2"].rate_hz == pytest.approx(62.5)


def test_phone_without_gravity_and_without_times(tmp_path: Path) -> None:
    rows = "0,1,0,20\n" * 5
    found = read(tmp_path, "acceleration.x,acceleration.y,acceleration.z,interval\n" + rows, "phone.csv")
    assert not found.gravity_felt
    assert found.channels["force_x_mps2"].t_s.tolist() == pytest.approx([0.0, 0.02, 0.04, 0.06, 0.08])
