"""Encoder counts of a coast: count and time read together, made into angles."""

import numpy as np

from machinelab.errors import LogError
from machinelab.spindle.coast_angles import CoastAngles
from machinelab.spindle.coast_readings import coast_readings

# A part of the coast-down fit: what the room offers is `machinelab.spindle.coastdown`.
__all__: list[str] = []

# A speed for finding the coast is taken over about this long; more rows than needed tell nothing new.
_SPEED_OVER_S = 0.2
_MOST_ROWS = 4000


def angles_of_counts(time_s, count, counts_per_turn) -> CoastAngles:
    """Turn an encoder's running count into angles and pick the coast out of them."""
    if not counts_per_turn:
        raise LogError(
            "This log holds encoder counts. Give the counts for one spindle turn (page 04 works them out "
            "from lines and teeth), for instance 2700."
        )
    every = 1 + len(time_s) // _MOST_ROWS
    times, counts = np.asarray(time_s, float)[::every], np.asarray(count)[::every]
    counts = np.abs(counts - counts[0])
    per_turn = float(counts_per_turn)
    apart = max(1, round(_SPEED_OVER_S / np.median(np.diff(times))))
    if times.size <= 2 * apart:
        raise LogError(
            f"Only {times.size} counts were logged; log at least twenty a second, for the whole run."
        )
    span = times[apart:] - times[:-apart]
    speed_rpm = (counts[apart:] - counts[:-apart]) / per_turn * 60 / span
    return CoastAngles(
        time_s=times,
        turned_rad=2 * np.pi * counts / per_turn,
        mark=np.zeros(times.size, int),
        marks=1,
        divisor=np.ones(times.size),
        # A count stands for anything up to half a count to either side.
        smallest_scale=2 * np.pi / per_turn / np.sqrt(12),
        speeds=coast_readings((times[apart:] + times[:-apart]) / 2, speed_rpm),
    ).within_the_coast()
