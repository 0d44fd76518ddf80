"""A new setup from a few answers: every answer is checked at once, and what is written can be read."""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path

import pytest

import overarm
from overarm.describe.derived import derive
from overarm.describe.questions import (
    STYLES,
    THROWS,
    answers_with,
    mean_chord_m,
    problem_with,
    questions,
)
from overarm.describe.setup import Setup
from overarm.describe.starter import drive_guess, rounded, setup_text
from tests.examples import setup_of

STYLES_AND_SHAPES = list(itertools.product(STYLES, ("flying wing", "conventional")))


def load_text(folder: Path, text: str) -> Setup:
    file = folder / "new.yaml"
    file.write_text(text, "utf-8")
    return overarm.load(file)


@pytest.mark.parametrize(("style", "layout"), STYLES_AND_SHAPES)
@pytest.mark.parametrize("mass", ["120 g", "640 g", "1.6 kg measured", "5 kg +- 3 %"])
def test_what_is_written_can_be_read(style: str, layout: str, mass: str, tmp_path: Path) -> None:
    answers = answers_with({"style": style, "layout": layout, "mass": mass})
    setup = load_text(tmp_path, setup_text(answers))
    assert (setup.style, setup.airframe.layout) == (style, layout)
    assert setup.airframe.mass_kg.known == ("measured" if "measured" in mass else "guessed")
    assert (setup.line is None) == (style != "line-launched")


def test_nothing_that_was_not_answered_counts_as_measured(tmp_path: Path) -> None:
    setup = load_text(tmp_path, setup_text(answers_with({})))
    assert {path for path, item in setup.inputs() if item.known == "measured"} == set()


@pytest.mark.parametrize("throw", THROWS)
def test_every_throw_can_be_chosen(throw: str, tmp_path: Path) -> None:
    setup = load_text(tmp_path, setup_text(answers_with({"throw": throw})))
    assert setup.thrower is not None
    assert setup.thrower.throw == throw


def test_a_name_of_any_letters_comes_back(tmp_path: Path) -> None:
    name = 'Möwe: "the #1", {x} & *y 100 %'
    assert load_text(tmp_path, setup_text(answers_with({"name": name}))).name == name


# v = k 9.0 (m/0.8)^-0.21: heavier is slower; Cross, Am. J. Phys. 72 (2004) 305, doi 10.1119/1.1634964.
def test_throw_offered_falls_with_mass_as_measured_of_people() -> None:
    speeds = [float(answers_with({"mass": mass})["release_speed"].split()[0]) for mass in ("80 g", "4.8 kg")]
    assert speeds[0] / speeds[1] == pytest.approx(60.0**0.21, rel=0.02)


# Trapezoid of chords 2 and 1 over span 6: c = 14/9, y = 4/3 (McCormick 1995, by hand).
def test_mean_chord_of_a_trapezoid() -> None:
    answers = {"root_chord": "1 m", "tip_chord": "0.5 m", "span": "3 m", "sweep": "45 deg"}
    chord, leading = mean_chord_m(answers)
    assert chord == pytest.approx(7.0 / 9.0)
    assert leading == pytest.approx(2.0 / 3.0)


