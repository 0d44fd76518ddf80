"""Where the inputs of a setup were written, so that what is found later can still point there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

from overarm.errors import InputError, Problem

if TYPE_CHECKING:
    from overarm.describe.setup import Setup


class Place(NamedTuple):
    """Where something stands in a file; line and column from 1, 0 if unknown."""

    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Origin:
    """The file of a setup and the place of each value by its path; setups that differ in it are equal."""

    file: str = field(default="", compare=False)
    places: Mapping[str, Place] = field(default_factory=dict, compare=False)

    def place_of(self, key: str) -> Place | None:
        """Return the place of a path such as ``airframe.mass``, or of a last part that is there once."""
        for name in (part.strip() for part in key.split(",")):
            if name in self.places:
                return self.places[name]
            alike = [place for path, place in self.places.items() if name and path.split(".")[-1] == name]
            if len(alike) == 1:
                return alike[0]
        return None


@contextmanager
def placed(setup: Setup) -> Iterator[None]:
    """Give what is found wrong inside the block the file of the setup, with line and column of its key."""
    try:
        yield
    except InputError as error:
        raise type(error)(_placed(problem, setup.origin) for problem in error.problems) from error


def _placed(problem: Problem, origin: Origin) -> Problem:
    if problem.file or not origin.file:
        return problem
    place = origin.place_of(problem.key) or Place(origin.file, 0, 0)
    return replace(problem, file=place.file, line=place.line, column=place.column)
