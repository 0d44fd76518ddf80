"""Reports in every form an aircraft might give them."""

from __future__ import annotations

from pathlib import Path

import pytest

from overarm.errors import InputError
from overarm.readback.report import read_report

WANTED = {"motor_delay": "0.60", "nose_up": "15", "then_do": "go home"}


def read(tmp_path: Path, text: str | bytes, name: str = "report.txt", **more: object) -> dict[str, str]:
    file = tmp_path / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    heads = more.get("heads")
    assert heads is None or isinstance(heads, tuple)
    found = read_report(file, heads, decimal_comma=bool(more.get("comma")))
    return {item.name: item.text for item in found.values}


@pytest.mark.parametrize(
    "text",
    [
        "motor_delay=0.60\nnose_up=15\nthen_do=go home\n",
        "# read back\n\nmotor_delay = 0.60   # late\n; more\nnose_up = 15\n// and\nthen_do = go home\n",
        "motor_delay: 0.60\r\nnose_up: 15\r\nthen_do: go home\r\n",
        "motor_delay\t0.60\nnose_up\t15\nthen_do\tgo home\n",
        "motor_delay 0.60\nnose_up    15\nthen_do go home\n",
        "motor_delay,0.60\nnose_up,15\nthen_do,go home\n",
        "name;value;remark\nmotor_delay;0.60;a\nnose_up;15;\nthen_do;go home;b\n",
        '"motor_delay","0.60"\n"nose_up","15"\n"then_do","go home"\n',
        "motor_delay,nose_up,then_do\n0.60,15,go home\n",
        '{"motor_delay": 0.60, "nose_up": 15, "then_do": "go home"}',
        """[{"name": "motor_delay", "value": 0.60}, {"name": "nose_up", "value": 15},
            {"name": "then_do", "value": "go home"}]""",
    ],
)
def test_forms(tmp_path: Path, text: str) -> None:
    assert read(tmp_path, text) == WANTED


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings(tmp_path: Path, codec: str) -> None:
    assert read(tmp_path, "höhe = 40\n".encode(codec)) == {"höhe": "40"}


def test_latin_1_is_read_and_told(tmp_path: Path) -> None:
    file = tmp_path / "report.txt"
    file.write_bytes("wait = 1\nhöhe = 40\n".encode("latin-1"))
    found = read_report(file)
    assert found.values[1].name == "höhe"
    (note,) = found.notes
    assert "line 2 is not UTF-8" in note


def test_nested_names_get_dots(tmp_path: Path) -> None:
    text = '{"launch": {"wait": 0.6, "power": {"top": 95}}, "list": [1, true, null]}'
    wanted = {"launch.wait": "0.6", "launch.power.top": "95", "list.0": "1", "list.1": "true", "list.2": ""}
    assert read(tmp_path, text) == wanted
    assert read(tmp_path, "[launch]\nwait = 0.6\n[home]\nwait = 7\n") == {
        "launch.wait": "0.6",
        "home.wait": "7",
    }


def test_columns_are_chosen_by_their_heads(tmp_path: Path) -> None:
    text = "no,what,unit,now\n1,motor_delay,s,0.60\n2,nose_up,deg,15\n"
    assert read(tmp_path, text, heads=("what", "now")) == {"motor_delay": "0.60", "nose_up": "15"}
    with pytest.raises(InputError, match=r":1:1: set: has no such column.*no, what, unit, now"):
        read(tmp_path, text, heads=("what", "set"))
    objects = '[{"what": "motor_delay", "now": 0.6}]'
    assert read(tmp_path, objects, heads=("what", "now")) == {"motor_delay": "0.6"}


def test_decimal_commas_in_a_table_with_commas(tmp_path: Path) -> None:
    text = "wait,0,60\nlevel,8,1e-3\nangle,15,deg\n"
    assert read(tmp_path, text, comma=True) == {"wait": "0,60", "level": "8,1e-3", "angle": "15"}
    assert read(tmp_path, "wait,3,1\nlevel,8,2\n") == {"wait": "3", "level": "8"}


def test_names_given_twice(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"report.txt:3:1: Wait: stands here again, after line 1 \(0.6\)"):
        read(tmp_path, "wait = 0.6\nlevel = 3\nWait = 0.9\n")
    with pytest.raises(InputError, match="stands here again"):
        read(tmp_path, '{"wait": 0.6, "wait": 0.9}')


def test_places_of_json_values(tmp_path: Path) -> None:
    file = tmp_path / "report.json"
    file.write_text('{\n "a": {"wait": 1},\n "b": {"wait": 2}\n}', "utf-8")
    assert [item.place.line for item in read_report(file).values] == [2, 3]


def test_lines_without_a_value(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"report.txt:2:1: has no '='"):
        read(tmp_path, "wait = 0.6\nnonsense\nlevel = 3\n")
    with pytest.raises(InputError, match=r"report.txt:2:1: has no value"):
        read(tmp_path, "wait,0.6\nnonsense\nlevel,3\nmore,4\n")
