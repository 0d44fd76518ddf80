"""The fixture that compares with a source outside the project and keeps what it found."""

from __future__ import annotations

import pytest

from tests.agreement import PROPERTY, Agrees, agreement


@pytest.fixture
def agrees(request: pytest.FixtureRequest) -> Agrees:
    """Compare as `pytest.approx` does, and leave a row for the verification report."""
    # A list of plain values goes from a worker to the process that started it; a record would not.
    return agreement(lambda row: request.node.user_properties.append((PROPERTY, list(row))))
