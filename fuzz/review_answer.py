"""What a review said of its launches, as JSON, to be learned from."""

from __future__ import annotations

from fuzz.door import given, hold_plain
from overarm.learn.answers import read_answer

LONGEST = 2_048
WORDS = (
    b'"launches": ', b'"estimates": ', b'"throw_speed_mps": ', b'"value": ', b'"error": ', b'"method": ',
    b'"why_not": ', b'"bound": ', b'"name": ', b'"number": ', b'"kind": ', b'"recording": ', b'"sha256": ',
    b'"start_utc": ', b'"setup": ', b"null", b"NaN", b"1e999", b"[]", b"{}", b"true", b"\\ud800", b"9" * 30,
)  # fmt: skip


def seeds() -> list[bytes]:
    """Return answers with estimates by name and in a list."""
    one = b'{"value":8.4,"error":0.3,"method":"integrated","why_not":"","bound":""}'
    lost = b'{"value":null,"error":0,"method":"","why_not":"no airspeed","bound":""}'
    head = b'{"sha256":"%s","start_utc":"2031-05-20T18:30:00Z","launches":[' % (b"a" * 64)
    return [
        head
        + b'{"number":1,"kind":"launch","estimates":{"throw_speed_mps":%s,"low_speed_ratio":%s}}]}'
        % (one, lost),
        head + b'{"number":1,"estimates":[{"name":"throw_speed_mps",%s]}]}' % one[1:],
        b'{"setup":"","recording":{"sha256":"x","start_utc":""},"launches":[{"estimates":{}}]}',
    ]


def run(data: bytes) -> None:
    """Read it."""
    hold_plain(given(read_answer, data, "answer.json") or ())
