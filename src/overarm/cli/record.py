"""A command with many options takes them as one frozen record."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any, get_type_hints


def from_record(name: str, record: type[Any], run: Callable[[Any], None]) -> Callable[..., None]:
    """Return a command whose options are the fields of a named tuple, with their defaults.

    Parameters: the name of the command; the record, whose fields are annotated as the options of a command
    are; what is called with it, whose docstring are the words of the command.
    """

    def command(**given: Any) -> None:
        run(record(**given))

    hints = get_type_hints(record, include_extras=True)
    fields = inspect.signature(record).parameters.values()
    command.__name__, command.__doc__ = name, run.__doc__
    command.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [field.replace(annotation=hints[field.name]) for field in fields]
    )
    command.__annotations__ = hints
    return command
