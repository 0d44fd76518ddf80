"""Collect the uncertain inputs of a setup and the rules by which they move the launch record."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from overarm.flight.draw import (
    RULE_ADD,
    RULE_AT_LEAST,
    RULE_RARELY_SCALE,
    RULE_RARELY_SET,
    RULE_SCALE,
    Input,
    Layer,
    Rule,
    Rules,
)
from overarm.flight.record import field_index
from overarm.rng import log_spread, normal_quantile


class Measured(Protocol):
    """A value with its spread (one standard deviation, SI)."""

    @property
    def value(self) -> float:
        """The central value."""

    @property
    def spread(self) -> float:
        """One standard deviation."""

    @property
    def kind(self) -> str:
        """``lognormal`` or ``normal``."""


@dataclass(frozen=True, slots=True)
class Computed:
    """A factor of one that stands for a computed figure; ``spread`` is about that of its logarithm."""

    spread: float
    value: float = 1.0
    kind: str = "lognormal"


class RuleBook:
    """Builds `Rules`; one method a kind of input."""

    def __init__(self) -> None:
        self._inputs: list[Input] = []
        self._rules: list[Rule] = []

    def _input(self, name: str, layer: Layer) -> int:
        self._inputs.append(Input(name, layer))
        return len(self._inputs) - 1

    def _rule(self, index: int, field: str, kind: int, a: float, b: float = 0.0) -> None:
        self._rules.append(Rule(index, field_index(field), kind, a, b))

    def quantity(self, name: str, item: Measured, *fields: str) -> None:
        """A quantity that we do not know exactly moves one or more fields together.

        A lognormal quantity scales the fields; a normal one is added to them.
        """
        if item.spread <= 0.0:
            return
        index = self._input(name, "unknown")
        for field in fields:
            if item.kind == "lognormal" and item.value > 0.0:
                self._rule(index, field, RULE_SCALE, log_spread(item.value, item.spread))
            else:
                self._rule(index, field, RULE_ADD, item.spread)

    def offset(self, name: str, layer: Layer, field: str, spread: float) -> None:
        """Something known to scatter about the central value by ``spread`` (SI)."""
        if spread > 0.0:
            self._rule(self._input(name, layer), field, RULE_ADD, spread)

    def factor(self, name: str, layer: Layer, field: str, log_sd: float) -> None:
        """Something positive that scatters by a factor."""
        if log_sd > 0.0:
            self._rule(self._input(name, layer), field, RULE_SCALE, log_sd)

    def inverse_factor(self, name: str, item: Measured, field: str) -> None:
        """A positive quantity whose growth shrinks the field in proportion."""
        if item.spread > 0.0:
            index = self._input(name, "unknown")
            self._rule(index, field, RULE_SCALE, -log_spread(item.value, item.spread))

    def pair(
        self, names: tuple[str, str], fields: tuple[str, str], spreads: tuple[float, float], rho: float
    ) -> None:
        """Two things that vary together from throw to throw with a correlation."""
        first = self._input(names[0], "varies")
        second = self._input(names[1], "varies")
        self._rule(first, fields[0], RULE_ADD, spreads[0])
        self._rule(first, fields[1], RULE_ADD, spreads[1] * rho)
        self._rule(second, fields[1], RULE_ADD, spreads[1] * math.sqrt(1.0 - rho * rho))

    def rarely(self, name: str, field: str, share: float, value: float, *, scale: bool) -> None:
        """Something that happens in a share of the launches: scale the field, or set it."""
        if share > 0.0:
            kind = RULE_RARELY_SCALE if scale else RULE_RARELY_SET
            self._rule(self._input(name, "varies"), field, kind, float(normal_quantile(share)), value)

    def at_least(self, field: str, least: float) -> None:
        """Keep a field from falling below what the physics can mean; goes with the last input."""
        self._rule(len(self._inputs) - 1, field, RULE_AT_LEAST, least)

    def rules(self) -> Rules:
        """Return the rules, in the order in which they were added."""
        return Rules.of(self._inputs, self._rules)
