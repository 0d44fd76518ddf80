"""Times of day that follow each other, past midnight too, as seconds from the first."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

DAY_S = 86_400.0


class DayClock:
    """Turns times of day into seconds from the first one; a step back by half a day is the next day."""

    def __init__(self) -> None:
        self.first_s: float | None = None
        self._last_s = 0.0
        self._days = 0

    def at(self, moment: time, more_s: float = 0.0) -> float:
        """Return the seconds from the first time; ``more_s`` is added to the time of day."""
        of_day = moment.hour * 3600 + moment.minute * 60 + moment.second + moment.microsecond * 1e-6 + more_s
        if self.first_s is None:
            self.first_s = self._last_s = of_day
        if of_day - self._last_s < -0.5 * DAY_S:
            self._days += 1
        elif of_day - self._last_s > 0.5 * DAY_S and self._days:
            self._days -= 1
        self._last_s = of_day
        return round(self._days * DAY_S + of_day - self.first_s, 6)

    def start_utc(self, day: date | None) -> str:
        """Return the moment of the first time in ISO 8601; "" if the day is not known."""
        if day is None or self.first_s is None:
            return ""
        start = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(seconds=self.first_s)
        return start.isoformat(timespec="milliseconds").replace("+00:00", "Z")
