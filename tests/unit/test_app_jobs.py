"""The life of a job in a real server: progress that goes on after a break, cancel, kill, two clients."""

from __future__ import annotations

import os
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import overarm
from overarm.app.store.orders import name_in
from tests.examples import FILES
from tests.workbench import OVERARM, PATIENCE_S, Server, events, running

TEXT = FILES["b"].read_text("utf-8")
SETUP = {"text": TEXT}
LONG = 1_000_000


def test_an_answer_is_that_of_the_function_and_is_kept() -> None:
    server = running()
    form = {"setup": SETUP, "launches": 500, "seed": 3}
    first = server.post("/api/odds/jobs", form)
    assert first.status_code == 202
    id_ = first.json()["id"]
    assert first.headers["location"] == f"/api/jobs/{id_}"
    job = server.ended(id_)
    assert (job["state"], job["share"]) == ("done", 1.0)
    said = server.http.get(f"/api/jobs/{id_}/answer").json()
    assert said == overarm.odds(overarm.load(FILES["b"]), 500, 3).to_dict()

    again = server.post("/api/odds/jobs", form)
    assert (again.status_code, again.json()["id"], again.json()["state"]) == (200, id_, "done")
    other = server.post("/api/odds/jobs", {**form, "seed": 4})
    assert (other.status_code, other.json()["id"] != id_) == (202, True)
    server.ended(other.json()["id"])

    assert id_ in [one["id"] for one in server.http.get("/api/jobs").json()]
    assert server.http.delete(f"/api/jobs/{id_}").status_code == 204
    assert server.http.get(f"/api/jobs/{id_}").status_code == 404
    assert server.post("/api/odds/jobs", form).status_code == 202  # it is flown anew


def test_progress_goes_on_after_a_break_and_two_clients_see_one_job() -> None:
    """Last-Event-ID: WHATWG HTML, 9.2.4; 204 ends the asking (9.2.3)."""
    server = running()
    other = server.new_client()
    form = {"setup": SETUP, "launches": LONG, "seed": 11}
    id_ = server.post("/api/odds/jobs", form).json()["id"]
    assert other.post("/api/odds/jobs", json=form).json()["id"] == id_
    with server.http.stream("GET", f"/api/jobs/{id_}/events") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        seen = []
        for number, job in events(stream):
            seen.append(number)
            if job["share"] > 0.0:
                break
    assert seen == sorted(set(seen))
    assert job["what"].startswith("so far")

    head = {"last-event-id": str(seen[-1])}
    with other.stream("GET", f"/api/jobs/{id_}/events", headers=head) as stream:
        server.post(f"/api/jobs/{id_}/cancel", None)
        rest = list(events(stream))
    assert rest[0][0] > seen[-1]
    assert rest[0][1]["share"] >= job["share"]
    assert rest[-1][1]["state"] == "cancelled"
    head = {"last-event-id": str(rest[-1][0])}
    assert other.get(f"/api/jobs/{id_}/events", headers=head).status_code == 204
    assert other.get(f"/api/jobs/{id_}/answer").status_code == 409
    other.close()


def test_a_job_that_cannot_be_says_why_at_its_place() -> None:
    server = running()
    text = TEXT.replace("span:", "spam:", 1)
    id_ = server.post("/api/odds/jobs", {"setup": {"text": text}, "launches": 100}).json()["id"]
    job = server.ended(id_)
    assert job["state"] == "failed"
    line = next(k for k, words in enumerate(text.splitlines(), 1) if "spam:" in words)
    places = [(item["file"], item["line"], item["key"]) for item in job["problems"]]
    assert ("setup.yaml", line, "airframe.spam") in places


def test_what_runs_cannot_be_removed_and_what_waits_is_cancelled_at_once() -> None:
    server = running()
    ids = [
        server.post("/api/odds/jobs", {"setup": SETUP, "launches": LONG, "seed": 20 + k}).json()["id"]
        for k in range(4)
    ]
    assert server.http.delete(f"/api/jobs/{ids[0]}").status_code == 409
    assert server.http.post(f"/api/jobs/{ids[3]}/cancel").json()["state"] == "cancelled"
    for id_ in ids[:3]:
        server.http.post(f"/api/jobs/{id_}/cancel")
    assert [server.ended(id_)["state"] for id_ in ids] == ["cancelled"] * 4


def test_a_job_tells_its_setup_and_what_was_asked() -> None:
    server = running()
    form = {"setup": {**SETUP, "files": {}}, "launches": 120, "seed": 77}
    first = server.post("/api/odds/jobs", form).json()
    said = {key: first[key] for key in ("setup_name", "seed", "launches")}
    assert said == {"setup_name": "B, larger foam wing", "seed": 77, "launches": 120}
    server.ended(first["id"])
    assert server.http.get(f"/api/jobs/{first['id']}/asked").json() == form
    again = server.post("/api/odds/jobs", {**form, "seed": 78}).json()
    assert again["setup_key"] == first["setup_key"] != ""
    other = {"text": TEXT.replace("name: B, larger foam wing", "name: 'Möwe #2'  # mine")}
    third = server.post("/api/odds/jobs", {"setup": other, "until_width": 0.2}).json()
    assert (third["setup_name"], third["launches"]) == ("Möwe #2", None)
    assert third["setup_key"] != first["setup_key"]
    for id_ in (again["id"], third["id"]):
        server.http.post(f"/api/jobs/{id_}/cancel")
    assert server.http.get(f"/api/jobs/{'0' * 32}/asked").status_code == 404


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("", ""), ("names: x", ""), ("a: 1\nname:   Kite  # red\n", "Kite"), ('name: "a # b"', "a # b"),
        ("thrower:\n  name: other", ""), ("name: " + "w" * 900, "w" * 120), ("name: a\x07b", "ab"),
        ("name:\n", ""),
    ],
)  # fmt: skip
def test_the_name_in_any_text(text: str, name: str) -> None:
    assert name_in(text) == name


