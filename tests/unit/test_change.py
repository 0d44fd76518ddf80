"""Changes of a setup: what is put where, what stays, and what is refused."""

from __future__ import annotations

import pytest

from overarm.describe.change import changed, parse_changes, written
from overarm.errors import InputError
from tests.examples import FILES, setup_of


def told(letter: str, **changes: str) -> str:
    with pytest.raises(InputError) as found:
        changed(setup_of(letter), {key.replace("__", "."): value for key, value in changes.items()})
    return str(found.value)


def test_no_change_is_the_same_setup() -> None:
    for letter in "abcde":
        assert changed(setup_of(letter), {}).hash() == setup_of(letter).hash()


def test_a_change_moves_one_value_and_nothing_else() -> None:
    before, after = setup_of("b"), changed(setup_of("b"), {"settings.start_wait": "0.7 s"})
    assert after.settings.start_wait_s.value == pytest.approx(0.7)
    rest = {name: quantity for name, quantity in after.inputs() if name != "settings.start_wait"}
    assert rest == {name: quantity for name, quantity in before.inputs() if name != "settings.start_wait"}
    assert after.origin.file == before.origin.file == str(FILES["b"])


def test_a_measured_value_stays_measured_unless_it_says_otherwise() -> None:
    assert changed(setup_of("b"), {"airframe.mass": "1.7 kg"}).airframe.mass_kg.known == "measured"
    guessed = changed(setup_of("b"), {"airframe.mass": "1.7 kg guessed"}).airframe.mass_kg
    assert guessed.known == "guessed"
    assert guessed.spread > changed(setup_of("b"), {"airframe.mass": "1.7 kg"}).airframe.mass_kg.spread


def test_nested_cards_and_lists_are_reached() -> None:
    after = changed(setup_of("b"), {"airframe.board.tilt": "3 deg", "site.obstacles.0.height": "12 m"})
    assert after.airframe.board.tilt_rad.value == pytest.approx(0.0523599, abs=1e-6)
    assert after.site.obstacles[0].height_m.value == 12.0
    assert after.site.obstacles[0].name == setup_of("b").site.obstacles[0].name


def test_optional_keys_come_and_go() -> None:
    early = changed(setup_of("b"), {"settings.early_pitch": "8 deg", "settings.early_speed": "9 m/s"})
    assert early.settings.early_pitch_rad is not None
    gone = changed(early, {"settings.early_pitch": "none", "settings.early_speed": "none"})
    assert gone.hash() == setup_of("b").hash()


def test_roughness_follows_the_ground_unless_it_is_given() -> None:
    assert changed(setup_of("b"), {"site.ground": "crops"}).site.roughness_m.value == 0.1
    both = changed(setup_of("b"), {"site.ground": "crops", "site.roughness": "0.25 m"})
    assert both.site.roughness_m.value == 0.25


def test_unknown_keys_name_the_nearest() -> None:
    assert "Did you mean start_wait?" in told("b", settings__start_wiat="0.7 s")
    assert "Begin with a card" in told("b", setings__start_wait="0.7 s")


def test_values_are_read_as_in_a_file() -> None:
    assert "settings.start_wait" in told("b", settings__start_wait="7 kg")
    assert "outside 0 s to 20 s" in told("b", settings__start_wait="50 s")
    assert "is missing" in told("b", settings__start_wait="none")


def test_what_does_not_fit_together_is_refused() -> None:
    assert "pusher" in told("b", style="spin-in-hand")
    assert "belong together" in told("b", settings__early_pitch="8 deg")


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("settings.start_wiat", "0.7 s", "Did you mean"),
        ("settings.start_wait", "7 kg", "is not a time"),
        ("airframe.mass", "-1 kg", "outside"),
        ("wings.area", "1 m2", "Begin with a card"),
        ("wind", "2 m/s", "Say on which card: day.wind"),
        ("wing", "2 m", "Begin with a card"),
        ("site.obstacles.7.height", "12 m", "which of the 1, from 0"),
        ("site.obstacles.height", "12 m", "which of the 1, from 0"),
        ("site.obstacles.0.hieght", "12 m", "Did you mean"),
        ("settings.start_wait.more", "1 s", "Begin with a card"),
        ("site.obstacle_file", "nowhere.geojson", "nowhere.geojson"),
        ("settings.early_pitch", "8 deg", "belong together"),
    ],
)
def test_a_fault_names_its_key_and_its_cure(path: str, value: str, said: str) -> None:
    with pytest.raises(InputError) as found:
        changed(setup_of("b"), {path: value})
    assert said in str(found.value)
    assert all(problem.message and problem.cure for problem in found.value.problems)
    if path != "settings.early_pitch":
        assert path in str(found.value)


def test_a_quantity_is_taken_as_it_is() -> None:
    wind = setup_of("a").day.wind_mps
    assert wind != setup_of("b").day.wind_mps
    assert changed(setup_of("b"), {"day.wind": wind}).day.wind_mps == wind


def test_a_spread_is_not_handed_on() -> None:
    spread = changed(setup_of("b"), {"settings.start_wait": "0.6 s +- 0.1 s"})
    assert spread.settings.start_wait_s.spread == pytest.approx(0.1)
    assert changed(spread, {"settings.start_wait": "0.7 s"}).settings.start_wait_s.spread == 0.0


def test_what_stands_in_a_setup_is_told_as_it_was_written() -> None:
    setup = setup_of("b")
    assert written(setup, "settings.start_wait") == "0.60 s"
    assert written(setup, "site.obstacles.0.height") == "15 m"
    for path in ("settings.early_pitch", "site.obstacles.7.height", "site.obstacles.height", "wings.area"):
        assert written(setup, path) == "none"


def test_obstacles_come_and_go_as_a_whole() -> None:
    clear = changed(setup_of("b"), {"site.obstacles": "none"})
    assert clear.site.obstacles == ()
    back = changed(clear, {"site.obstacles": ({"name": "trees", "distance": "140 m", "height": "15 m"},)})
    assert back.hash() == setup_of("b").hash()


def test_every_fault_is_told_at_once() -> None:
    said = told("b", settings__start_wait="7 kg", settings__climb_pitch="2 s")
    assert "settings.start_wait" in said
    assert "settings.climb_pitch" in said


def test_changes_are_written_as_key_and_value() -> None:
    assert parse_changes(["settings.start_wait=0.7s", " day.wind = 3 m/s "]) == {
        "settings.start_wait": "0.7s",
        "day.wind": "3 m/s",
    }


@pytest.mark.parametrize("text", ["settings.start_wait", "=0.7s", "settings.start_wait=", ""])
def test_what_is_no_change_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is no change"):
        parse_changes([text])


def test_a_key_changed_twice_is_refused() -> None:
    with pytest.raises(InputError, match="changed twice"):
        parse_changes(["day.wind=1 m/s", "day.wind=2 m/s"])
