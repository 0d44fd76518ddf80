"""Twins of compiled functions for the card: the same Python code, compiled for CUDA.

A twin is made of the Python function behind a compiled one. Every compiled function that it calls is
replaced by its twin. In single precision every constant of the code is single too, and so is what
a function returns that is said to return a float; the random numbers stay in double precision until they
are drawn.
"""

from __future__ import annotations

import math
import types
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from numba.core.dispatcher import Dispatcher

from overarm import rng
from overarm.gpu.precision import Precision

# The code compares times and places with a slack of 1e-9 against the last bit of a sum of steps.
LEAST_SLACK = 1e-8
SLACK = 1e-6

_MATH_OF_SINGLES = types.ModuleType("math")
for _name, _value in vars(math).items():
    setattr(_MATH_OF_SINGLES, _name, np.float32(_value) if isinstance(_value, float) else _value)


def on_card(function: Any) -> Any:
    """Compile a function for the card, to be called by others there."""
    from numba import cuda

    return cuda.jit(device=True, forceinline=True)(function)


class Twins:
    """Device functions by the function that they stand for, all of one precision."""

    def __init__(self, precision: Precision, compiled: Callable[[Any], Any] = on_card) -> None:
        self.compiled = compiled
        self._single = precision == "single"
        self._made: dict[Callable[..., Any], Any] = {}

    def of(self, function: Any) -> Any:
        """Return the device function that computes what a compiled function computes."""
        plain = function.py_func
        if plain not in self._made:
            self._made[plain] = self._make(plain)
        return self._made[plain]

    def _make(self, plain: Any) -> Any:
        single = self._single and plain.__module__ != rng.__name__
        code = plain.__code__
        if single:
            code = code.replace(co_consts=tuple(_single(value) for value in code.co_consts))
        names = {name: self._seen_by(single, plain.__globals__[name]) for name in _asked_for(plain)}
        if single:
            names["float"] = np.float32
        own = types.FunctionType(code, names, plain.__name__, plain.__defaults__)
        own.__module__, own.__qualname__ = plain.__module__, plain.__qualname__
        twin = self.compiled(own)
        if self._single and plain.__annotations__.get("return") == "float":
            return self.compiled(_returning_single(twin))
        return twin

    def _seen_by(self, single: bool, value: Any) -> Any:
        """Return what a twin sees in place of a name of the module of its function."""
        if isinstance(value, Dispatcher):
            return self.of(value)
        if value is numba.prange:
            return range
        if value is math and single:
            return _MATH_OF_SINGLES
        return _single(value) if single else value


def _single(value: Any) -> Any:
    """Return a constant in single precision: a float, or a tuple that may hold some.

    A slack smaller than single precision can tell apart is widened to what it can.
    """
    if type(value) is tuple:
        return tuple(_single(item) for item in value)
    if isinstance(value, float):
        return np.float32(SLACK if 0.0 < value < LEAST_SLACK else value)
    return value


def _asked_for(plain: Any) -> list[str]:
    """Return the names of its module that a function asks for."""
    return [name for name in plain.__code__.co_names if name in plain.__globals__]


def _returning_single(twin: Any) -> Callable[..., Any]:
    def in_single(*given: Any) -> Any:
        return np.float32(twin(*given))

    return in_single
