"""From the log of a run to the coast in it: a run-up is cut off, what is no coast is refused."""

import numpy as np

from machinelab.errors import LogError
from machinelab.workbook.speed_log.log import FEWEST_READINGS
from machinelab.workbook.speed_log.text import spoken_rows

# Shares of the start speed: what counts as being at speed, as coasting, and as speeding up again.
_AT_SPEED, _HIGH, _LOW, _RISE = 0.95, 0.9, 0.1, 0.1
_WINDOW = 5


def coast_only(log):
    r"""The part of a speed log that a coast-down fit can use: steady speed, then the coast.

    A run-up at the beginning is cut off, and the notes say so. Readings after standstill stay. Drop-outs
    and one or two wild readings are no rise.

    Parameters
    ----------
    log : SpeedLog
        Of kind ``"speed"``; pulse stamps and counts are handed back as they are.

    Returns
    -------
    SpeedLog
        The same log, or a shorter one.

    Raises
    ------
    LogError
        With fewer than eight different readings between 90 % and 10 % of the start speed, or when the
        speed goes up again during the coast; the message names the rows.

    Examples
    --------
    >>> from machinelab.workbook.speed_log import typed
    >>> speeds = [0, 400, 800, 1200, 1200, 1200, *range(1150, 0, -50)]
    >>> coast_only(typed("\n".join(f"{t} {n}" for t, n in enumerate(speeds)))).notes[-1]
    'Left out rows 1 to 3: the run-up before the coast.'

    Source
    ------
    Common practice, no source (the shares of the start speed).
    """
    if log.kind != "speed":
        return log
    fresh = _fresh_readings(log.speed_rpm)
    speed_rpm = _without_wild_readings(log.speed_rpm[fresh])
    start_rpm = float(speed_rpm.max())
    at_speed = np.flatnonzero(speed_rpm >= _AT_SPEED * start_rpm)
    _refuse_rise(log, fresh, speed_rpm, at_speed[0], start_rpm)
    _refuse_few(log, log.speed_rpm[fresh][at_speed[-1] :], start_rpm)
    if speed_rpm[0] >= _HIGH * start_rpm:
        return log
    first = fresh[at_speed[0]]
    note = f"Left out {spoken_rows(log.row[:first])}: the run-up before the coast."
    return log.keep(np.arange(first, len(log)), note)


def _fresh_readings(speed_rpm):
    """Where the reading changes; a display that holds repeats one reading, and a drop-out to 0 is none."""
    fresh = np.flatnonzero(np.concatenate(([True], np.diff(speed_rpm) != 0.0)))
    turning = np.flatnonzero(speed_rpm)
    last = turning[-1] if len(turning) else 0
    return fresh[(speed_rpm[fresh] != 0.0) | (fresh > last) | (fresh == 0)]


def _without_wild_readings(speed_rpm):
    if len(speed_rpm) < _WINDOW:
        return speed_rpm
    padded = np.pad(speed_rpm, _WINDOW // 2, mode="edge")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, _WINDOW), axis=1)


def _refuse_rise(log, fresh, speed_rpm, first, start_rpm):
    lowest = np.minimum.accumulate(speed_rpm[first:])
    above = np.flatnonzero(speed_rpm[first:] > lowest + _RISE * start_rpm) + first
    if not len(above):
        return
    turn = first + int(np.argmin(speed_rpm[first : above[0] + 1]))
    turn = _nearby(np.argmin, log.speed_rpm[fresh], turn)
    top = _nearby(np.argmax, log.speed_rpm[fresh], above[0] + int(np.argmax(speed_rpm[above[0] :])))
    rows = log.row[fresh[[first, turn, top]]]
    rise = spoken_rows(range(min(rows[1:]), max(rows[1:]) + 1))
    raise LogError(
        f"{log.name}: the speed goes up in {rise}, from {log.speed_rpm[fresh[turn]]:.0f} to "
        f"{log.speed_rpm[fresh[top]]:.0f} rpm. Is the drive still on? Cut the log to one coast, for instance "
        f"log.cut({min(rows[:2])}, {max(rows[:2])})."
    )


def _nearby(extreme, speed_rpm, place):
    """The window that leaves out wild readings blunts a turn by a reading or two; find it again."""
    start = max(0, place - _WINDOW // 2)
    return start + int(extreme(speed_rpm[start : place + _WINDOW // 2 + 1]))


def _refuse_few(log, speed_rpm, start_rpm):
    inside = (speed_rpm < _HIGH * start_rpm) & (speed_rpm > _LOW * start_rpm)
    found = np.count_nonzero(inside)
    if found < FEWEST_READINGS:
        raise LogError(
            f"{log.name}: a coast-down fit needs at least {FEWEST_READINGS} different readings between 90 % "
            f"and 10 % of the start speed ({_HIGH * start_rpm:.0f} and {_LOW * start_rpm:.0f} rpm); this log "
            f"has {found}. Log quicker, coast from a higher speed, or let it run to standstill."
        )
