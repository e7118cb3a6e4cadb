"""Readings typed as a small table: one reading a line, its figures in a fixed order with blanks between."""

from collections.abc import Sequence

import numpy as np

from machinelab.errors import LogError

MOST_LINES = 10_000
# Nothing that is read off an instrument in a workshop, in its usual unit, is larger.
LARGEST_FIGURE = 1e6


def read_columns(
    content: str | bytes, columns: Sequence[str], example: str, *, name: str = "readings"
) -> np.ndarray:
    r"""Read typed figures, one row a line.

    Blank lines, lines that begin with #, and headings without a figure are passed over.

    Parameters
    ----------
    content : str or bytes
        What was typed or pasted.
    columns : sequence of str
        What the figures of a line are, in plain words, in their order.
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
    """
    text = content.decode("utf-8", errors="replace") if isinstance(content, bytes) else content
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise LogError(f"The {name} have {len(lines)} lines; {MOST_LINES} are the most.")
    found = [_row(line, number, columns, example) for number, line in enumerate(lines, start=1)]
    rows = [row for row in found if row]
    if not rows:
        raise LogError(f"No figures in the {name}. Type {_wanted(columns)} a line, such as {example!r}.")
    return np.array(rows)


def _row(line: str, number: int, columns: Sequence[str], example: str) -> list[float]:
    said = line.partition("#")[0].strip()
    if not any(sign.isdigit() for sign in said):
        return []
    figures = said.replace(";", " ").replace("\N{MINUS SIGN}", "-").split()
    try:
        numbers = [float(figure) for figure in figures]
    except ValueError:
        raise LogError(f"Line {number}: {_about_slip(said)} Such as {example!r}.") from None
    if not all(abs(one) <= LARGEST_FIGURE for one in numbers):
        raise LogError(f"Line {number}: {said[:40]!r} has a figure beyond a million; look at it again.")
    if len(numbers) != len(columns):
        raise LogError(
            f"Line {number}: {said[:40]!r} has {len(numbers)} figures; type {_wanted(columns)}, "
            f"such as {example!r}."
        )
    return numbers


def _about_slip(said: str) -> str:
    if "," in said:
        return f"{said[:40]!r} has a comma. Type a point for decimals, and a blank between figures."
    return f"{said[:40]!r} has something that is no number. Type figures without their units."


def _wanted(columns: Sequence[str]) -> str:
    return ", ".join(columns[:-1]) + " and " + columns[-1] if len(columns) > 1 else columns[0]
