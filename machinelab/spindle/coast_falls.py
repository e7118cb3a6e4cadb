"""Where in a log of speeds the spindle runs down: between which rows, and which fall of several.

A fall ends where the speed rises again, or where it rests for a while and then falls on: no friction does
that, so a drive has held the spindle.
"""

import numpy as np
from scipy.ndimage import maximum_filter1d, median_filter, uniform_filter1d

from machinelab.errors import LogError

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# A turning point counts when the speed moves by this share of the top speed, or by three display steps.
_TURN_SHARE = 0.04
# A wrong number that a display holds fills several rows.
_MANY_ROWS = 60
_WILD_STEPS = 2.5
_WILD_SHARE = 0.015
# A shelf in a fall: two stretches of this length or a fortieth of it, at a quarter of what is lost later.
_SHELF_SECONDS = 1.5
_WINDOWS = 40
_RESTING_SHARE = 0.25
_LEAST_SHARE = 0.08


def calmed(speed):
    """The readings with wild ones replaced by their neighbours' median, for finding the coast only."""
    near = 9 if speed.size > _MANY_ROWS else 5
    # On a fall, wild readings side by side draw a median down; so it is taken of what a rough trend leaves.
    trend = uniform_filter1d(median_filter(speed, near, mode="mirror"), near, mode="mirror")
    usual = trend + median_filter(speed - trend, near, mode="mirror")
    steepness = maximum_filter1d(np.abs(np.gradient(usual)), 3)
    wild = np.abs(speed - usual) > _WILD_STEPS * steepness + _WILD_SHARE * np.max(usual)
    return np.where(wild, usual, speed)


def steepest_fall(time, speed, step, notes):
    """Return (top, bottom) indices of the fall with the greatest drop between two turning points."""
    calm = calmed(speed)
    threshold = max(_TURN_SHARE * np.max(calm), 3 * step)
    whole = _falls(calm, threshold)
    falls = [piece for fall in whole for piece in _parted_at_shelves(time, calm, fall, step)]
    if not falls:
        raise LogError(
            f"The speed never falls in this log, from {time[0]:.4g} s to {time[-1]:.4g} s: is the drive "
            "still on, or is this a run-up? Start logging at a steady speed, switch the drive off, and log "
            "until the chuck stands still."
        )
    drops = [calm[top] - calm[bottom] for top, bottom in falls]
    best = int(np.argmax(np.array(drops) > 0.98 * max(drops)))
    others = [fall for index, fall in enumerate(falls) if index != best and drops[index] > 0.3 * drops[best]]
    if others:
        when = ", ".join(f"{time[top]:.4g} s" for top, _ in others)
        notes.append(
            f"The speed falls more than once; the fall that starts near {time[falls[best][0]]:.4g} s "
            f"was fitted and the one near {when} left out."
        )
    return falls[best]


def _falls(calm, threshold):
    falls, top, bottom, going_down = [], 0, 0, False
    # Plain numbers are read one by one several times quicker than those of an array.
    calm = calm.tolist()
    for index, value in enumerate(calm):
        if going_down:
            if value <= calm[bottom]:
                bottom = index
            elif value > calm[bottom] + threshold:
                falls.append((top, bottom))
                going_down, top = False, index
        elif value >= calm[top]:
            top = index
        elif value < calm[top] - threshold:
            going_down, bottom = True, index
    return [*falls, (top, bottom)] if going_down else falls


def _parted_at_shelves(time, calm, fall, step):
    """Part a fall where the drive held the speed for a while: no friction rests and then pulls again."""
    top, bottom = fall
    edges = np.arange(time[top], time[bottom], max(_SHELF_SECONDS, (time[bottom] - time[top]) / _WINDOWS))
    levels = np.interp(edges, time, calm)
    lost = -np.diff(levels)[levels[1:] > _LEAST_SHARE * levels[0]]
    later = [np.median(lost[window:]) for window in range(1, lost.size)]
    if len(later) < 3 or max(later) < 4 * step + 0.005 * levels[0]:
        return [fall]
    resting = np.concatenate([lost[:-1] < _RESTING_SHARE * np.array(later), [False]])
    # Two stretches at rest are no accident; those at the very top are the steady speed before the coast.
    pairs = np.flatnonzero(resting[1:] & resting[:-1])
    shelves = [run for run in np.split(pairs, np.flatnonzero(np.diff(pairs) > 1) + 1) if run.size and run[0]]
    room = 0.01 * levels[0] + 2 * step
    settled = [_first_below(calm, top, levels[run[0] + 1] + room) for run in shelves]
    left = [_last_above(calm, time, edges[run[-1] + 2], levels[run[-1]] - room) for run in shelves]
    return list(zip([top, *left], [*settled, bottom], strict=True))


def _last_above(calm, time, until_s, level):
    until = int(np.searchsorted(time, until_s))
    return int(np.flatnonzero(calm[:until] >= level)[-1])


def _first_below(calm, first, level):
    return first + int(np.argmax(calm[first:] <= level))
