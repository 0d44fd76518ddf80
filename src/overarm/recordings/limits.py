"""How large a recording may be; beyond these it is something else, or would fill the memory."""

from __future__ import annotations

MOST_BYTES = 600_000_000
MOST_ROWS = 5_000_000
MOST_COLUMNS = 500
LONGEST_LINE = 100_000  # bytes
MOST_TRACK_BYTES = 60_000_000
MOST_POINTS = 400_000  # of a track
MOST_SETTINGS = 200  # comment lines of the form "# key: value"
LONGEST_SETTING = 300
LONGEST_NOTE = 500
MOST_NOTES = 10_000
MOST_TOLD = 20  # problems of one kind
MOST_BROKEN_SHARE = 0.2  # of the lines of a track; with more it is not to be trusted. Own estimate.
