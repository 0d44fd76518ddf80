"""Sound files that cannot be used: each is refused with its name and what would be right."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from overarm.errors import InputError
from overarm.recordings.sound.file import read_sound
from overarm.recordings.sound.run import hear
from tests.examples import derived_of, setup_of
from tests.sounds import RATE_HZ, clock, propeller, wav


def steady(seconds: float = 1.2) -> np.ndarray:
    return propeller(np.full(clock(seconds).size, 120.0), 2, 20.0)


def refused(file: Path, blades: int = 2) -> str:
    with pytest.raises(InputError) as caught:
        hear(file, blades)
    return str(caught.value)


@pytest.mark.parametrize("form", ["WAV", "FLAC"])
def test_both_formats_hold_the_same_sound(form: str, tmp_path: Path) -> None:
    sound = read_sound(wav(tmp_path / "run", steady(), form=form))
    assert sound.samples == pytest.approx(steady() - steady().mean(), abs=1e-4)
    assert len(sound.sha256) == 64


def test_the_louder_channel_is_taken_and_told(tmp_path: Path) -> None:
    both = np.column_stack([0.1 * steady(), steady()])
    sound = read_sound(wav(tmp_path / "two.wav", both))
    assert any("Channel 2 of 2" in note for note in sound.notes)
    assert np.abs(sound.samples).max() == pytest.approx(0.5, abs=0.01)


def test_too_loud_is_told(tmp_path: Path) -> None:
    sound = read_sound(wav(tmp_path / "loud.wav", np.clip(4.0 * steady(), -1.0, 1.0)))
    assert sound.clipped_share > 0.05
    assert any("too loud" in note for note in sound.notes)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b"RIFF", "no sound that can be read"),
        (b"time_s,force_x_mps2\n0,1\n", "no sound that can be read"),
        (bytes(range(256)) * 40, "no sound that can be read"),
    ],
)
def test_what_is_no_sound(content: bytes, why: str, tmp_path: Path) -> None:
    file = tmp_path / "run.wav"
    file.write_bytes(content)
    said = refused(file)
    assert why in said
    assert "run.wav" in said
    assert "WAV or FLAC" in said
    assert "BytesIO" not in said
    assert ".." not in said.replace(str(tmp_path), "")


def test_missing_and_folder(tmp_path: Path) -> None:
    assert "No such file" in refused(tmp_path / "none.wav")
    assert "it is a folder" in refused(tmp_path)


@pytest.mark.parametrize("form", ["WAV", "FLAC"])
def test_a_file_that_is_cut_off_is_refused_or_told(form: str, tmp_path: Path) -> None:
    whole = wav(tmp_path / "whole", steady(), form=form).read_bytes()
    file = tmp_path / "part"
    for share in (0.01, 0.3, 0.8):
        file.write_bytes(whole[: int(share * len(whole))])
        try:
            seconds, said = hear(file, 2).seconds, ""
        except InputError as error:
            seconds, said = 0.0, str(error)
        assert 0.0 < seconds < 1.2 or "part" in said


def test_short_silent_slow_and_long(tmp_path: Path) -> None:
    assert "too short" in refused(wav(tmp_path / "a.wav", steady()[:8_000]))
    assert "silent" in refused(wav(tmp_path / "b.wav", np.zeros(RATE_HZ)))
    assert "sample rate" in refused(wav(tmp_path / "c.wav", steady(), rate_hz=4_000))
    assert "too long" in refused(wav(tmp_path / "d.wav", np.zeros(8_000 * 601), rate_hz=8_000))


def test_no_propeller_in_it(tmp_path: Path) -> None:
    noise = 0.1 * np.random.default_rng(5).standard_normal(2 * RATE_HZ)
    assert "no propeller is heard" in refused(wav(tmp_path / "wind.wav", noise))


@pytest.mark.parametrize("blades", [-1, 0, 1, 7])
def test_blades_that_cannot_be(blades: int, tmp_path: Path) -> None:
    assert "2 to 6" in refused(wav(tmp_path / "run.wav", steady()), blades)


def test_the_answer_obeys_its_schema(tmp_path: Path, project: Path) -> None:
    schema = json.loads((project / "docs/reference/sound.schema.json").read_text("utf-8"))
    file = wav(tmp_path / "run.wav", steady())
    for answer in (hear(file, 2), hear(file, 2, setup_of("b"), derived_of("b"))):
        data = json.loads(json.dumps(answer.to_dict(), allow_nan=False))
        jsonschema.Draft202012Validator(schema).validate(data)
        assert any("rpm" in line for line in answer.lines())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**data, "unknown": 1}, schema)
