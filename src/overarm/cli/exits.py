"""The exit codes that say more than that there is an answer, which is 0."""

from __future__ import annotations

BAD_INPUT_EXIT = 2
STOP_EXIT = 3  # also: a trap, or something that differs
CANCELLED_EXIT = 130
