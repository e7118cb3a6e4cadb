"""Readings typed as a small table: one reading a line, its figures in a fixed order with blanks between."""

import re
from collections.abc import Sequence

import numpy as np

from machinelab.errors import LogError, MachinelabError, UnitError
from machinelab.units import number
from machinelab.units.typed_number import take_number, tidy

MOST_LINES = 10_000
OTHER_UNITS = "Other units: name them in a first line, such as {}."
# Nothing that is read off an instrument in a workshop, in its usual unit, is larger.
LARGEST_FIGURE = 1e6
_FAR_TOO_LARGE = re.compile(r"\d[eE]\+?\d\d")


def read_columns(
    content: str | bytes, columns: Sequence[str], example: str, *, name: str = "readings"
) -> np.ndarray:
    r"""Read typed figures, one row a line.

    Blank lines, lines that begin with #, and headings without a figure are passed over. A heading of units
    alone, one for each column and the last of them for all that follow, says in what the figures stand.

    Parameters
    ----------
    content : str or bytes
        What was typed or pasted.
    columns : sequence of str
        What the figures of a line are, in plain words, in their order; the last word is the unit that is
        wanted, where there is one.
    example : str
        One line that would do.
    name : str
        What to call it in messages.

    Returns
    -------
    array of shape (readings, columns)
        The figures.

    Raises
    ------
    LogError
        Naming the line that has too few or too many figures, or something that is no number.

    Examples
    --------
    >>> read_columns("rpm volts\n1000 30.2\n2000 60.1", ("rpm", "volts"), "1000 30.2")
    array([[1000. ,   30.2],
           [2000. ,   60.1]])
    >>> read_columns("in thou\n4 0.5", ("place mm", "dial mm"), "100 0.01").round(4)
    array([[1.016e+02, 1.270e-02]])
    """
    text = content.decode("utf-8", errors="replace") if isinstance(content, bytes) else content
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise LogError(f"The {name} have {len(lines)} lines; {MOST_LINES} are the most.")
    found = [_row(line, number, columns, example) for number, line in enumerate(lines, start=1)]
    rows = [row for row in found if row]
    if not rows:
        raise LogError(f"No figures in the {name}. Type {_wanted(columns)} a line, such as {example!r}.")
    return np.array(rows) * _sizes(lines, columns)


def _row(line: str, number: int, columns: Sequence[str], example: str) -> list[float]:
    said = line.partition("#")[0].strip()
    if not any(sign.isdigit() for sign in said):
        return []
    figures = said.replace(";", " ").split()
    try:
        numbers = [_figure(figure) for figure in figures]
    except MachinelabError:
        raise LogError(f"Line {number}: {_about_slip(said)} Such as {example!r}.") from None
    if not all(abs(one) <= LARGEST_FIGURE for one in numbers):
        raise LogError(f"Line {number}: {_too_large(said)}")
    if len(numbers) != len(columns):
        raise LogError(
            f"Line {number}: {said[:40]!r} has {len(numbers)} figures; type {_wanted(columns)}, "
            f"such as {example!r}."
        )
    return numbers


def _figure(typed: str) -> float:
    """One bare figure, through the door that every typed number goes through."""
    found = take_number(tidy(typed))
    if found.rest:
        raise UnitError(f"{typed!r} is more than a number.")
    return float(found.value)


def _sizes(lines: Sequence[str], columns: Sequence[str]) -> list[float]:
    """What each column is multiplied by, after the first heading that names units and nothing else."""
    headings = (line.split() for line in lines if not any(sign.isdigit() for sign in line))
    return next((sizes for words in headings if (sizes := _named(words, columns))), [1.0] * len(columns))


def _named(words: Sequence[str], columns: Sequence[str]) -> list[float]:
    """The sizes that a heading of units gives the columns; empty where it is no such heading."""
    if not words or len(words) > len(columns):
        return []
    for_all = [*words, *[words[-1]] * (len(columns) - len(words))]
    try:
        return [_size(unit, column.split()[-1]) for unit, column in zip(for_all, columns, strict=True)]
    except MachinelabError:
        return []


def _size(unit: str, wanted: str) -> float:
    try:
        number(f"1 {wanted}", wanted)
    except MachinelabError:
        # A count, or a reading whose unit is chosen elsewhere.
        return 1.0
    return number(f"1 {unit}", wanted)


def _too_large(said: str) -> str:
    return f"{said[:40]!r} has a figure beyond a million; look at it again."


def _about_slip(said: str) -> str:
    if _FAR_TOO_LARGE.search(said):
        return _too_large(said)
    if "," in said:
        return f"{said[:40]!r} has a comma. Type a point for decimals, and a blank between figures."
    return f"{said[:40]!r} has something that is no number. Type figures without their units."


def _wanted(columns: Sequence[str]) -> str:
    return ", ".join(columns[:-1]) + " and " + columns[-1] if len(columns) > 1 else columns[0]
