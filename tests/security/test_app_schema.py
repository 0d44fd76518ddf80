"""The interface against its own description, and no answer that tells where things lie here."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.examples import FILES
from tests.workbench import Server, running

CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance,
]  # fmt: skip
TEXT = FILES["b"].read_text("utf-8")
# Long streams and real work have tests of their own.
QUICK: dict[str, Any] = {
    "deadline": None, "database": None, "derandomize": True, "suppress_health_check": list(HealthCheck),
}  # fmt: skip


@cache
def described() -> dict[str, Any]:
    found: dict[str, Any] = running().http.get("/api/openapi.json").json()
    return found


def test_every_route_is_described_and_says_how_it_refuses() -> None:
    for path, item in described()["paths"].items():
        assert path.startswith("/api/")
        for operation in item.values():
            assert operation["tags"]
            assert operation.get("description") or operation["summary"]
            for status in ("401", "403", "421", "422"):
                assert "application/problem+json" in operation["responses"][status]["content"]


def private_places(server: Server) -> list[str]:
    here = Path(__file__).resolve()
    return [
        str(server.data),
        str(Path.home()) + "/",
        str(here.parents[2]),
        "/site-packages",
        "scratch/",
        "Traceback",
    ]


def clean(server: Server, text: str) -> None:
    for place in private_places(server):
        assert place not in text, place


def test_no_request_of_any_form_breaks_it() -> None:
    """Every operation gets requests made from its own description, good ones and bad ones."""
    server = running()
    schema = schemathesis.openapi.from_dict(described())
    for result in schema.get_all_operations():
        operation = result.ok()

        @settings(max_examples=3, phases=(Phase.generate,), **QUICK)
        @given(case=operation.as_strategy())
        def tried(case: Any) -> None:
            case.headers = {**dict(case.headers or {}), "origin": server.base}
            answer = case.call(base_url=server.base, headers=head(server), timeout=30)
            clean(server, answer.text)
            case.validate_response(answer, checks=CHECKS)

        tried()


def head(server: Server) -> dict[str, str]:
    cookies = "; ".join(f"{key}={value}" for key, value in server.http.cookies.items())
    return {"origin": server.base, "cookie": cookies}


PLACES = st.sampled_from(
    [
        "/etc/passwd",
        "../../etc/passwd",
        "./x.csv",
        "/nobody/.ssh/id_rsa",
        "~/x.csv",
        "setup.yaml",
        "out/x",
        ".",
        "\\\\x",
    ]
)
KEYS = st.sampled_from(
    ["coefficient_table", "obstacle_file", "height_model", "airframe", "power", "site", "day", "mass", "span"]
)


@settings(max_examples=15, phases=(Phase.generate,), **QUICK)
@given(key=KEYS, place=PLACES, noise=st.text(max_size=20))
def test_no_answer_tells_where_things_lie(key: str, place: str, noise: str) -> None:
    server = running()
    card = {"coefficient_table": "power", "obstacle_file": "site", "height_model": "site"}.get(key, "")
    text = (
        TEXT.replace(f"{card}:\n", f"{card}:\n  {key}: {place}\n", 1) if card else f"{TEXT}\n{key}: {place}\n"
    )
    forms: list[tuple[str, dict[str, Any]]] = [
        ("/api/describe/check", {"setup": {"text": text}}),
        ("/api/describe/check", {"setup": {"text": noise.encode("utf-8", "replace").decode("utf-8")}}),
        ("/api/describe/rewrite", {"setup": {"text": text}, "changes": {"settings.start_wait": place}}),
        ("/api/odds/fan", {"setup": {"text": text}, "launches": 1, "compared": 25, "points": 2}),
        ("/api/odds/fan", {"setup": {"text": TEXT}, "changes": {f"power.{key}": place}, "compared": 25}),
    ]
    for path, form in forms:
        answer = server.post(path, form)
        assert answer.status_code in (200, 422)
        clean(server, answer.text)


@pytest.mark.parametrize("task", ["odds/jobs", "plan/jobs"])
def test_no_job_tells_where_things_lie(task: str) -> None:
    server = running()
    text = TEXT.replace("site:\n", "site:\n  obstacle_file: /etc/passwd\n", 1)
    id_ = server.post(f"/api/{task}", {"setup": {"text": text}, "launches": 100}).json()["id"]
    job = server.ended(id_)
    assert job["state"] == "failed"
    for path in (
        f"/api/jobs/{id_}",
        f"/api/jobs/{id_}/events",
        f"/api/jobs/{id_}/answer",
        "/api/jobs",
        "/api/uploads",
    ):
        clean(server, server.http.get(path).text)
