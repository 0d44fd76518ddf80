"""Findings on a setup: every single check, and the one that looks at all of them together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from overarm.odds.checks import SINGLE
from overarm.odds.facts import Facts
from overarm.odds.finding import Finding
from overarm.odds.race import race_finding

if TYPE_CHECKING:
    from overarm.describe.cards import Setup
    from overarm.describe.derived import Derived


def findings_of(facts: Facts) -> tuple[Finding, ...]:
    """Return the findings on the figures of a setup: the race first, then the single checks."""
    return (race_finding(facts), *(check(facts) for check in SINGLE))


def findings(setup: Setup, derived: Derived) -> tuple[Finding, ...]:
    """Return the findings on a setup and its derived figures."""
    from overarm.odds.gather import gather_facts

    return findings_of(gather_facts(setup, derived))


def has_stop(found: tuple[Finding, ...]) -> bool:
    """Return True if one finding says stop."""
    return any(item.word == "stop" for item in found)
