"""Hostile inputs by luck that can be had again: whole ones, damaged as bytes, as text, as trees of values."""

from __future__ import annotations

import io
import json
import random
import re
from collections.abc import Callable
from typing import Any

NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
NUMBERS = (
    b"0", b"-0.0", b"-1", b"1e999", b"-1e999", b"1e308", b"5e-324", b"NaN", b".nan", b"-.inf", b"Infinity",
    b"9007199254740993", b"9" * 400, b"0x7fffffff", b"1_000", b"1,5", b"\xd9\xa1\xd9\xa2", b"",
)  # fmt: skip
LETTERS = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\xed\xa0\x80", b"\xc0\xaf", b"\xe2\x80\xae", b"\xf0\x9f\x9b\xa9",
    b"\xe2\x80\xa8", b"\x1b[2J", b"\r", b"\n", b"\t", b'"', b"'", b"<", b"&", b"%s%n", b"../../etc/passwd",
    b"C:\\con", b"{{7*7}}", b"'; DROP TABLE notes;--", b"!!python/object:x", b"&a [*a]", b"<<: *a",
)  # fmt: skip
VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e308, -1e308, 5e-324, 2**63, 2**64, -(2**63) - 1, 10**400, float("nan"),
    float("inf"), "", " ", "nan", "1e999 kg", "-3 mm", "640 g +- 700 g", "\x00", "\ud800", "\u202e",
    "\U0001f6e9", "x" * 5_000, "../../x", "a\nb", "2031-02-30", "24:61",
    [], {}, [[]], [None], {"": ""}, [0] * 2_000,
)  # fmt: skip
DEEP = 600

Luck = random.Random
Damage = Callable[[bytes, Luck, tuple[bytes, ...]], bytes]


def _span(data: bytes, luck: Luck) -> tuple[int, int]:
    start = luck.randint(0, len(data))
    return start, min(len(data), start + int(luck.expovariate(1 / 12)))


def _bits(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    if not data:
        return b"\x00"
    at = luck.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << luck.randrange(8))]) + data[at + 1 :]


def _cut(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    start, end = _span(data, luck)
    return data[:start] + data[end:]


def _again(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    start, end = _span(data, luck)
    return data[:end] + data[start:end] * luck.choice((1, 2, 30)) + data[end:]


def _short(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    return data[: luck.randint(0, len(data))]


def _word(data: bytes, luck: Luck, words: tuple[bytes, ...]) -> bytes:
    start, end = _span(data, luck)
    word = luck.choice(words or LETTERS)
    return data[:start] + word + data[luck.choice((start, end)) :]


def _letters(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    at = luck.randint(0, len(data))
    return data[:at] + luck.choice(LETTERS) + data[at:]


def _number(data: bytes, luck: Luck, words: tuple[bytes, ...]) -> bytes:
    there = list(NUMBER.finditer(data))
    if not there:
        return _word(data, luck, words)
    one = luck.choice(there)
    return data[: one.start()] + luck.choice(NUMBERS) + data[one.end() :]


def _figure(data: bytes, luck: Luck, words: tuple[bytes, ...]) -> bytes:
    """Change one figure of a number: the input stays whole, and says something else."""
    there = [at for at, byte in enumerate(data) if 48 <= byte <= 57]
    if not there:
        return _word(data, luck, words)
    at = luck.choice(there)
    return data[:at] + b"%d" % luck.randrange(10) + data[at + 1 :]


def _lines(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    lines = data.split(b"\n")
    one, other = luck.randrange(len(lines)), luck.randrange(len(lines))
    how = luck.randrange(4)
    if how == 0:
        del lines[one]
    elif how == 1:
        lines[one], lines[other] = lines[other], lines[one]
    elif how == 2:
        lines.insert(other, lines[one])
    else:
        lines[one] = b" " * luck.randint(0, 6) + lines[one].lstrip()
    return b"\n".join(lines)


def _coded(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    return data.decode("latin-1").encode(luck.choice(("utf-16", "utf-16-le", "utf-8", "utf-32")))


def _nested(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    opens, closes = luck.choice(((b"[", b"]"), (b'{"a":', b"}"), (b"<a>", b"</a>"), (b"- ", b"")))
    at = luck.randint(0, len(data))
    return data[:at] + opens * DEEP + data[at:] + closes * luck.choice((0, DEEP))


def _long(data: bytes, luck: Luck, _: tuple[bytes, ...]) -> bytes:
    lines = data.split(b"\n")
    one = luck.randrange(len(lines))
    return b"\n".join([*lines[:one], *[lines[one]] * luck.choice((50, 400)), *lines[one:]])


def tree_of(data: bytes) -> Any:
    """Return what JSON or YAML says; None if it says nothing."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        pass
    try:
        return YAML(typ="safe", pure=True).load(io.StringIO(data.decode("utf-8")))
    except (YAMLError, ValueError, RecursionError, TypeError, AttributeError):
        return None


def damaged_tree(tree: Any, luck: Luck) -> Any:
    """Return a tree with one place of it replaced, gone, doubled, renamed or put deeper."""
    if not isinstance(tree, dict | list) or not tree or luck.random() < 0.1:
        return luck.choice((*VALUES, [tree], {"a": tree}))
    if isinstance(tree, list):
        at, held = luck.randrange(len(tree)), list(tree)
        how = luck.randrange(4)
        if how > 1:
            held[at] = damaged_tree(held[at], luck)
        else:
            held[at : at + 1] = [held[at]] * (0, 30)[how]
        return held
    made = dict(tree)
    key = luck.choice(list(made))
    how = luck.randrange(5)
    value = made.pop(key)
    if how == 1:
        made[f"{key}{luck.choice(('s', ' ', '_mps', '2'))}"] = value
    elif how == 2:
        made[key], made["extra"] = value, luck.choice(VALUES)
    elif how > 2:
        made[key] = damaged_tree(value, luck)
    return made


def _tree(data: bytes, luck: Luck, words: tuple[bytes, ...]) -> bytes:
    tree = tree_of(data)
    if not isinstance(tree, dict | list):
        return _number(data, luck, words)
    return json.dumps(damaged_tree(tree, luck), default=str).encode("utf-8")


WAYS: tuple[Damage, ...] = (
    _bits, _cut, _again, _short, _word, _letters, _number, _lines, _coded, _nested, _long, _tree,
    _tree, _figure, _figure, _figure, _figure,
)  # fmt: skip


def damaged(whole: list[bytes], words: tuple[bytes, ...], longest: int, luck: Luck) -> bytes:
    """Return one of the whole inputs, or halves of two, with up to four pieces of damage."""
    data = luck.choice(whole)
    if luck.random() < 0.1:
        other = luck.choice(whole)
        data = data[: luck.randint(0, len(data))] + other[luck.randint(0, len(other)) :]
    for _ in range(luck.choice((1, 1, 1, 1, 2, 4))):
        data = luck.choice(WAYS)(data, luck, words)[:longest]
    return data
