"""Good files and words, spoilt: cut, doubled, mixed with others, given numbers that nobody reckons with."""

import random
import re
from collections.abc import Callable, Sequence

NASTY = [
    *(
        b"",
        b"0",
        b"-0",
        b"-1",
        b"nan",
        b"NaN",
        b"inf",
        b"-Infinity",
        b"1e999",
        b"1e-999",
        b"9" * 400,
        b"9**9**9",
    ),
    *(
        b"1/0",
        b"0/0",
        b"1-1/4",
        b"1,5",
        b"1.5.2",
        b"0x10",
        b"1_000",
        b"\xc2\xbd",
        b"\xd9\xa3",
        b"\xef\xbc\x95",
    ),
    *(b"true", b"null", b"[]", b"{}", b'"', b"'", b"\\", b"\x00", b"\r", b"\n", b"\xff\xfe", b"\xef\xbb\xbf"),
    *(b"../..", b"C:\\", b"<script>", b"'; --", b"%s%n", b"{0}", b"\xe2\x80\xae", b"a" * 3000, b"[" * 300),
]
NUMBER = re.compile(rb"\d+(?:[.,]\d+)?")


def spoilt(chance: random.Random, good: Sequence[bytes]) -> bytes:
    """One of the good ones after one to four slips."""
    content = chance.choice(good)
    for _ in range(chance.choice((1, 1, 2, 3, 4))):
        content = chance.choice(SLIPS)(chance, content, good)
    return content


def _place(chance: random.Random, content: bytes) -> int:
    return chance.randint(0, len(content))


def _cut_off(chance, content, good):
    return content[: _place(chance, content)]


def _taken_out(chance, content, good):
    start = _place(chance, content)
    return content[:start] + content[start + chance.choice((1, 1, 4, 40)) :]


def _put_in(chance, content, good):
    place = _place(chance, content)
    return content[:place] + chance.choice(NASTY) + content[place:]


def _other_byte(chance, content, good):
    if not content:
        return bytes([chance.randrange(256)])
    place = chance.randrange(len(content))
    return content[:place] + bytes([chance.randrange(256)]) + content[place + 1 :]


def _doubled(chance, content, good):
    start = _place(chance, content)
    piece = content[start : start + chance.choice((1, 8, 64))]
    return content[:start] + piece * chance.choice((2, 2, 50)) + content[start:]


def _other_number(chance, content, good):
    numbers = list(NUMBER.finditer(content))
    if not numbers:
        return content + chance.choice(NASTY)
    found = chance.choice(numbers)
    return content[: found.start()] + chance.choice(NASTY) + content[found.end() :]


def _mixed(chance, content, good):
    other = chance.choice(good)
    return content[: _place(chance, content)] + other[_place(chance, other) :]


SLIPS: tuple[Callable[[random.Random, bytes, Sequence[bytes]], bytes], ...] = (
    _cut_off,
    _taken_out,
    _put_in,
    _other_byte,
    _doubled,
    _other_number,
    _mixed,
)
