"""How odds are written: whole percent, between 1 and 99 unless the launches back more.

The rule: the share is rounded to whole percent and kept within 1 and 99. Only if the lower end of
its 95 % interval lies above 99 % it is written ">99 %" (with no failure that takes about 400
launches that are independent of each other, in line with the rule of three); only if the upper end
lies below 1 % it is written "<1 %". The ends of the interval obey the same rule.
"""

from __future__ import annotations

import math

from overarm.odds.intervals import Interval

LOWEST, HIGHEST = 1, 99
ALMOST_ALL, ALMOST_NONE = 0.99, 0.01


def whole_percent(share: float) -> str:
    """Return a share in whole percent, kept within 1 and 99."""
    return str(min(max(round(100.0 * share), LOWEST), HIGHEST))


def percent(odds: Interval) -> str:
    """Return the share in words, such as "91 %", ">99 %" or "<1 %"."""
    if odds.low > ALMOST_ALL:
        return f">{HIGHEST} %"
    if odds.high < ALMOST_NONE:
        return f"<{LOWEST} %"
    return f"{whole_percent(odds.share)} %"


def with_interval(odds: Interval) -> str:
    """Return the share and its interval, such as "91 % (84 to 95)"."""
    if odds.low > ALMOST_ALL:
        return f"{percent(odds)} (at least {math.floor(1000.0 * odds.low) / 10.0:.1f})"
    if odds.high < ALMOST_NONE:
        return f"{percent(odds)} (at most {math.ceil(1000.0 * odds.high) / 10.0:.1f})"
    low, high = whole_percent(odds.low), whole_percent(odds.high)
    return (
        f"{percent(odds)} ({low} to {high})" if low != high else f"{percent(odds)} (give or take less than 1)"
    )


def plain_percent(share: float) -> str:
    """Return a counted share in percent: "0 %", "0.4 %", "12 %", "99.6 %", "100 %"; no claim beyond it."""
    value = 100.0 * share
    if value in (0.0, 100.0) or 1.0 <= value <= 99.0:
        return f"{value:.0f} %"
    return f"{min(max(value, 0.01), 99.99):.2g} %" if value < 1.0 else f"{min(value, 99.99):.2f} %"


def signed_points(points: float) -> str:
    """Return a change in points of percent with its sign: "+8.3", "-0.4", "0.0"; never "-0.0"."""
    text = f"{points:+.1f}"
    return "0.0" if float(text) == 0.0 else text