@pytest.mark.parametrize("letter", "abcde")
def test_guessed_drive_is_of_the_size_of_the_examples(letter: str) -> None:
    setup = setup_of(letter)
    answers = answers_with({
        "mass": setup.airframe.mass_kg.text, "cells": str(setup.power.cells),
        "propeller": f"{setup.power.propeller.diameter_m.text.replace(' in', '')}x5 in",
    })  # fmt: skip
    guess, power = drive_guess(answers), setup.power
    pairs = [
        (guess.motor_g, 1000.0 * power.motor_mass_kg.value),
        (guess.rotor_mm, 1000.0 * power.rotor_radius_m.value),
        (guess.winding_mohm, 1000.0 * power.motor_resistance_ohm.value),
        (guess.idle_a, power.no_load_current_a.value),
        (guess.propeller_g, 1000.0 * power.propeller_mass_kg.value),
        (guess.capacity_mah, 1000.0 * power.capacity_ah.value),
        (guess.pack_mohm, 1000.0 * power.pack_resistance_ohm.value),
    ]
    for guessed, real in pairs:
        assert abs(math.log(guessed / real)) < math.log(2.0)


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("mass", "640", "has no unit"),
        ("mass", "640 mm", "not a mass"),
        ("mass", "0 g", "outside|above zero"),
        ("span", "40 m", "outside"),
        ("style", "javelin", "is not one of throw-started"),
        ("propeller", "9 in", "propeller size"),
        ("propeller", "900x6 in", "diameter"),
        ("kv", "900", "has no unit"),
        ("cells", "three", "is not a whole number; write a whole number such as 3"),
        ("cells", "99", "is above 14; write 14 or less"),
        ("balance_point", "nan mm", "number with a unit"),
        ("name", "x" * 501, "longer than 500 characters; shorten it"),
    ],
)
def test_a_wrong_answer_is_told_at_once(key: str, text: str, said: str) -> None:
    answers = answers_with({})
    question = next(item for item in questions(answers) if item.key == key)
    problem = problem_with(question, text, answers)
    assert problem is not None
    assert re.search(said, problem)


def test_a_pusher_that_spins_in_the_hand_is_refused() -> None:
    with pytest.raises(ValueError, match="position: spins where the arm is"):
        answers_with({"style": "spin-in-hand", "position": "pusher"})


def test_an_answer_to_no_question_is_refused() -> None:
    with pytest.raises(ValueError, match="masss: is not a question"):
        answers_with({"masss": "3 kg"})
    with pytest.raises(ValueError, match="throw: is not a question"):
        answers_with({"style": "line-launched", "throw": "overarm"})


def test_few_questions() -> None:
    for style, layout in STYLES_AND_SHAPES:
        assert len(answers_with({"style": style, "layout": layout})) <= 18


def test_the_file_is_commented_and_not_wide() -> None:
    text = setup_text(answers_with({}))
    assert text.count("# ") > 20
    assert max(map(len, text.splitlines())) <= 110


@pytest.mark.parametrize(("number", "text"), [(2345.6, "2300"), (0.1549, "0.15"), (9.96, "10"), (41.0, "41")])
def test_rounding(number: float, text: str) -> None:
    assert rounded(number) == text


def test_the_style_is_asked_first() -> None:
    assert next(iter(answers_with({}))) == "style"


@pytest.mark.parametrize(("style", "layout"), STYLES_AND_SHAPES)
@pytest.mark.parametrize("mass", ["300 g", "1.2 kg", "4 kg"])
def test_what_is_offered_makes_an_aeroplane_that_flies(
    style: str, layout: str, mass: str, tmp_path: Path
) -> None:
    """Static margin of 5 to 15 % of the mean chord and thrust of 0.8 to 1.4 weights: common practice."""
    setup = load_text(tmp_path, setup_text(answers_with({"style": style, "layout": layout, "mass": mass})))
    figures = derive(setup)
    assert 0.05 < figures.static_margin_share < 0.15
    assert 0.8 < figures.thrust_to_weight < 1.4


EXTREMES = [
    {"mass": "50 g", "span": "400 mm", "root_chord": "60 mm", "tip_chord": "30 mm", "cells": "1"},
    {"mass": "50 g", "cells": "14", "propeller": "2x1 in", "kv": "18000 rpm/V"},
    {"mass": "10 kg", "span": "5 m", "root_chord": "700 mm", "tip_chord": "300 mm", "cells": "1"},
    {"mass": "10 kg", "propeller": "39x30 in", "cells": "14", "kv": "50 rpm/V", "wind": "-15 m/s"},
]


@pytest.mark.parametrize("extreme", EXTREMES)
@pytest.mark.parametrize(("style", "layout"), STYLES_AND_SHAPES)
def test_extreme_answers_are_read_too(
    style: str, layout: str, extreme: dict[str, str], tmp_path: Path
) -> None:
    """The guesses stay within what their fields take."""
    load_text(tmp_path, setup_text(answers_with({"style": style, "layout": layout, **extreme})))


def test_a_name_that_looks_like_a_comment_is_kept(tmp_path: Path) -> None:
    assert load_text(tmp_path, setup_text(answers_with({"name": "a  # b"}))).name == "a  # b"
