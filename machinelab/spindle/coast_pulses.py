"""Pulse stamps of a coast: the moment when each mark on the spindle passed the pickup, made into angles."""

from dataclasses import replace

import numpy as np
from scipy.ndimage import median_filter

from machinelab.errors import LogError
from machinelab.ranges import whole
from machinelab.spindle.coast_angles import CoastAngles
from machinelab.spindle.coast_readings import coast_readings, resolution
from machinelab.spindle.coast_speeds import RPM

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# Two moments that a timer tells apart at best; a jitter below that is no jitter that was measured.
_FINEST_TICK_S = 1e-7


def angles_of_pulses(pulse_s, marks_per_turn) -> CoastAngles:
    """Number the pulses and pick the coast out of them.

    Each interval is compared with its neighbours: one twice as long hides a missed pulse, two that share a
    usual one an extra pulse.
    """
    marks = whole("marks_per_turn", marks_per_turn)
    stamps = np.asarray(pulse_s, float)
    if stamps.size < 4 * marks or np.any(np.diff(stamps) <= 0):
        raise LogError(
            f"Pulse stamps must rise and cover at least 4 turns; here are {stamps.size} stamps. "
            "Give one moment a pulse, in seconds, in the order in which they came."
        )
    stamps, number, notes = _numbered(stamps, marks)
    # The same mark one turn later: a speed that uneven marks cannot spoil.
    later = np.searchsorted(number, number + marks)
    paired = number[np.minimum(later, number.size - 1)] == number + marks
    first, second = stamps[paired], stamps[later[paired]]
    speeds = coast_readings((first + second) / 2, 60 / (second - first))
    return CoastAngles(
        time_s=stamps,
        turned_rad=2 * np.pi * number / marks,
        mark=number % marks,
        marks=marks,
        divisor=np.interp(stamps, speeds.time_s, speeds.speed_rpm) * RPM,
        # Stamps written to whole ticks are off by anything up to half a tick.
        smallest_scale=max(resolution(stamps) / np.sqrt(12), _FINEST_TICK_S),
        speeds=replace(speeds, notes=(*notes, *speeds.notes)),
    ).within_the_coast()


def _numbered(stamps, marks):
    """Number the pulses; extra ones are taken out, and missed ones leave a gap in the numbers."""
    notes = []
    intervals, usual = _intervals(stamps, marks)
    together = intervals[:-1] + intervals[1:]
    split = np.abs(together - usual[:-1]) < 0.25 * usual[:-1]
    extra = np.flatnonzero(split & (np.maximum(intervals[:-1], intervals[1:]) < 0.9 * usual[:-1])) + 1
    if extra.size:
        notes.append(f"{extra.size} extra pulses between two marks were left out.")
        stamps = np.delete(stamps, extra)
        intervals, usual = _intervals(stamps, marks)
    steps = np.maximum(np.round(intervals / usual), 1).astype(int)
    if np.any(steps > 1):
        notes.append(f"{int(np.sum(steps - 1))} missed pulses were counted in.")
    return stamps, np.concatenate([[0], np.cumsum(steps)]), notes


def _intervals(stamps, marks):
    """Intervals between pulses, and what is usual around each of them."""
    intervals = np.diff(stamps)
    around = min(2 * marks + 5, intervals.size)
    return intervals, median_filter(intervals, around + 1 - around % 2, mode="nearest")
