"""How a log's text is laid out (separator, decimal mark, headings), and the table read so.

Nothing here knows about spindles. The ways of splitting are tried on a sample, and pandas reads
the whole with the one that gives the most numbers. Every row keeps the number of its line in the
file, so that a message can point at it.
"""

import csv
import io
import re
import warnings
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise, zip_longest

from machinelab.errors import LogError
from machinelab.workbook.speed_log.text import as_utf8

_SAMPLE_BYTES, _TAIL_BYTES, _SAMPLE_LINES = 65_536, 8_192, 120
_WIDEST = 200
_SPACES = r"\s+"
# Preferred first where two ways of splitting give equally many numbers.
_SEPARATORS = ("\t", ";", "|", ",", _SPACES)
_SEPARATOR_WORDS = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas", _SPACES: "spaces"}
_COMMENT_MARKS = "#%;'!*/"
# Not more of them: a longer list slows every cell down.
_NO_READING = ("-", "--", "---", "----", "-----", "OL", "O.L", "OVER", "ERR", "Err", "ERROR", "Error", "err")
_NO_READING += ("***", "?", "n.a.")

_UNIT = r"(?:\s*(?:[^\W\d_][^\d\s,;|:]{0,3}[^\s,;|:]{0,8}|1/min|%))?"
_END = r"(?:[eE][-+]?\d{1,3})?" + _UNIT
_NUMBER = {
    ".": re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+|\d{1,3}(?:[,' ]\d{3})+(?:\.\d*)?)" + _END),
    ",": re.compile(r"[-+]?(?:\d+(?:,\d+)?|,\d+|\d{1,3}(?:[.' ]\d{3})+(?:,\d+)?)" + _END),
}
_CLOCK = re.compile(r"\d{1,3}:\d{1,2}(?::\d{1,2})?(?:[.,:]\d+)?(?:\s*[AaPp][Mm])?")
ISO_MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:?\d\d)?")
_DATE = re.compile(r"\d{1,4}[-./]\d{1,2}[-./]\d{1,4}(?:[T ]+\d{1,2}:\d{2}[^;|]{0,22})?")
_GROUPED = {
    mark: re.compile(rf"[-+]?[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+(?!\d|{re.escape(mark)})")
    for mark in ",.' "
}


@dataclass(frozen=True)
class Layout:
    """How a text is to be split: separator, decimal mark, where the readings start, headings."""

    separator: str
    decimal: str
    thousands: str | None
    width: int
    first_line: int
    headings: tuple[str, ...]
    dated: tuple[int, ...] = ()


@dataclass(frozen=True)
class Table:
    """A text as columns: a pandas frame, the line number of each of its rows, and how it was read."""

    frame: object
    line: object
    layout: Layout
    notes: tuple[str, ...]


def read_table(raw, name):
    """Read the bytes of a log as a table of columns.

    Parameters
    ----------
    raw : bytes
        The file as it is.
    name : str
        What to call it in messages.

    Returns
    -------
    Table
        The columns, the line number of every row, and notes of what was understood.

    Raises
    ------
    LogError
        When there is no table of numbers in it; the message says what was found instead.
    """
    body, notes = as_utf8(raw, name)
    layout = _find_layout(body, name)
    frame = _frame(body, layout, name)
    import numpy as np

    line = np.arange(layout.first_line, layout.first_line + len(frame))
    return Table(frame, line, layout, (*notes, _spoken_layout(layout)))


def _find_layout(body, name):
    head = body[:_SAMPLE_BYTES].decode("utf-8", errors="replace").split("\n")
    if len(body) > _SAMPLE_BYTES:
        head.pop()
    tail = body[-_TAIL_BYTES:].decode("utf-8", errors="replace").split("\n")[1:]
    for lines in (head[:_SAMPLE_LINES], head):
        layouts = [found for separator in _SEPARATORS for found in _tried(lines, separator)]
        score, separator, decimal, width, first = max(layouts, key=lambda found: found[0])
        if score[0] >= 1:
            break
    else:
        raise LogError(_nothing_found(head, name))
    if separator == "," and width == 2 and _one_column_with_decimal_commas(lines[first:]):
        separator, decimal, width = ";", ",", 1
    headings = _headings(lines[:first], separator, width)
    if separator == "," and first and 2 * len(_split(lines[first - 1], ",")) == width > 2:
        raise LogError(
            f"{name}, row {first + 1}: {width} numbers stand under {width // 2} headings, so commas part the "
            "columns and also stand inside the numbers. Export with semicolons between the columns, or with "
            "points for decimals."
        )
    rows = [_split(line, separator) for line in [*lines[first : first + 300], *tail]]
    decimal, thousands = _marks(rows, decimal)
    dated = tuple(
        i for i in range(width) if all(len(row) > i and ISO_MOMENT.fullmatch(row[i]) for row in rows[:50])
    )
    return Layout(separator, decimal, thousands, width, first + 1, headings, dated)


def _ways():
    return [(separator, mark) for separator in _SEPARATORS for mark in ".,"]


def _tried(lines, separator):
    rows = [_split(line, separator) for line in lines]
    return [_try(rows, separator, decimal) for decimal in ".,"]


def _try(rows, separator, decimal):
    """How well the rows read as numbers this way: rows of readings, then cells left over, then columns."""
    widths = [_data_width(cells, decimal) for cells in rows]
    counted = Counter(width for width in widths if width)
    if not counted:
        return (0, 0, False, 0), separator, decimal, 0, 0
    width, count = max(counted.items(), key=lambda item: (item[1], item[0]))
    # A line of numbers in the maker's preamble stands alone; readings come in rows.
    wide = [number for number, cell_count in enumerate(widths) if cell_count == width]
    written = [number for number, cells in enumerate(rows) if cells]
    after = dict(pairwise(written))
    first = next((number for number in wide if widths[after.get(number, number)]), wide[0])
    left_over = sum(not _is_reading(cell, decimal) for number in wide for cell in rows[number])
    preference = -_ways().index((separator, decimal))
    return (count, -left_over, width > 1, preference), separator, decimal, min(width, _WIDEST), first


def _split(line, separator):
    if separator == _SPACES:
        return line.split()
    try:
        cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:
        return []
    cells = [cell.strip() for cell in cells]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _data_width(cells, decimal):
    """The number of cells if the line holds readings, else 0."""
    numbers = sum(_is_reading(cell, decimal) for cell in cells)
    if len(cells) == 1:
        return int(numbers == 1)
    blanks = sum(not cell or cell in _NO_READING or cell.lower() == "nan" for cell in cells)
    return len(cells) if numbers and numbers + blanks >= 2 else 0


def _is_reading(cell, decimal):
    return any(pattern.fullmatch(cell) for pattern in (_NUMBER[decimal], _CLOCK, _DATE))


def _one_column_with_decimal_commas(lines):
    """``0,512`` / ``0,634`` are stamps with a decimal comma, not two columns, when only so they rise."""
    pairs = [_split(line, ",") for line in lines if line.strip()]
    if len(pairs) < 3 or not all(
        len(pair) == 2 and pair[0].isdecimal() and pair[1].isdecimal() for pair in pairs
    ):
        return False
    joined = [float(".".join(pair)) for pair in pairs]
    whole = [int(pair[0]) for pair in pairs]
    return all(b > a for a, b in pairwise(joined)) and len(set(whole)) < len(whole)


def _marks(rows, decimal):
    """Decimal mark and thousands mark, told from all the rows of the sample together."""
    columns = [
        [cell for cell in column if cell[:1] and cell[0] in "+-.,0123456789" and not _CLOCK.fullmatch(cell)]
        for column in zip_longest(*rows, fillvalue="")
    ]
    columns = [[cell for cell in column if not _DATE.fullmatch(cell)] for column in columns]
    for mark in ",.' ":
        marked = [cell for column in columns for cell in column if mark in cell]
        if not marked or not all(_GROUPED[mark].match(cell) for cell in marked):
            continue
        other = {",": ".", ".": ","}.get(mark, decimal)
        if mark in "' " or any(other in cell for column in columns for cell in column):
            return other, mark
        # Three decimals everywhere look like groups of three; but groups leave 998 without a mark.
        for column in columns:
            if any(mark in cell for cell in column) and any(
                cell.isdecimal() and len(cell) < 4 for cell in column
            ):
                return other, mark
    return decimal, None


def _headings(above, separator, width):
    """The words right above the readings, one text a column; a row of units below the names joins them."""
    found = []
    # Over a single column a second line would be somebody's remark, not the name above a unit.
    nearest = [line for line in above if line.strip()][-min(width, 2) :]
    for line in reversed(nearest):
        bare = line.strip().lstrip(_COMMENT_MARKS).strip()
        cells = _split(bare, separator)
        if len(cells) != width and not found:
            cells = [cell for cell in re.split(r"\s*[,;\t|]\s*|\s+", bare) if cell]
        words = any(re.search(r"[^\W\d_]", cell) for cell in cells)
        if len(cells) != width or not words or any(_is_reading(cell, ".") for cell in cells):
            break
        found.insert(0, cells)
    if not found:
        return ("",) * width
    return tuple(" ".join(parts).strip() for parts in zip(*found, strict=True))


def _frame(body, layout, name):
    """Let pandas read the whole text; line for line, so that row numbers stay true."""
    import pandas as pd

    start = 0
    for _ in range(layout.first_line - 1):
        start = body.index(b"\n", start) + 1
    expected = body.count(b"\n", start) + 1
    sample = body[start : start + _SAMPLE_BYTES].decode("utf-8", errors="replace")
    for quoting, low_memory in (
        (csv.QUOTE_MINIMAL, True),
        (csv.QUOTE_MINIMAL, False),
        (csv.QUOTE_NONE, False),
    ):
        readings = io.BytesIO(body)
        readings.seek(start)
        try:
            # Read in stretches is quicker, but a column of two minds then has to be read as a whole.
            with warnings.catch_warnings():
                warnings.simplefilter("error", pd.errors.DtypeWarning)
                frame = pd.read_csv(
                    readings,
                    sep=layout.separator,
                    decimal=layout.decimal,
                    thousands=layout.thousands,
                    header=None,
                    names=range(layout.width),
                    usecols=range(layout.width),
                    index_col=False,
                    skip_blank_lines=False,
                    skipinitialspace=layout.separator + " " in sample,
                    na_values=_NO_READING,
                    parse_dates=list(layout.dated),
                    date_format="ISO8601",
                    low_memory=low_memory,
                    quoting=quoting,
                )
        except (pd.errors.ParserError, pd.errors.EmptyDataError, pd.errors.DtypeWarning):
            continue
        if len(frame) == expected:
            return frame
    raise LogError(
        f"{name}: the quotation marks in it do not pair up. Save it again without quotation marks."
    )


def _spoken_layout(layout):
    if layout.width == 1:
        return f"One column of numbers from row {layout.first_line} on."
    words = f"Columns are parted by {_SEPARATOR_WORDS[layout.separator]}"
    words += f", readings start in row {layout.first_line}"
    words += ", decimal comma" if layout.decimal == "," else ""
    words += f", '{layout.thousands}' between thousands" if layout.thousands else ""
    return words + "."


def _nothing_found(lines, name):
    written = [(number, line) for number, line in enumerate(lines, 1) if line.strip()]
    number, line = written[0] if written else (1, "")
    start = (
        f"{name}: no row holds two numbers (a time and a speed). Row {number} begins '{line.strip()[:40]}'. "
    )
    if len(written) == 1 and any(len(_split(line, separator)) > 1 for separator in _SEPARATORS):
        start += "It looks like headings without readings below them. "
    return start + "Wanted is one reading a line, for instance '0.25, 1198'."
