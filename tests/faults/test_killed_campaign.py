"""A campaign that is killed leaves nothing that a later one trips over: the same bytes come out of it."""

from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import platformdirs

from tests.failing import files_in

OVERARM = Path(sys.executable).parent / "overarm"
LAUNCHES = "600"
KILLS = 6
SEED = 20_261_126  # of the moments


def test_kill_9_at_random_moments(tmp_path: Path, examples: Path) -> None:
    here, cache = tmp_path / "here", tmp_path / "cache" / "overarm"
    here.mkdir()
    environment = {
        **os.environ,
        "XDG_CACHE_HOME": str(cache.parent),  # what follows from a setup is worked out and kept anew here
        "NUMBA_CACHE_DIR": os.environ.get("NUMBA_CACHE_DIR", platformdirs.user_cache_dir("overarm")),
    }
    words = [str(OVERARM), "odds", str(examples / "a-sparrow.yaml"), "--json"]
    words += ["--launches", LAUNCHES]

    def begun() -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            words, cwd=here, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )

    since = time.monotonic()
    whole, _ = begun().communicate(timeout=120)
    took_s = time.monotonic() - since
    assert json.loads(whole)["launches"] == int(LAUNCHES)
    kept = files_in(cache)
    for file in cache.rglob("*.json"):
        file.unlink()
    luck = random.Random(SEED)
    killed = 0
    for _ in range(KILLS):
        process = begun()
        try:
            process.communicate(timeout=luck.uniform(0.3, 1.0) * took_s)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            process.communicate()
            killed += process.returncode == -signal.SIGKILL
        for file in cache.rglob("*.json"):
            assert file.read_bytes() == kept[file.relative_to(cache).as_posix()]
    again, _ = begun().communicate(timeout=120)
    assert hashlib.sha256(again).hexdigest() == hashlib.sha256(whole).hexdigest()
    assert not files_in(here)
    assert killed > 0
