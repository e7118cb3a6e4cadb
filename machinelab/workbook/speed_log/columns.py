"""Which column is the time and which the speed, and both in seconds and rpm.

Headings are believed first, then behaviour: a time rises row by row, a coast falls from start to
end, a setpoint stands still, a row number steps by one.
"""

import numpy as np

from machinelab.errors import LogError
from machinelab.workbook.speed_log.words import SPEED_RPM, TIME_SECONDS, speed_unit_of, time_unit_of

_LOOKED_AT = 20_000
_EPOCHS = ((1e9, "s"), (1e12, "ms"), (1e15, "us"), (1e18, "ns"))


def choose_time(columns, name):
    """The column that is the time.

    Raises
    ------
    LogError
        When no column rises like a time.
    """
    likeness = [_time_likeness(column, numbered=len(columns) > 2) for column in columns]
    if max(likeness) >= 1.5:
        return columns[int(np.argmax(likeness))]
    raise LogError(
        f"{name}: no column rises from row to row as a time does. Put the time in the first column and the "
        "speed in the second, or head them 'time s' and 'speed rpm'."
    )


def _time_likeness(column, *, numbered):
    likeness = 4.0 * ("time" in column.roles) + 1.5 * (column.written_as != "number")
    likeness += 0.3 * (column.number == 1)
    steps = _steps(column)
    if len(steps):
        up, down, level = np.mean(steps > 0), np.mean(steps < 0), np.mean(steps == 0)
        low, middle, high = np.abs(np.quantile(steps, (0.2, 0.5, 0.8)))
        likeness += 2.0 * max(up, 0.9 * down) + 0.5 * bool(max(up, down) + level == 1.0)
        likeness += 0.5 * bool(abs(high - low) <= 0.2 * middle)
        likeness -= 0.6 * bool(numbered and np.all(steps == 1.0)) + 3.0 * bool(level == 1.0)
    likeness -= 4.0 * bool(column.roles & {"speed", "count", "setpoint", "other"})
    return likeness - 2.0 * ("index" in column.roles and "time" not in column.roles)


def choose_speed(columns, time):
    """The column that is the speed (or the count), and the columns that were passed over."""
    others = [column for column in columns if column is not time]
    best = max(others, key=_speed_likeness)
    return best, [column for column in others if column is not best]


