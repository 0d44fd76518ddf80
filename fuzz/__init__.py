"""Coverage-guided fuzzing of every door through which a file or a text comes in. See README.md."""

from __future__ import annotations

# One file each in this folder, with `run`, `seeds`, and what else `door.Target` has; and which share of the
# time of a run of all it has: those that take long for one input have more.
TARGETS = {
    "api_bodies": 2,
    "bench_form": 2,
    "cleaning": 3,
    "field_notes": 1,
    "logbook_archive": 1,
    "logbook_rows": 2,
    "obstacles": 1,
    "propeller_file": 1,
    "readback_mapping": 2,
    "readback_report": 1,
    "readback_route": 1,
    "recording_csv": 3,
    "recording_gpx": 1,
    "recording_igc": 1,
    "recording_mapping": 2,
    "recording_nmea": 1,
    "recording_parquet": 2,
    "recording_phone": 1,
    "recording_tsv": 2,
    "review_answer": 1,
    "setup_yaml": 4,
    "sound_flac": 1,
    "sound_wav": 1,
}
