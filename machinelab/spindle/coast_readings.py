"""From the rows of a log to the readings a coast-down fit may use.

A display that holds a number repeats it in the log: those rows are one reading, taken when the display
changed. Rows before the drive let go pin down the start; rows after standstill say nothing. What is left
out or gathered is told in ``notes``; the log itself is never changed.
"""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter
from scipy.optimize import linprog

from machinelab.errors import LogError
from machinelab.spindle.coast_falls import calmed, steepest_fall

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

_PLATEAU_SHARE = 0.02
_PLATEAU_SECONDS = 3.0
_BEND_SECONDS = 2.0
_BENT_SHARE = 0.08
_ROWS_BEFORE_BINNING = 1000
_BINS = 500
_LOWEST_TRUSTED_RPM = 15.0
_FEWEST_BETWEEN = 8
_LEAST_FALL = 0.7
_FEWEST_CHANGES = 12
_SLOWEST_DISPLAY_HZ = 0.3
_WILD_ROUNDS = 3
_MOSTLY_FRESH = 0.75
_GRID = 8
_WILD_ROWS = 0.08
_STEPS_TRIED = 30
_LEVELS_LOOKED_AT = 5000


@dataclass(frozen=True)
class CoastReadings:
    """The readings of one coast, with what is known about the display that gave them.

    ``time_s`` and ``speed_rpm`` hold the steady stretch before the drive let go (if the log has one) and the
    coast itself. ``let_go_s`` is a first guess. ``plateau`` says whether the steady stretch is long enough
    to find the moment of letting go and the meter's lag. ``time_doubt`` is the standard uncertainty of the
    time base, as a share, where the times come from a display's rhythm.
    """

    time_s: np.ndarray
    speed_rpm: np.ndarray
    resolution_rpm: float
    let_go_s: float
    top_rpm: float
    plateau: bool
    update_s: float | None
    time_doubt: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Comb:
    """When a display changes its number: at phase + whole multiples of the period."""

    phase_s: float
    period_s: float
    doubt: float


def coast_readings(time_s, speed_rpm, *, cutoff_rpm=None):
    """Pick the coast out of a log of speeds.

    Formula
    -------
    none: a search through the rows of a log

    Parameters
    ----------
    time_s : array of shape (rows,) [s]
        Rising times.
    speed_rpm : array of shape (rows,) [rpm]
        What the meter showed; NaN where it showed nothing.
    cutoff_rpm : float or None [rpm]
        The meter shows zero below this speed; None if not known.

    Returns
    -------
    CoastReadings
        The readings from the steady stretch, if any, to the last trusted one.

    Range
    -----
    At least 8 readings between 90 % and 10 % of the top speed, and a fall to seven tenths of it or lower.

    Raises
    ------
    LogError
        If the log holds no coast, or too little of one; the message names the rows or times.

    Source
    ------
    Method derived here.
    """
    known = np.isfinite(time_s) & np.isfinite(speed_rpm)
    time, speed = np.asarray(time_s, float)[known], np.asarray(speed_rpm, float)[known]
    if time.size < _FEWEST_BETWEEN:
        raise LogError(_too_few(time.size))
    notes = []
    step = resolution(speed)
    update = _display_update(time, speed, step)
    if update is not None:
        rows = time.size
        time, speed = _one_per_update(time, speed, update)
        notes.append(
            f"The display holds each number for {update.period_s:.3g} s: {rows} rows are {time.size} "
            "readings, each dated to the moment the display changed."
        )
    elif time.size > _ROWS_BEFORE_BINNING:
        notes.append(
            f"{time.size} rows were averaged into {_BINS} groups; single wild rows were left out of them."
        )
        time, speed = _binned(time, speed)
    coast = steepest_fall(time, speed, step, notes)
    return _trusted(time, speed, coast, step, cutoff_rpm, update, notes)


_DRIVEN_AGAIN = "the spindle stops slowing before it stands, as if the drive had been switched on again"
_ENDS_BEFORE = "the speed falls no further, and the log ends before the spindle stands"