def _speed_likeness(column):
    values = _known(column.values)
    end = max(1, len(values) // 20)
    falls = np.median(values[-end:]) < np.median(values[:end])
    steps = _steps(column)
    likeness = 4.0 * ("speed" in column.roles) + 3.0 * ("count" in column.roles) + 1.0 * bool(falls)
    likeness -= (
        5.0 * ("setpoint" in column.roles) + 3.0 * ("index" in column.roles) + 3.0 * ("time" in column.roles)
    )
    likeness -= 3.0 * ("other" in column.roles) + 2.0 * (column.written_as != "number")
    return likeness - 4.0 * bool(np.ptp(values) == 0.0 or (len(steps) and np.all(steps == 1.0)))


def _steps(column):
    values = column.values[: 2 * _LOOKED_AT]
    return np.diff(_known(values))[:_LOOKED_AT]


def time_seconds(column, unit, name, marks_per_turn=None):
    """A time column in seconds, the unit it was read in, and a note.

    Parameters
    ----------
    column : Column
        The time.
    unit : str or None
        ``"s"``, ``"ms"``, ``"us"``, ``"min"`` ... when the person says it.
    name : str
        What to call the log in messages.
    marks_per_turn : int or None [1]
        For pulse stamps, how many a turn; None for times that readings belong to.

    Returns
    -------
    tuple of (array [s], float [s], str)
        Seconds (dates, clock times and epochs from the first reading on), seconds of one unit, note.

    Raises
    ------
    LogError
        When the unit is not written and could be more than one.
    """
    if column.written_as != "number":
        kind = "dates and clock times" if column.written_as == "date" else "clock times"
        return (
            _from_first(column.values),
            1.0,
            f"Time is {column.name}, read as {kind}, counted from its first.",
        )
    if column.cell_units is not None:
        factors = _unit_factors(column, time_unit_of, TIME_SECONDS)
        if np.isfinite(factors).any():
            return column.values * factors, 1.0, f"Time is {column.name}, units as written in the cells."
    if unit is not None and unit not in TIME_SECONDS:
        raise LogError(f"time_unit '{unit}' is not known. Type one of: {', '.join(TIME_SECONDS)}.")
    said = unit or time_unit_of(column.heading)
    epoch = _epoch_unit(column.values)
    if epoch and said in (None, epoch, "s"):
        note = f"Time is {column.name}, a computer's clock (in {epoch} since 1970), counted from its first."
        return _from_first(column.values) * TIME_SECONDS[epoch], TIME_SECONDS[epoch], note
    if said is None:
        said = (
            _guessed_time_unit(column, name)
            if marks_per_turn is None
            else _pulse_unit(column, marks_per_turn)
        )
        why = "its unit is not written, taken as {} from its steps".format("days" if said == "d" else said)
    else:
        why = f"in {said} " + ("as you said" if unit else "by its heading")
    values = _from_first(column.values) if said == "d" else column.values
    return values * TIME_SECONDS[said], TIME_SECONDS[said], f"Time is {column.name}; {why}."


def _from_first(values):
    known = _known(values)
    return values - known[0] if len(known) else values


def _known(values):
    """The values without the missing ones; the very array where none is missing, as a copy takes long."""
    there = np.isfinite(values)
    return values if there.all() else values[there]


def _epoch_unit(values):
    first = float(_known(values)[0])
    return next((unit for low, unit in _EPOCHS if low <= first < 2.5 * low), None)


def _guessed_time_unit(column, name):
    """A coast lasts a second to an hour and is read every few milliseconds to every few seconds."""
    values = _known(column.values)
    span = float(np.ptp(values))
    step = float(np.median(np.abs(np.diff(values[:_LOOKED_AT])))) if len(values) > 1 else 0.0
    if span < 1.0 and 20_000.0 < float(np.min(values)) < 80_000.0:
        return "d"  # a spreadsheet's dates are days since 1900
    if span <= 900.0 or (span <= 3600.0 and step <= 2.0):
        return "s"
    if 3600.0 < span <= 3.6e6:
        return "ms"
    if span > 3.6e6:
        return "us"
    raise LogError(
        f"{name}: {column.name} runs over {span:g} with steps of {step:g}. Is that seconds or milliseconds? "
        'Write the unit in the heading (time s, time ms), or say time_unit="s" or time_unit="ms".'
    )


def _pulse_unit(column, marks_per_turn):
    """The unit that brings the quickest turns nearest to 0.14 s (430 rpm, the middle of 14 to 14 000)."""
    gaps = np.abs(np.diff(_known(column.values)))
    turn = marks_per_turn * float(np.quantile(gaps[gaps > 0.0], 0.05)) if (gaps > 0.0).any() else 1.0
    return min(("s", "ms", "us"), key=lambda unit: abs(np.log(turn * TIME_SECONDS[unit] / 0.14)))


def _unit_factors(column, unit_of, factors):
    """A factor for every row from the units written in the cells; unknown units make the row missing."""
    written = column.cell_units
    known = {text: factors.get(unit_of(text), np.nan) for text in written.unique()}
    per_row = np.full(len(column.values), np.nan)
    told = written.map(known)
    per_row[written.index] = told.to_numpy(dtype=float)
    bare = np.isfinite(column.values)
    bare[written.index] = False
    if told.notna().any():
        per_row[bare] = told.median()
    return per_row


def speed_rpm(column, unit, name, marks_per_turn=1):
    """A speed column in rpm, with a note of the unit it was read in.

    Parameters
    ----------
    column : Column
        The speed.
    unit : str or None
        ``"rpm"``, ``"rev/s"``, ``"Hz"``, ``"rad/s"``, ``"deg/s"`` when the person says it.
    name : str
        What to call the log in messages.
    marks_per_turn : int or Fraction [1]
        Pulses of one turn, where the speed is a frequency of pulses.

    Returns
    -------
    tuple of (array [rpm], str)
        The speed and the note.

    Raises
    ------
    LogError
        When the unit is not written and the numbers could be revolutions a second or radians a second.
    """
    if column.cell_units is not None:
        factors = _unit_factors(column, speed_unit_of, SPEED_RPM)
        if np.isfinite(factors).any():
            return column.values * factors, f"Speed is {column.name}, units as written in the cells."
    if unit is not None and unit not in SPEED_RPM:
        raise LogError(f"speed_unit '{unit}' is not known. Type one of: {', '.join(SPEED_RPM)}.")
    said = unit or speed_unit_of(column.heading)
    if said:
        why = "as you said" if unit else "by its heading"
        if said != "Hz":
            return column.values * SPEED_RPM[said], f"Speed is {column.name}, in {said} {why}."
        note = f"Speed is {column.name}, in Hz {why}, pulses a turn: {marks_per_turn}."
        return column.values * SPEED_RPM[said] / float(marks_per_turn), note
    largest = float(np.nanmax(np.abs(column.values)))
    if 0.0 < largest <= 60.0 or {"omega", "ω"} & set(column.heading.lower().split()):
        raise LogError(
            f"{name}: {column.name} goes up to {largest:g}, and its unit is not written. Is that rpm, turns "
            'a second or radians a second? Say speed_unit="rpm", speed_unit="rev/s" or speed_unit="rad/s".'
        )
    return column.values, f"Speed is {column.name}; its unit is not written, taken as rpm."
