"""Words on paper: how wide they are, where a line must break, and which letters the type has."""

from functools import cache

from machinelab.workbook.share.private import without_private

POINT_MM = 25.4 / 72
FAMILY = "DejaVu Sans"
LEADING = 1.22
CUT_OFF = "…"
_UNKNOWN = "?"
_EM = 100.0


def as_typed(text: str) -> str:
    """What a person typed as one line, without unseen letters, folders or addresses."""
    one_line = " ".join(without_private(text).split())
    return "".join(letter for letter in one_line if letter.isprintable())


def in_type(text: str) -> str:
    """The same with a question mark for every letter that the type does not have."""
    known = _letters()
    return "".join(letter if ord(letter) in known else _UNKNOWN for letter in as_typed(text))


def width_mm(text: str, size: float, bold: bool) -> float:
    """How wide a line of text is; kerning, which makes a line a hair narrower, is left out."""
    return sum(_letter_ems(letter, bold) for letter in text) * size * POINT_MM


def line_mm(size: float) -> float:
    """From one line of text to the next."""
    return size * LEADING * POINT_MM


def wrapped(text: str, room_mm: float, size: float, *, bold: bool = False, most: int = 99) -> list[str]:
    """The lines of a text, none wider than the room; what is beyond the most lines is cut off."""
    lines: list[str] = []
    for word in in_type(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(joined, size, bold) <= room_mm:
            lines[-1] = joined
        else:
            lines += _pieces(word, room_mm, size, bold)
    if len(lines) > most:
        lines = [*lines[: most - 1], _shortened(lines[most - 1], room_mm, size, bold)]
    return lines


def _pieces(word: str, room_mm: float, size: float, bold: bool) -> list[str]:
    """A word that is wider than the room, in pieces that are not."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_mm(pieces[-1] + letter, size, bold) > room_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _shortened(line: str, room_mm: float, size: float, bold: bool) -> str:
    while line and width_mm(line + CUT_OFF, size, bold) > room_mm:
        line = line[:-1]
    return line.rstrip() + CUT_OFF


@cache
def _letter_ems(letter: str, bold: bool) -> float:
    """How far the next letter stands off, as a share of the type's size."""
    font = _font(bold)
    # The library shares its fonts: whoever drew last has left it at another size.
    font.set_size(_EM, 72)
    # It counts pixels in 65536ths.
    return font.load_char(ord(letter)).linearHoriAdvance / 65536 / _EM


@cache
def _font(bold: bool):
    from matplotlib.font_manager import FontProperties, findfont, get_font

    return get_font(findfont(FontProperties(family=FAMILY, weight="bold" if bold else "normal")))


@cache
def _letters() -> frozenset[int]:
    return frozenset(_font(True).get_charmap())