def _too_few(count):
    return (
        f"A coast-down fit needs at least {_FEWEST_BETWEEN} readings between 90 % and 10 % of the start "
        f"speed; this log has {count}. Log faster, start from a higher speed, or let it run down further."
    )


def resolution(values):
    """Step of a display or clock: the coarsest step of which nearly all values are whole multiples."""
    levels = np.unique(values[:: 1 + values.size // _LEVELS_LOOKED_AT])
    steps = np.unique(np.round(np.diff(levels), 6))
    for step in steps[steps > 0][:_STEPS_TRIED][::-1]:
        ratio = levels / step
        # Halved glitches fall between the steps; they are few.
        if np.mean(np.abs(ratio - np.round(ratio)) < 1e-3) > 0.9:
            return float(step)
    return 0.0


def _display_update(time, speed, step):
    """Return the comb of a display that holds its numbers, or None where every row is fresh.

    Each change of the number brackets one update between two rows. The period whose multiples fall
    inside the brackets is the display's; the comb taken is the centre of all that fit.
    """
    calm = median_filter(speed, 3, mode="mirror")
    coasting = np.flatnonzero((calm > 0.1 * np.max(calm)) & (calm < 0.9 * np.max(calm)))
    if coasting.size < 2 * _FEWEST_CHANGES:
        return None
    stretch = slice(coasting[0], coasting[-1] + 1)
    changes = np.diff(calm)
    falls = np.abs(changes[stretch])[changes[stretch] != 0]
    # A slow fall repeats a number merely because it is rounded: it changes by single steps of the display.
    if falls.size > _MOSTLY_FRESH * (coasting[-1] - coasting[0]) or np.median(falls) < 1.5 * step:
        return None
    changed = changes != 0
    early, late = time[:-1][changed], time[1:][changed]
    spacing = np.median(np.diff(time))
    tight = late - early < 2.5 * spacing
    if np.sum(tight) < _FEWEST_CHANGES:
        return None
    return _comb(early[tight], late[tight], spacing)


def _comb(early, late, spacing):
    middle = (early + late) / 2
    # Spectrum of the moments of change; above half the row rate a comb and its alias look the same.
    grid_s = spacing / _GRID
    moments = np.bincount(np.round((middle - middle[0]) / grid_s).astype(int))
    length = 2 ** int(np.ceil(np.log2(moments.size * _GRID)))
    spectrum = np.fft.rfft(moments, length) / middle.size
    frequency = np.fft.rfftfreq(length, grid_s)
    possible = (frequency > _SLOWEST_DISPLAY_HZ) & (frequency < 0.52 / spacing)
    best = int(np.argmax(np.abs(spectrum) * possible))
    if np.abs(spectrum[best]) < 0.5:
        return None
    period = 1 / frequency[best]
    phase = middle[0] - np.angle(spectrum[best]) / (2 * np.pi) * period
    tooth = np.round((middle - phase) / period)
    for _ in range(_WILD_ROUNDS):
        # Glitches change the number between updates: brackets that the common comb misses are set aside.
        period, phase = np.polyfit(tooth, middle, 1)
        room = np.minimum(phase + tooth * period - early, late - phase - tooth * period)
        fits = room > -_WILD_ROWS * spacing
        early, late, middle, tooth = early[fits], late[fits], middle[fits], tooth[fits]
    return _centred_comb(early, late, tooth)


def _centred_comb(early, late, tooth):
    """The comb whose teeth keep furthest from the ends of their brackets."""
    ones = np.ones_like(tooth)
    sides = np.vstack([np.column_stack([-ones, -tooth, ones]), np.column_stack([ones, tooth, ones])])
    ends = np.concatenate([-early, late])
    phase, period, margin = linprog([0, 0, -1], A_ub=sides, b_ub=ends, bounds=(None, None)).x
    return _Comb(float(phase), float(period), float(abs(margin) / (period * np.ptp(tooth) / 2)))


def _one_per_update(time, speed, comb):
    phase, period = comb.phase_s, comb.period_s
    tooth = np.floor((time - phase) / period).astype(int)
    starts = np.flatnonzero(np.concatenate([[True], np.diff(tooth) > 0]))
    groups = np.split(speed, starts[1:])
    held = np.array([np.median(group) for group in groups])
    return phase + period * tooth[starts], held


def _binned(time, speed):
    edges = np.linspace(0, time.size, _BINS + 1).astype(int)
    group = np.repeat(np.arange(_BINS), np.diff(edges))
    middle = speed[np.minimum((edges[:-1] + edges[1:]) // 2, time.size - 1)]
    centre = median_filter(middle, 5, mode="mirror")[group]
    near = np.abs(speed - centre) < np.maximum(0.05 * np.max(centre), 6 * np.median(np.abs(speed - centre)))
    count = np.bincount(group[near], minlength=_BINS)
    kept = count > 0
    mean_time = np.bincount(group[near], time[near], minlength=_BINS)[kept] / count[kept]
    mean_speed = np.bincount(group[near], speed[near], minlength=_BINS)[kept] / count[kept]
    return mean_time, mean_speed


def _after_the_bend(time, first, last_steady):
    """First row to use where the drive let go in the log but after too short a steady stretch."""
    if last_steady == first:
        return first
    return int(np.searchsorted(time, time[last_steady] + _BEND_SECONDS))


def _trusted(time, speed, coast, step, cutoff_rpm, update, notes):
    top, bottom = coast
    calm = calmed(speed)
    level = np.median(calm[max(0, top - 4) : top + 1])
    steady = np.abs(calm[: top + 1] - level) < max(_PLATEAU_SHARE * level, 2 * step)
    first = top - int(np.argmin(steady[::-1])) + 1 if not steady.all() else 0
    first = min(first, top)
    still = np.flatnonzero(calm[top:bottom] >= 0.985 * level)
    last_steady = top + (int(still[-1]) if still.size else 0)
    let_go = time[last_steady]
    plateau = bool(let_go - time[first] >= _PLATEAU_SECONDS and last_steady - first >= 5)
    floor = max(_LOWEST_TRUSTED_RPM, 2 * step, 1.3 * (cutoff_rpm or 0.0))
    if not plateau:
        # An unknown lag merely delays the readings, but for the first seconds and near standstill.
        first, floor = _after_the_bend(time, first, last_steady), max(floor, _BENT_SHARE * level)
    low = np.flatnonzero(calm[top:] < floor)
    end = top + (int(low[0]) if low.size else calm.size - top)
    end = min(end, bottom + 1)
    if first > 0:
        notes.append(f"Rows before {time[first]:.4g} s, while the speed was still changing, were left out.")
    why = ""
    if bottom < end < time.size:
        rises = np.max(calm[bottom:]) - calm[bottom] > max(_PLATEAU_SHARE * level, 2 * step)
        # A lagging meter shows the turn late.
        end = max(int(np.searchsorted(time, time[bottom] - _BEND_SECONDS)), top + 1)
        turned = _DRIVEN_AGAIN if rises else _ENDS_BEFORE
        notes.append(f"Rows from {time[end]:.4g} s on were left out: {turned}.")
        why = f" At {time[end]:.4g} s {turned}."
    elif end < time.size:
        notes.append(
            f"Rows from {time[end]:.4g} s on were left out: below {floor:.3g} rpm the meter cannot be "
            "trusted, and zeros after standstill say nothing about the coast."
        )
    between = np.sum((speed[first:end] < 0.9 * level) & (speed[first:end] > 0.1 * level))
    if between < _FEWEST_BETWEEN:
        raise LogError(_too_few(int(between)) + why)
    lowest = float(np.min(calm[top:end]))
    if lowest > _LEAST_FALL * level:
        raise LogError(
            f"The log follows the spindle from {level:.0f} rpm down to {lowest:.0f} rpm only, too little to "
            f"tell how it stops. Log until the chuck stands.{why}"
        )
    return CoastReadings(
        time[first:end],
        speed[first:end],
        step,
        float(let_go),
        float(level),
        plateau,
        update.period_s if update else None,
        update.doubt if update else 0.0,
        tuple(notes),
    )
