"""A log as it comes, read into time and speed, pulse stamps, or encoder counts.

Whatever was understood and whatever was repaired is listed in the log's notes; the file itself is
never changed. Drop-outs to zero and glitches stay in: the fit knows better what to do with them.
"""

import hashlib
from dataclasses import replace
from fractions import Fraction
from numbers import Real
from pathlib import Path

import numpy as np

from machinelab.errors import LogError
from machinelab.workbook.speed_log.cells import columns_of
from machinelab.workbook.speed_log.columns import choose_speed, choose_time, speed_rpm, time_seconds
from machinelab.workbook.speed_log.layout import read_table
from machinelab.workbook.speed_log.log import FEWEST_READINGS, SpeedLog, repeats
from machinelab.workbook.speed_log.order import put_in_order
from machinelab.workbook.speed_log.pairs import as_table
from machinelab.workbook.speed_log.sound import is_sound, read_sound
from machinelab.workbook.speed_log.text import raw_bytes, spoken_rows

__all__ = ["FEWEST_READINGS", "SpeedLog", "pulses", "read", "typed"]

_FASTEST_RPM = 100_000.0
_MOST_MARKS = 10_000_000


def read(
    path_or_text: str | Path | bytes,
    *,
    speed_unit: str | None = None,
    time_unit: str | None = None,
    marks_per_turn: int | Fraction | None = None,
    name: str | None = None,
) -> SpeedLog:
    r"""Read a log: a file, its bytes, or pasted text.

    Separator, decimal mark, headings, units, and which column is which are found out and listed in
    ``notes``. One rising column is read as pulse stamps, a column headed as a count as encoder counts, a WAV
    recording as one tick a turn.

    Parameters
    ----------
    path_or_text : str, Path or bytes
        A path, or the text itself (anything with a line break in it), or an uploaded file's bytes.
    speed_unit : str or None
        ``"rpm"``, ``"rev/s"``, ``"Hz"``, ``"rad/s"`` or ``"deg/s"`` where the log does not say.
    time_unit : str or None
        ``"s"``, ``"ms"``, ``"us"``, ``"min"`` or ``"h"`` where the log does not say.
    marks_per_turn : int or Fraction or None [1]
        Pulses, or encoder counts, for one turn of the spindle, where the log holds pulses, counts or hertz;
        pulses and hertz are taken as one a turn if left out.
    name : str or None
        What to call it in messages; the file's name if left out.

    Returns
    -------
    SpeedLog
        Readings in order of time.

    Raises
    ------
    LogError
        When it is no log, or could be read in two ways; the message says what to do.

    Examples
    --------
    >>> log = read("t;n\n" + "\n".join(f"{i * 0.25:g};{1200 - 30 * i}" for i in range(20)))
    >>> log.kind, len(log), float(log.speed_rpm[-1])
    ('speed', 20, 630.0)
    """
    marks = _checked_marks(marks_per_turn)
    raw, name = raw_bytes(path_or_text, name)
    sha256 = hashlib.sha256(raw).hexdigest()
    if is_sound(raw):
        return read_sound(raw, name, sha256)
    return _read(raw, sha256, name, speed_unit=speed_unit, time_unit=time_unit, marks_per_turn=marks)


def typed(pairs_text: str, *, name: str = "typed readings") -> SpeedLog:
    r"""Read hand-typed pairs of time and rpm, one pair a line.

    Parameters
    ----------
    pairs_text : str
        Lines such as ``0 1200``, ``2.5, 1100`` or ``0:02.5  1100 rpm``; seconds and rpm unless a unit stands
        behind. Blank lines and lines that begin with ``#`` are passed over.
    name : str
        What to call it in messages.

    Returns
    -------
    SpeedLog
        The readings.

    Raises
    ------
    LogError
        Naming the line that is no pair.

    Examples
    --------
    >>> typed("\n".join(f"0:{i:02d} {1000 - 50 * i}" for i in range(10))).speed_rpm[:3].tolist()
    [1000.0, 950.0, 900.0]
    """
    table = as_table(pairs_text)
    sha256 = hashlib.sha256(pairs_text.encode("utf-8", errors="replace")).hexdigest()
    headings = ("time", "speed")
    return _read(table, sha256, name, speed_unit="rpm", time_unit="s", headings=headings)


def pulses(
    path_or_text: str | Path | bytes,
    marks_per_turn: int = 1,
    *,
    time_unit: str | None = None,
    name: str | None = None,
) -> SpeedLog:
    """Read pulse stamps: the moment of every mark that passed the pickup.

    Parameters
    ----------
    path_or_text : str, Path or bytes
        One rising column of stamps, or a table that has one.
    marks_per_turn : int [1]
        Magnets, slots or stripes on the spindle.
    time_unit : str or None
        ``"s"``, ``"ms"``, ``"us"`` where the log does not say.
    name : str or None
        What to call it in messages.

    Returns
    -------
    SpeedLog
        Of kind ``"pulses"``.

    Raises
    ------
    LogError
        When there is no rising column of stamps, or the number of marks is no whole number above 0.
    """
    marks = _whole_marks(_checked_marks(marks_per_turn) or 1)
    raw, name = raw_bytes(path_or_text, name)
    table = read_table(raw, name)
    stamps = choose_time(_columns(table, name), name)
    return _pulses(table, stamps, hashlib.sha256(raw).hexdigest(), name, time_unit, marks)


