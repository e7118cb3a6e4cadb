"""The groove that a machine and a hand need, with the doubt that so few stops leave."""

import numpy as np

from machinelab.estimate import Estimate
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS, needed_groove_mm
from machinelab.threads.shoulder_stop import overtravel_turns, run_on
from machinelab.workbook.shoulder_machine import OWN, ShoulderNumbers

# How often the own stops are drawn anew.
REDRAWS, SEED = 400, 99
# Of a stop whose brake and friction were measured once: share of the run-out; common practice, no source.
RUN_OUT_SHARE = 0.05


def needed_groove(numbers: ShoulderNumbers, *, lead_mm: float, speed_rpm: float) -> Estimate:
    """Groove for 99 passes in 100, and the interval that should hold it 95 times in 100.

    The machine's part of the doubt is a share of the run-out. Own stops add theirs: the latest of twenty is a
    poor witness for one pass in a hundred, so they are drawn anew, again and again, to see how it wanders.
    """
    past = _late_turns(numbers, speed_rpm)
    best = float(
        needed_groove_mm(
            past,
            thread_lead_mm=lead_mm,
            tool_half_width_mm=numbers.tool_half_width_mm,
            wall_clearance_mm=numbers.wall_clearance_mm,
        )
    )
    doubt = RUN_OUT_SHARE * max(past, 0.0) * lead_mm
    if numbers.stopped_by == OWN:
        doubt = float(np.hypot(doubt, 2 * _wandering_s(numbers) * speed_rpm / 60 * lead_mm))
    return Estimate.symmetric(best, max(doubt, 0.01))


def _late_turns(numbers: ShoulderNumbers, speed_rpm: float) -> float:
    """Turns past the thread that 99 passes in 100 stay within."""
    speeds = speed_rpm * numbers.draws.speed_share
    ran_on = run_on(speeds, stopping=numbers.draws.stopping).run_on_turns
    past = overtravel_turns(speeds, reaction_s=numbers.reactions_s, run_on_turns=ran_on)
    return float(np.quantile(past, NEARLY_ALWAYS))


def _wandering_s(numbers: ShoulderNumbers) -> float:
    """Standard deviation of the late reaction from one lot of stops to the next."""
    chance = np.random.default_rng(SEED)
    stops = np.array(numbers.own_stops_s)
    late = np.quantile(chance.choice(stops, (REDRAWS, stops.size)), NEARLY_ALWAYS, axis=1)
    return float(late.std())
