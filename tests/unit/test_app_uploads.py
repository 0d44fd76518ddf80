"""Uploads that are needed: listed with what uses them, kept while a job needs them, missed in clear words."""

from __future__ import annotations

import json
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from overarm.app.folders import folders_in
from overarm.app.jobs.queue import Jobs
from overarm.app.limits import LIMITS
from overarm.app.problems import Refused
from overarm.app.store.orders import Order, laid_out
from overarm.app.store.uploads import Upload, Uploads
from tests.examples import FILES
from tests.workbench import Server, running

SETUP = {"text": FILES["b"].read_text("utf-8")}
TABLE = b"time_s,force_x_mps2\n" + b"".join(b"%.2f,0.1\n" % (0.02 * k) for k in range(200))
WAIT_S = 20.0


def jammed(server: Server) -> list[str]:
    """Give both workers a long job, so that the next one waits."""
    forms = [{"setup": SETUP, "launches": 1_000_000, "seed": 4100 + k} for k in range(2)]
    return [server.post("/api/odds/jobs", form).json()["id"] for form in forms]


def problems(answer: Any) -> dict[str, str]:
    (found,) = answer.json()["problems"]
    return dict(found)


def test_what_a_job_needs_is_not_removed_before_it_has_ended() -> None:
    server = running()
    upload, beside = server.upload("walk.csv", TABLE), server.upload("trees.geojson", b"{}")
    long = jammed(server)
    form = {"setup": {**SETUP, "files": {"trees.geojson": beside}}, "recordings": [{"upload": upload}]}
    job = server.post("/api/trigger/jobs", form).json()
    assert job["uploads"] == [{"id": upload, "name": "walk.csv"}, {"id": beside, "name": "trees.geojson"}]
    for id_, name in ((upload, "walk.csv"), (beside, "trees.geojson")):
        refused = server.http.delete(f"/api/uploads/{id_}")
        assert refused.status_code == 409
        said = problems(refused)
        assert said["file"] == name
        assert said["message"] == (
            'is needed by a job that is waiting: "Recordings through the trigger" of B, larger foam wing'
        )
        assert said["cure"].startswith("End that job")
    for id_ in (job["id"], *long):
        server.http.post(f"/api/jobs/{id_}/cancel")
    assert server.http.delete(f"/api/uploads/{upload}").status_code == 204
    assert upload not in [one["id"] for one in server.http.get("/api/uploads").json()]


def test_what_uses_an_upload_is_told() -> None:
    server = running()
    upload = server.upload("walk.csv", TABLE)
    assert server.http.get(f"/api/uploads/{upload}").json()["jobs"] == []
    draft = server.post("/api/drafts", {"name": "Kite", "text": "x", "files": {"a.csv": upload}}).json()
    job = server.post("/api/review/jobs", {"recording": upload}).json()
    (one,) = [one for one in server.http.get("/api/uploads").json() if one["id"] == upload]
    assert one["setups"] == [{"id": draft["id"], "name": "Kite"}]
    assert [(use["id"], use["words"]) for use in one["jobs"]] == [(job["id"], "Review of a recording")]
    server.ended(job["id"])
    assert server.http.delete(f"/api/uploads/{upload}").status_code == 204
    # What was made of it stays, and says of what; to ask again says what to press.
    assert server.http.get(f"/api/jobs/{job['id']}").json()["uploads"][0]["name"] == "walk.csv"
    again = server.post("/api/review/jobs", {"recording": upload})
    assert again.status_code == 404
    assert problems(again)["message"] == "the file is not kept by the workbench any more"
    assert problems(again)["cure"].startswith("Choose the file again")
    text = {"text": SETUP["text"], "files": {"trees.geojson": upload}}
    refused = problems(server.post("/api/describe/check", {"setup": text}))
    assert refused["file"] == "trees.geojson"
    assert "in the describe room" in refused["cure"]


class Place:
    """The store and the queue of a workbench, and one upload."""

    def __init__(self, root: Path) -> None:
        self.folders = folders_in(root)
        self.place = self.folders.uploads / ("a" * 32)
        self.upload = Upload("a" * 32, "walk.csv", 3, "hash", "2031-05-20T18:30:00.000Z")
        self.place.mkdir()
        (self.place / "data").write_bytes(b"abc")
        (self.place / "about.json").write_text(json.dumps(self.upload._asdict()))
        self.uploads = Uploads(self.folders.uploads, LIMITS)
        self.jobs = Jobs(self.folders, self.uploads, LIMITS._replace(jobs_running=0))
        self.order = Order("review.columns", {}, uploads=(("recording", self.upload.id),))


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    made = Place(tmp_path)
    yield made
    made.jobs.close()


def test_a_removal_waits_for_a_job_that_is_just_taken(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    taken, go, usage = threading.Event(), threading.Event(), shutil.disk_usage

    def slow(path: Path) -> object:
        taken.set()
        assert go.wait(WAIT_S)
        return usage(path)

    monkeypatch.setattr(shutil, "disk_usage", slow)
    said: list[int] = []

    def remove() -> None:
        try:
            place.jobs.remove_upload(place.upload.id)
        except Refused as error:
            said.append(error.status_code)

    start = threading.Thread(target=place.jobs.start, args=(place.order,))
    start.start()
    assert taken.wait(WAIT_S)
    removal = threading.Thread(target=remove)
    removal.start()
    removal.join(0.1)
    assert removal.is_alive()  # it waits, whatever it will hear
    go.set()
    for one in (start, removal):
        one.join(WAIT_S)
    assert said == [409]
    assert place.uploads.every() == [place.upload]


def test_a_job_is_refused_whose_file_goes_while_it_is_named(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its key is found before the lock is taken; the upload goes right then."""
    from overarm.app.jobs import queue

    def then_gone(order: Order, uploads: Uploads) -> str:
        place.jobs.remove_upload(place.upload.id)
        return "b" * 32

    monkeypatch.setattr(queue, "key_of", then_gone)
    with pytest.raises(Refused) as refused:
        place.jobs.start(place.order)
    assert refused.value.status_code == 404
    assert place.jobs.every() == []


def test_a_question_whose_file_goes_while_it_is_laid_out(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    from overarm.app.store import uploads

    def gone(source: Path, _target: Path) -> None:
        place.uploads.remove(place.upload.id)
        raise FileNotFoundError(source)

    monkeypatch.setattr(uploads, "link_or_copy", gone)
    with (
        pytest.raises(Refused, match="not kept"),
        laid_out(place.order, place.uploads, place.folders.scratch),
    ):
        raise AssertionError


@pytest.mark.parametrize("left", ["data", "about.json", "both, but short"])
def test_a_removal_that_was_cut_off_ends_at_the_next_start(place: Place, left: str) -> None:
    for name in ("data", "about.json"):
        if left in ("data", "about.json") and name != left:
            (place.place / name).unlink()
    if left.startswith("both"):
        (place.place / "data").write_bytes(b"ab")
    assert Uploads(place.folders.uploads, LIMITS).every() == []
    assert not place.place.exists()