def _checked_marks(marks_per_turn):
    """Marks or counts of one turn as an exact number, or None."""
    if marks_per_turn is None:
        return None
    usable = isinstance(marks_per_turn, Real) and 0 < marks_per_turn <= _MOST_MARKS
    if not usable or isinstance(marks_per_turn, bool):
        raise LogError(f"Marks a turn are a number above 0, not {str(marks_per_turn)[:20]!r}. Count them.")
    marks = Fraction(marks_per_turn)
    return int(marks) if marks.denominator == 1 else marks


def _whole_marks(marks):
    if not isinstance(marks, int):
        raise LogError(f"Marks a turn are a whole number, not {marks}. Count the magnets on the spindle.")
    return marks


def _read(raw, sha256, name, *, speed_unit, time_unit, marks_per_turn=None, headings=None):
    table = read_table(raw, name)
    if headings:
        table = replace(table, layout=replace(table.layout, headings=headings))
    columns = _columns(table, name)
    if len(columns) == 1:
        return _pulses(table, columns[0], sha256, name, time_unit, _whole_marks(marks_per_turn or 1))
    time = choose_time(columns, name)
    reading, passed_over = choose_speed(columns, time)
    seconds, unit_s, time_note = time_seconds(time, time_unit, name)
    notes = [*table.notes, time_note]
    counts = "count" in reading.roles and "speed" not in reading.roles
    if counts:
        a_turn = f", {marks_per_turn} a turn" if marks_per_turn else ""
        values, note = reading.values, f"Encoder count is {reading.name}{a_turn}."
    else:
        values, note = speed_rpm(reading, speed_unit, name, marks_per_turn or 1)
    notes.append(note)
    if passed_over:
        notes.append("Not used: " + ", ".join(column.name for column in passed_over) + ".")
    rows, seconds, values, said = _usable(table.line, seconds, values)
    notes += said
    _enough(rows, name)
    order, seconds, said = put_in_order(
        seconds, rows, values, unit_s=unit_s, clock=time.written_as == "clock", name=name
    )
    notes += said
    rows, values = rows[order], values[order]
    _enough(rows, name)
    log = SpeedLog("speed", name, rows, sha256, tuple(notes), time_s=seconds)
    return _with_counts(log, values, marks_per_turn) if counts else _with_speed(log, values)


def _columns(table, name):
    columns = columns_of(table)
    if not columns:
        raise LogError(
            f"{name}: no column holds mostly numbers. Wanted is one reading a line: a time and a speed."
        )
    return columns


def _usable(rows, seconds, values):
    """Leave out the rows without a number in both places, and say which."""
    good = np.isfinite(seconds) & np.isfinite(values)
    if good.all():
        return rows, seconds, values, []
    said = f"Left out {spoken_rows(rows[~good])}: no reading there (blank, ERR, --- or words)."
    return rows[good], seconds[good], values[good], [said]


def _enough(rows, name):
    if len(rows) < FEWEST_READINGS:
        where = f" ({spoken_rows(rows)})" if len(rows) else ""
        raise LogError(
            f"{name} has too few readings with a time: {len(rows)}{where}; at least {FEWEST_READINGS} are "
            "needed. Log the whole run, or type more readings."
        )


def _with_speed(log, values):
    notes = list(log.notes)
    if not values.any():
        raise LogError(
            f"{log.name}: every speed is 0 (rows {log.row.min()} to {log.row.max()}). Was the pickup "
            "connected, and is this the right column?"
        )
    fastest = max(values.max(), -values.min())
    if fastest > _FASTEST_RPM:
        row = log.row[np.abs(values).argmax()]
        raise LogError(
            f"{log.name}, row {row}: {fastest:.6g} rpm is no spindle's speed. If this is an "
            "encoder's count, head the column 'count'; if it has another unit, write that in the heading."
        )
    if values.max() <= 0.0:
        values = -values
        notes.append("All speeds are negative (reverse); the sign was left off.")
    repeated = repeats(values)
    if repeated:
        notes.append(
            f"{repeated} of {len(values)} readings repeat the one before (display hold or rounding); kept."
        )
    return replace(log, speed_rpm=values, repeated=repeated, notes=tuple(notes))


def _with_counts(log, values, counts_per_turn):
    whole = np.rint(values)
    broken = np.flatnonzero((whole != values) | (np.abs(values) > 2.0**53))
    if len(broken):
        raise LogError(f"{log.name}, row {log.row[broken[0]]}: {values[broken[0]]:g} is no whole count.")
    return replace(log, kind="counts", count=whole.astype(np.int64), marks_per_turn=counts_per_turn)


def _pulses(table, column, sha256, name, time_unit, marks_per_turn):
    seconds, unit_s, note = time_seconds(column, time_unit, name, marks_per_turn)
    rows, seconds, _, said = _usable(table.line, seconds, seconds)
    _enough(rows, name)
    if (np.diff(seconds) > 0.0).mean() < 0.5:
        raise LogError(
            f"{name}: one column of numbers that does not rise. Pulse stamps rise from row to row; for "
            "speeds a second column with the time is needed."
        )
    order, seconds, more = put_in_order(
        seconds, rows, None, unit_s=unit_s, clock=column.written_as == "clock", name=name
    )
    rows = rows[order]
    _enough(rows, name)
    marks = f"Read as pulse stamps, {marks_per_turn} mark{'s' if marks_per_turn > 1 else ''} a turn."
    notes = (*table.notes, note, *said, *more, marks)
    return SpeedLog("pulses", name, rows, sha256, notes, pulse_s=seconds, marks_per_turn=marks_per_turn)
