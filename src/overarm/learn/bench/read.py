"""Read a form from YAML, with the place of everything that is wrong."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError
from rapidfuzz import process

from overarm.describe.document import Document, read_document, trouble
from overarm.describe.faults import LEAST_ALIKE, in_words
from overarm.describe.places import Place
from overarm.errors import InputError, Problem
from overarm.learn.bench.cards import FORM_VERSION, FORMS, Form


class FilledForm(NamedTuple):
    """A form that was read, and where from."""

    form: Form
    file: str
    source: str  # sha256 of the file


def read_form(file: Path) -> FilledForm:
    """Return the form of a YAML file. Raises InputError with all its problems, each at its place."""
    document = read_document(file)
    start = Place(str(file), 1, 1)
    kind = _kind(document, start)
    try:
        form = kind.model_validate(document.data)
    except ValidationError as error:
        raise InputError(document.problems + in_words(kind, error, document, start)) from None
    if document.problems:
        raise InputError(document.problems)
    with file.open("rb") as stream:
        return FilledForm(form, str(file), hashlib.file_digest(stream, "sha256").hexdigest())


def _kind(document: Document, start: Place) -> type[Form]:
    """Return which form it is; raises InputError if it is none of ours."""
    data = document.data
    if not isinstance(data, dict) or "overarm_bench" not in data:
        cure = "Give a form as the tool writes it for you to fill in, or a review answer that ends in .json"
        raise InputError([Problem("is no form", cure, *start)])
    version = data["overarm_bench"]
    if type(version) is not int or version != FORM_VERSION:
        cure = f"Write `overarm_bench: {FORM_VERSION}`, or use a newer Overarm"
        place = document.values[("overarm_bench",)]
        raise InputError(
            [trouble("is a form that this version does not read", cure, place, "overarm_bench", str(version))]
        )
    name = str(data.get("test", ""))
    if name not in FORMS:
        near = process.extractOne(name, list(FORMS), score_cutoff=LEAST_ALIKE)
        cure = f"Did you mean {near[0]}?" if near else "Write one of them"
        place = document.place_of(("test",)) or start
        raise InputError([trouble(f"is none of {', '.join(FORMS)}", cure, place, "test", name)])
    return FORMS[name]
