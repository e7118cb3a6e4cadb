"""Readings typed by hand, perhaps read from a film of the display: pairs of time and speed."""

import re

from machinelab.errors import LogError
from machinelab.workbook.speed_log.words import TIME_SECONDS

_PAIR = re.compile(
    r"\s*(?P<time>\d[\d:]*[.,]?\d*)\s*(?P<time_unit>s|ms|min)?"
    r"(?:\s*[;|]\s*|,\s+|\s+,?\s*|(?<=[a-z]),)(?P<speed>[-+]?\d+(?:[.,]\d+)?)\s*(?P<unit>[^\d\s.,][^,;]*)?"
)
_PAIR_WITH_COMMA = re.compile(
    r"\s*(?P<time>\d[\d:]*(?:\.\d+)?),(?P<speed>[-+]?\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s.,]*)"
)


def as_table(pairs_text):
    """Typed pairs as a table of seconds and speeds, line for line, so that row numbers stay those typed.

    Parameters
    ----------
    pairs_text : str
        One pair a line.

    Returns
    -------
    bytes
        The same pairs, parted by tabs.

    Raises
    ------
    LogError
        Naming the line that is no pair.
    """
    if not isinstance(pairs_text, str):
        raise LogError("Type the readings as text, one pair of time and rpm a line, for instance '2.5 1100'.")
    lines = pairs_text.split("\n")
    first = next((number for number, line in enumerate(lines) if _is_said(line)), 0)
    if not any(sign.isdecimal() for sign in lines[first]):  # words over the numbers are headings
        lines[first] = ""
    return "\n".join(_pair(line, number) for number, line in enumerate(lines, 1)).encode()


def _is_said(line):
    return bool(line.strip()) and not line.lstrip().startswith("#")


def _pair(line, number):
    """A typed line as ``time <tab> speed``; a comment or blank line stays an empty line."""
    if not _is_said(line):
        return ""
    pair = _PAIR.fullmatch(line.rstrip()) or _PAIR_WITH_COMMA.fullmatch(line.rstrip())
    if not pair:
        raise LogError(
            f"Line {number}: '{line.strip()[:40]}' is no pair. Type a time and a speed, such as '2.5 1100'."
        )
    found = pair.groupdict()
    if re.fullmatch(r"[-+]?\d{1,3},\d{3}", found["speed"]):
        whole = found["speed"].replace(",", "")
        raise LogError(f"Line {number}: is {found['speed']} the speed {whole}? Type {whole}, then.")
    speed = f"{found['speed'].replace(',', '.')} {found['unit'] or ''}"
    return f"{_seconds(found['time'], found.get('time_unit'))!r}\t{speed}"


def _seconds(text, unit):
    """``2.5``, ``0:02.5`` or ``1:00:02`` as seconds, as a film's counter shows them."""
    seconds = 0.0
    for part in text.replace(",", ".").split(":"):
        seconds = 60.0 * seconds + float(part or 0)
    return seconds * TIME_SECONDS[unit or "s"]
