"""Text in columns of one width of letter, as a code box or a plain page shows it."""

import textwrap

WIDTH = 76
_BETWEEN, _NARROWEST = 2, 5


def wrapped(text: str, width: int = WIDTH, *, indent: str = "") -> list[str]:
    """The lines of a text, none longer than the width; what runs on is set in."""
    lines = []
    for line in text.split("\n"):
        lines += textwrap.wrap(line, width, initial_indent=indent, subsequent_indent=indent + "    ") or [""]
    return lines


def text_table(headings: tuple[str, ...], rows: tuple[tuple[str, ...], ...], width: int = WIDTH) -> list[str]:
    r"""A table as lines no longer than the width; a table of too many columns becomes a list of its cells.

    Examples
    --------
    >>> print("\n".join(text_table(("step", "verdict"), (("05", "MET"), ("06", "NOT PROVEN")))))
    step  verdict
    ----  ----------
    05    MET
    06    NOT PROVEN
    """
    room = width - _BETWEEN * (len(headings) - 1)
    if room < _NARROWEST * len(headings):
        return _stacked(headings, rows, width)
    widths = _shares(headings, rows, room)
    ruled = tuple("-" * wide for wide in widths)
    return [line for row in (headings, ruled, *rows) for line in _row(row, widths)]


def _shares(headings, rows, room: int) -> list[int]:
    """As wide as the widest cell, the widest cut down alike until all have room, words kept whole."""
    columns = list(zip(headings, *rows, strict=True))
    natural = [max(1, *(len(" ".join(cell.split())) for cell in column)) for column in columns]
    words = [max((len(word) for cell in column for word in cell.split()), default=1) for column in columns]
    least = words if sum(words) <= room else [1] * len(columns)
    cap = max(natural)
    while sum(_cut(natural, least, cap)) > room:
        cap -= 1
    return _cut(natural, least, cap)


def _cut(natural: list[int], least: list[int], cap: int) -> list[int]:
    return [max(min(wide, cap), narrow) for wide, narrow in zip(natural, least, strict=True)]


def _row(cells, widths) -> list[str]:
    columns = [textwrap.wrap(cell, wide) or [""] for cell, wide in zip(cells, widths, strict=True)]
    deepest = max(len(column) for column in columns)
    columns = [column + [""] * (deepest - len(column)) for column in columns]
    return [
        (" " * _BETWEEN).join(cell.ljust(wide) for cell, wide in zip(line, widths, strict=True)).rstrip()
        for line in zip(*columns, strict=True)
    ]


def _stacked(headings, rows, width: int) -> list[str]:
    lines = []
    for number, row in enumerate(rows, 1):
        lines += [f"{number}."]
        lines += [
            line
            for pair in zip(headings, row, strict=True)
            for line in wrapped(": ".join(pair), width, indent="  ")
        ]
    return lines
