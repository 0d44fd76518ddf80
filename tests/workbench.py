"""Workbenches for tests: one in this process behind its guard, and real ones in processes of their own."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from functools import cache
from pathlib import Path
from typing import Any

import httpx

from overarm.app.bench import Workbench
from overarm.app.build import build
from overarm.app.built_pages import PAGES
from overarm.app.folders import folders_in
from overarm.app.guard.token import Keys
from overarm.app.guard.wall import Address
from overarm.app.limits import LIMITS, Limits

PORT = 8246
HOME = Address("http", ("127.0.0.1", "localhost"), PORT)
BASE = f"http://127.0.0.1:{PORT}"
OVERARM = Path(sys.executable).parent / "overarm"
LINE = re.compile(r"Overarm workbench: (https?://[^/]+)/\?token=(\S+)")
PATIENCE_S = 60.0


class Inside:
    """A workbench in this process: no sockets, the same guard."""

    def __init__(
        self, folder: Path, limits: Limits = LIMITS, address: Address = HOME, pages: Path = PAGES
    ) -> None:
        self.folders = folders_in(folder)
        self.keys = Keys(PORT, secure=address.scheme == "https")
        self.workbench = Workbench(self.folders, limits, str(folder / "book.sqlite"))
        self.app: Any = build(self.workbench, address, self.keys, pages)
        self.cookie = {"cookie": f"{self.keys.cookie_name}={self.keys.cookie}"}
        self.known = {**self.cookie, "origin": BASE}

    def client(self, headers: dict[str, str] | None = None) -> httpx.AsyncClient:
        """Return a client that knows the cookie and says where it comes from, or sends what is given."""
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=False)
        return httpx.AsyncClient(
            transport=transport, base_url=BASE, headers=self.known if headers is None else headers
        )

    def close(self) -> None:
        """End its processes."""
        self.workbench.close()


class Server:
    """A real server in a process of its own, and a client that has its cookie."""

    def __init__(self, data: Path, *options: str) -> None:
        self.data = data
        words = [str(OVERARM), "app", "--port", "0", "--no-browser", *options]
        self.process = subprocess.Popen(
            words,
            env={**os.environ, "XDG_DATA_HOME": str(data), "OVERARM_BOOK": str(data / "book.sqlite")},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        assert self.process.stdout is not None
        found = LINE.match(self.process.stdout.readline())
        assert found is not None
        self.base, self.token = found[1], found[2]
        self.http = self.new_client()

    def new_client(self) -> httpx.Client:
        """Return another client that has opened the address with its token."""
        client = httpx.Client(
            base_url=self.base, headers={"origin": self.base}, timeout=PATIENCE_S, verify=False
        )
        assert client.get("/", params={"token": self.token}).status_code == 303
        return client

    def post(self, path: str, body: Any) -> httpx.Response:
        """Send JSON."""
        return self.http.post(path, json=body)

    def upload(self, name: str, data: bytes) -> str:
        """Upload a file and return its id."""
        answer = self.http.post("/api/uploads", params={"name": name}, content=data)
        assert answer.status_code == 201, answer.text
        return str(answer.json()["id"])

    def ended(self, id_: str) -> dict[str, Any]:
        """Wait until a job has ended and return it."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            job: dict[str, Any] = self.http.get(f"/api/jobs/{id_}").json()
            if job["state"] not in ("waiting", "running"):
                return job
            time.sleep(0.05)
        raise AssertionError(f"{id_} does not end")

    def answer(self, path: str, body: Any) -> dict[str, Any]:
        """Start a job, wait for it, and return its answer."""
        started = self.post(path, body)
        assert started.status_code in (200, 202), started.text
        job = self.ended(started.json()["id"])
        assert job["state"] == "done", job
        found: dict[str, Any] = self.http.get(f"/api/jobs/{job['id']}/answer").json()
        return found

    def kill(self) -> None:
        """End it as a power cut would."""
        self.http.close()
        self.process.kill()
        self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()

    def interrupt(self) -> tuple[int, str]:
        """Press Ctrl-C: the whole group hears it; return the exit code and what was still said."""
        self.http.close()
        os.killpg(self.process.pid, signal.SIGINT)
        said, _ = self.process.communicate(timeout=20)
        return self.process.returncode, said


@cache
def running() -> Server:
    """Return the one real server that all tests of this process share."""
    return Server(Path(tempfile.mkdtemp(prefix="overarm-test-")))


def end_running() -> None:
    """End that server, if there is one; not killed, for one that is cannot tell `make cover` what it did."""
    if not running.cache_info().currsize:
        return
    server = running()
    try:
        server.interrupt()
    except subprocess.TimeoutExpired:
        server.kill()
    shutil.rmtree(server.data, ignore_errors=True)


def events(response: httpx.Response) -> Any:
    """Yield (id, job) of each event of a stream as it comes."""
    number = 0
    for line in response.iter_lines():
        if line.startswith("id: "):
            number = int(line[4:])
        elif line.startswith("data: "):
            yield number, json.loads(line[6:])