def test_two_people_do_not_write_over_each_other() -> None:
    server = running()
    draft = server.post("/api/drafts", {"name": "one", "text": "a"}).json()
    form = {"name": "one", "text": "b", "revision": draft["revision"]}
    assert server.http.put(f"/api/drafts/{draft['id']}", json=form).json()["revision"] == 2
    late = server.http.put(f"/api/drafts/{draft['id']}", json={**form, "text": "c"})
    assert late.status_code == 409
    assert server.http.get(f"/api/drafts/{draft['id']}").json()["text"] == "b"
    assert server.http.delete(f"/api/drafts/{draft['id']}").status_code == 204


@pytest.fixture
def started(tmp_path: Path) -> Iterator[Callable[[], Server]]:
    """Give what starts a server on one and the same data folder."""
    found: list[Server] = []

    def start() -> Server:
        found.append(Server(tmp_path))
        return found[-1]

    yield start
    for server in found:
        server.kill()


def half_sent(server: Server, folder: Path) -> socket.socket:
    """Send half of an upload, wait until it is on the disk, and return the line, still open."""
    host, _, port = server.base.removeprefix("http://").partition(":")
    cookies = "; ".join(f"{one.name}={one.value}" for one in server.http.cookies.jar)
    head = (
        f"POST /api/uploads?name=half.csv HTTP/1.1\r\nHost: {host}:{port}\r\nOrigin: {server.base}\r\n"
        f"Cookie: {cookies}\r\nContent-Length: 2000000\r\n\r\n"
    )
    before = set(folder.iterdir())
    line = socket.create_connection((host, int(port)))
    line.sendall(head.encode() + b"x" * 1_000_000)
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        here = [place / "data" for place in set(folder.iterdir()) - before]
        sizes = [data.stat().st_size for data in here if data.exists()]
        if sizes and sizes[0] > 0:
            return line
        time.sleep(0.01)
    raise AssertionError("it does not arrive")


def test_a_kill_loses_nothing_that_was_saved(tmp_path: Path, started: Callable[[], Server]) -> None:
    server = started()
    draft = server.post("/api/drafts", {"name": "one", "text": "half a set"}).json()
    saved = server.http.put(
        f"/api/drafts/{draft['id']}", json={"name": "one", "text": TEXT, "revision": draft["revision"]}
    ).json()
    upload = server.upload("walk.csv", b"time_s,force_x_mps2\n0,1\n")
    done = server.post("/api/odds/jobs", {"setup": SETUP, "launches": 300}).json()["id"]
    assert server.ended(done)["state"] == "done"
    answer = server.http.get(f"/api/jobs/{done}/answer").content
    runs = server.post("/api/odds/jobs", {"setup": SETUP, "launches": LONG}).json()["id"]
    with server.http.stream("GET", f"/api/jobs/{runs}/events") as stream:
        last = next(number for number, job in events(stream) if job["state"] == "running")
    children = subprocess.run(
        ["pgrep", "-P", str(server.process.pid)], capture_output=True, text=True, check=False
    ).stdout.split()
    home = tmp_path / "overarm/workbench"
    scratch = home / "scratch"
    old = {path.name for path in scratch.iterdir()}
    half = half_sent(server, home / "uploads")
    parts = [home / "drafts/.overarm-half", home / "jobs" / done / ".overarm-half"]
    for part in parts:  # as a kill between writing and moving leaves them
        part.write_text("{")
    server.kill()
    half.close()
    assert len(list((home / "uploads").iterdir())) == 2

    server = started()
    assert server.http.get(f"/api/drafts/{draft['id']}").json() == saved
    assert [one["id"] for one in server.http.get("/api/uploads").json()] == [upload]
    assert [one.name for one in (home / "uploads").iterdir()] == [upload]
    assert [part for part in parts if part.exists()] == []
    assert server.http.get(f"/api/jobs/{done}/answer").content == answer
    job = server.http.get(f"/api/jobs/{runs}").json()
    assert job["state"] == "ended with the server"
    assert job["event"] > last
    assert server.post("/api/odds/jobs", {"setup": SETUP, "launches": 300}).status_code == 200
    assert old
    assert not old & {path.name for path in scratch.iterdir()}
    for child in children:  # they ended with the server that was killed
        assert not Path(f"/proc/{child}").exists() or "Z" in Path(f"/proc/{child}/stat").read_text()


def test_a_second_start_says_what_is_wrong_and_ctrl_c_ends_well(
    tmp_path: Path, started: Callable[[], Server]
) -> None:
    server = started()
    port = server.base.rpartition(":")[2]
    for words in (["--port", port], ["--port", "0"]):
        ended = subprocess.run(
            [OVERARM, "app", "--no-browser", *words],
            env={**os.environ, "XDG_DATA_HOME": str(tmp_path)},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert ended.returncode == 2
        assert "Traceback" not in ended.stderr
        assert (
            "is in use" if port in words else f"is open already. Use that one, at {server.base}"
        ) in ended.stderr
    code, said = server.interrupt()
    assert (code, "Traceback" in said) == (0, False)
    assert said.rstrip().endswith("The workbench has ended.")


def test_a_port_that_cannot_be_had_is_told() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        ended = subprocess.run(
            [OVERARM, "app", "--no-browser", "--port", port],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
    assert ended.returncode == 2
    assert port in ended.stderr
    assert "--port" in ended.stderr
