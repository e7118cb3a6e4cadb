"""Time trouble in a log, found, repaired where that is certain, and said.

Clocks that wrap, tables that run backwards or lie in the wrong order, stamps written to the whole
second, stamps given twice, gaps. What cannot be repaired for certain is refused: two runs in one
file, and a column that is no time.
"""

from itertools import pairwise

import numpy as np

from machinelab.errors import LogError
from machinelab.workbook.speed_log.text import spoken_rows

_NEAR = 5


def put_in_order(time_s, rows, values, *, unit_s, clock, name):
    """Sort the readings by time and give every one its own moment.

    Parameters
    ----------
    time_s : array [s]
        Times as read, in the file's order, none missing.
    rows : array of int [1]
        Line number of every reading.
    values : array or None
        The readings that belong to the times; None for bare stamps.
    unit_s : float [s]
        Seconds of one unit as written; tells a 32-bit counter from a clock.
    clock : bool
        Whether the times were written as hours, minutes and seconds.
    name : str
        What to call the log in messages.

    Returns
    -------
    tuple of (array of int or slice, array [s], list of str)
        Which readings are kept and in which order, their times, and notes; a slice of all of them where there
        was nothing to do.

    Raises
    ------
    LogError
        When the file holds more than one run, or the times go back and forth.
    """
    order, notes, steps = slice(None), [], np.diff(time_s)
    if (steps < 0.0).any():
        time_s, notes = _unwrapped(time_s, rows, steps, unit_s=unit_s, clock=clock)
        order, said = _order(time_s, rows, values, name)
        notes, time_s = notes + said, time_s[order]
        steps = np.diff(time_s)
    same = steps == 0.0
    if not same.any():
        return order, time_s, notes + _gaps(steps, rows[order], values)
    if values is not None and same.mean() > 0.3:
        time_s, said = _spread(time_s, name)
        return order, time_s, notes + said
    twice = np.flatnonzero(same) + 1
    notes.append(f"Left out {spoken_rows(rows[order][twice])}: same time as the reading before.")
    order, time_s = np.delete(np.arange(len(rows))[order], twice), np.delete(time_s, twice)
    return order, time_s, notes + _gaps(np.diff(time_s), rows[order], values)


def _unwrapped(time_s, rows, steps, *, unit_s, clock):
    """Clocks start again at midnight, noon or the hour; a 32-bit counter at 4 294 967 296."""
    if not (steps > 0.0).any():
        return time_s, []
    usual = float(np.median(steps[steps > 0.0]))
    for period in (86_400.0, 43_200.0, 3600.0) if clock else (2.0**32 * unit_s,):
        over = (steps < 0.0) & (np.abs(steps + period) <= max(20.0 * usual, 1e-9 * period))
        if over.any() and not (steps[~over] < 0.0).any():
            turns = np.concatenate(([0.0], np.cumsum(over)))
            at = spoken_rows(rows[1:][over])
            return time_s + period * turns, [f"The clock starts again at {at}; the times were carried on."]
    return time_s, []


def _order(time_s, rows, values, name):
    steps = np.diff(time_s)
    as_read = np.arange(len(time_s))
    back = np.flatnonzero(steps < 0.0)
    if not len(back):
        return as_read, []
    if not (steps > 0.0).any():
        return as_read[::-1], ["The rows run backwards in time; turned round."]
    order = np.argsort(time_s, kind="stable")
    moved = order[order != as_read]
    if np.abs(order - as_read).max() > _NEAR:
        _refuse_two_runs(time_s, rows, back, name)
        if values is None or not _smooth(values[order]):
            raise LogError(
                f"{name}: the times go back and forth ({spoken_rows(rows[back + 1])}), so this column is no "
                "time, or the rows were mixed. Save the log again as the logger wrote it."
            )
    return order, [f"Sorted by time; {spoken_rows(rows[moved])} stood in the wrong place."]


def _refuse_two_runs(time_s, rows, back, name):
    """A few jumps back onto times that were there before are further runs, not mixed rows."""
    if len(back) > max(1, len(time_s) // 50):
        return
    runs = np.split(time_s, back + 1)
    if any(after[-1] > before[0] for before, after in pairwise(runs)):
        raise LogError(
            f"{name}: the time starts again at {spoken_rows(rows[back + 1])}, so the file holds "
            f"{len(runs)} runs. Save each run in a file of its own and read them one by one."
        )


def _smooth(values):
    spread = float(np.ptp(values))
    return spread > 0.0 and float(np.median(np.abs(np.diff(values)))) <= 0.05 * spread


def _spread(time_s, name):
    """Several readings bear one stamp (whole seconds, say): spread them evenly up to the next."""
    starts = np.flatnonzero(np.concatenate(([True], np.diff(time_s) > 0.0)))
    stamps, counts = time_s[starts], np.diff(np.concatenate((starts, [len(time_s)])))
    if len(stamps) < 4:
        raise LogError(
            f"{name}: only {len(stamps)} different times for {len(time_s)} readings. The time column is too "
            "coarse; choose a log with at least tenths of a second."
        )
    to_next = np.diff(stamps)
    usual = max(1.0, float(np.median(counts[1:-1])))
    share = np.concatenate((to_next / counts[:-1], [float(np.median(to_next)) / max(usual, counts[-1])]))
    within = np.arange(len(time_s)) - np.repeat(starts, counts)
    spread = np.repeat(stamps, counts) + within * np.repeat(share, counts)
    if counts[0] < usual:  # the log began in the middle of its first stamp
        step = to_next[0] / usual
        spread[: counts[0]] = stamps[1] - step * np.arange(counts[0], 0, -1)
    note = f"About {usual:g} readings share each time stamp; spread evenly between one stamp and the next."
    return spread, [note]


def _gaps(steps, rows, values):
    if values is None or len(steps) < 2:
        return []
    usual = float(np.median(steps[:: 1 + len(steps) // 10_000]))
    long = np.flatnonzero(steps > max(10.0 * usual, 1e-9))
    said = [f"{steps[i]:.3g} s between rows {rows[i]} and {rows[i + 1]}" for i in long[:3]]
    more = f" and {len(long) - 3} more" if len(long) > 3 else ""
    return [f"Gaps in the log: {', '.join(said)}{more}."] if said else []
