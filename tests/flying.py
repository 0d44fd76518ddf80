"""A fourth-order Runge-Kutta flight over the package's own rates, for tests with a known answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

from overarm.physics.rigid_body import Body, moved, normalised

Rates = Callable[[Body], Body]


def body_at(**parts: float) -> Body:
    """Return a level body at rest at the origin, with the given parts changed."""
    return Body(*([0.0] * 6), 1.0, *([0.0] * 7))._replace(**parts)


def step(body: Body, rates: Rates, step_s: float) -> Body:
    """Advance one classical Runge-Kutta step (Kutta 1901); the quaternion is not scaled."""
    a = rates(body)
    b = rates(moved(body, a, 0.5 * step_s))
    c = rates(moved(body, b, 0.5 * step_s))
    d = rates(moved(body, c, step_s))
    for rate, weight in ((a, 1 / 6), (b, 1 / 3), (c, 1 / 3), (d, 1 / 6)):
        body = moved(body, rate, weight * step_s)
    return body


def states(body: Body, rates: Rates, step_s: float) -> Iterator[Body]:
    """Yield the body now and after each step, without end."""
    while True:
        yield body
        body = normalised(step(body, rates, step_s))


def fly(body: Body, rates: Rates, end_s: float, steps: int) -> Body:
    """Return the body after ``end_s`` in even steps."""
    return next(islice(states(body, rates, end_s / steps), steps, None))
