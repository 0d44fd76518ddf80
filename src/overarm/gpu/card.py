"""Find the graphics card, or say what is missing."""

from __future__ import annotations

import importlib.util
from typing import NamedTuple

from overarm.errors import InputError, Problem

LEAST_CAPABILITY = (7, 0)


class Card(NamedTuple):
    """The card that flies: its name, compute capability, and free memory [bytes]."""

    name: str
    capability: tuple[int, int]
    free_bytes: int


def found_card() -> Card:
    """Return the card of this machine; InputError says what is missing: the extra, a driver, or a card."""
    if importlib.util.find_spec("numba_cuda") is None:
        raise InputError(
            [
                Problem(
                    "Flying on a graphics card needs a package that is not installed",
                    "Install the extra: pip install 'overarm[gpu]'; or fly on the processor",
                )
            ]
        )
    from numba import cuda

    if not cuda.is_available():
        raise InputError(
            [
                Problem(
                    "No graphics card for CUDA was found",
                    "Install the driver of the card (nvidia-smi must list it); or fly on the processor",
                )
            ]
        )
    device = cuda.get_current_device()
    capability = tuple(device.compute_capability)
    if capability < LEAST_CAPABILITY:
        needed = ".".join(str(part) for part in LEAST_CAPABILITY)
        raise InputError(
            [
                Problem(
                    f"The graphics card is too old: it needs compute capability {needed}",
                    "Use another card, or fly on the processor",
                    value=".".join(str(part) for part in capability),
                )
            ]
        )
    name = device.name.decode() if isinstance(device.name, bytes) else str(device.name)
    free_bytes, _ = cuda.current_context().get_memory_info()
    return Card(name, (int(capability[0]), int(capability[1])), int(free_bytes))
