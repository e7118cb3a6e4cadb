"""How true the leadscrew puts the carriage where it should be: a table of dial readings, evaluated."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import positive

__all__ = ["Positioning", "positioning"]

FEWEST_TARGETS = 3
FEWEST_RUNS = 2
STANDARD_TARGETS = 5
STANDARD_RUNS = 5
COVERAGE = 2


@dataclass(frozen=True)
class Positioning:
    """What a table of readings says about the carriage's travel.

    Up means approached with the target ahead in the direction of rising travel, down from the other side.

    Parameters
    ----------
    targets_mm : array of shape (targets,) [mm]
        The targets, in rising order.
    mean_up_um : array of shape (targets,) [um]
        Mean deviation at each target, approached up.
    mean_down_um : array of shape (targets,) [um]
        The same, approached down.
    sd_up_um : array of shape (targets,) [um]
        Standard deviation of the runs at each target, approached up.
    sd_down_um : array of shape (targets,) [um]
        The same, approached down.
    reversal_at_um : array of shape (targets,) [um]
        Mean deviation up less mean deviation down, at each target.
    reversal_um : float [um]
        Largest reversal without its sign: the backlash of the axis.
    mean_reversal_um : float [um]
        Mean of the reversals, with its sign.
    repeatability_up_um : float [um]
        Largest band of four standard deviations, approached up.
    repeatability_down_um : float [um]
        The same, approached down.
    repeatability_um : float [um]
        Largest band when both approaches are used.
    systematic_up_um : float [um]
        Range of the means, approached up.
    systematic_down_um : float [um]
        The same, approached down.
    systematic_um : float [um]
        Range of the means of both approaches together.
    mean_deviation_um : float [um]
        Range of the means of both approaches: what the screw does without its backlash.
    accuracy_up_um : float [um]
        Range of the means widened by two standard deviations, approached up.
    accuracy_down_um : float [um]
        The same, approached down.
    accuracy_um : float [um]
        The same for both approaches together.
    lead_error_ppm : Estimate [ppm]
        Slope of the means of both approaches; positive when the screw moves the carriage too far.
    notes : tuple of str
        Where the table falls short of what the standard asks, in words.

    Source
    ------
    See `positioning`.
    """

    targets_mm: np.ndarray
    mean_up_um: np.ndarray
    mean_down_um: np.ndarray
    sd_up_um: np.ndarray
    sd_down_um: np.ndarray
    reversal_at_um: np.ndarray
    reversal_um: float
    mean_reversal_um: float
    repeatability_up_um: float
    repeatability_down_um: float
    repeatability_um: float
    systematic_up_um: float
    systematic_down_um: float
    systematic_um: float
    mean_deviation_um: float
    accuracy_up_um: float
    accuracy_down_um: float
    accuracy_um: float
    lead_error_ppm: Estimate
    notes: tuple[str, ...]

    @property
    def mean_um(self) -> np.ndarray:
        """Mean of both approaches at each target."""
        return (self.mean_up_um + self.mean_down_um) / 2


def positioning(targets_mm, up_um, down_um, *, screw_lead_mm=None) -> Positioning:
    """Reversal, repeatability, accuracy and lead error of an axis from dial or gauge-block readings.

    Formula
    -------
    none: a procedure over a table. At each target the runs give a mean and a sample standard deviation s
    for each approach; reversal is mean up less mean down; repeatability is 4 s, for both approaches
    together the largest of 2 s up + 2 s down + |reversal| and either 4 s; accuracy is the range of
    mean - 2 s and mean + 2 s.

    Parameters
    ----------
    targets_mm : array of shape (targets,) [mm]
        Where the carriage was sent.
    up_um : array of shape (targets, runs) [um]
        Measured less target, each time approached in the direction of rising travel.
    down_um : array of shape (targets, runs) [um]
        The same, approached from the far side.
    screw_lead_mm : float or None [mm]
        Lead of the screw; with it, targets that all stand at the same place of a turn are told.

    Returns
    -------
    Positioning
        All figures of the evaluation and the screw's lead error with its 95 % interval.

    Range
    -----
    At least three targets and two runs each way; the standard wants five of both, and a note says so.

    Raises
    ------
    RangeError
        If the table is not whole, too small, or names a target twice, or the lead is not above zero.

    Examples
    --------
    >>> found = positioning([0, 51, 103], [[0, 2], [4, 6], [9, 9]], [[-9, -9], [-6, -4], [0, -2]])
    >>> found.reversal_um, round(found.repeatability_um, 2)
    (10.0, 15.66)

    Source
    ------
    ISO 230-2:2014, formulas from memory. The slope is linear regression, textbook.
    """
    from scipy.stats import linregress
    from scipy.stats import t as student_t

    targets, up, down = _whole_table(targets_mm, up_um, down_um)
    mean_up, mean_down = up.mean(axis=1), down.mean(axis=1)
    sd_up, sd_down = up.std(axis=1, ddof=1), down.std(axis=1, ddof=1)
    reversal = mean_up - mean_down
    both_ways = np.maximum.reduce([2 * sd_up + 2 * sd_down + np.abs(reversal), 4 * sd_up, 4 * sd_down])
    lowest = np.concatenate([mean_up - COVERAGE * sd_up, mean_down - COVERAGE * sd_down])
    highest = np.concatenate([mean_up + COVERAGE * sd_up, mean_down + COVERAGE * sd_down])
    line = linregress(targets, (mean_up + mean_down) / 2)
    # One micrometre in a millimetre is a thousand parts in a million.
    doubt_ppm = 1000 * float(line.stderr * student_t.ppf(0.975, targets.size - 2))
    return Positioning(
        targets_mm=targets,
        mean_up_um=mean_up,
        mean_down_um=mean_down,
        sd_up_um=sd_up,
        sd_down_um=sd_down,
        reversal_at_um=reversal,
        reversal_um=float(np.max(np.abs(reversal))),
        mean_reversal_um=float(reversal.mean()),
        repeatability_up_um=float(4 * sd_up.max()),
        repeatability_down_um=float(4 * sd_down.max()),
        repeatability_um=float(both_ways.max()),
        systematic_up_um=float(np.ptp(mean_up)),
        systematic_down_um=float(np.ptp(mean_down)),
        systematic_um=float(np.ptp(np.concatenate([mean_up, mean_down]))),
        mean_deviation_um=float(np.ptp((mean_up + mean_down) / 2)),
        accuracy_up_um=_widened_range(mean_up, sd_up),
        accuracy_down_um=_widened_range(mean_down, sd_down),
        accuracy_um=float(highest.max() - lowest.min()),
        lead_error_ppm=Estimate.symmetric(1000 * float(line.slope), doubt_ppm),
        notes=tuple(_shortfalls(targets, up.shape[1], screw_lead_mm)),
    )


def _widened_range(mean_um: np.ndarray, sd_um: np.ndarray) -> float:
    return float(np.max(mean_um + COVERAGE * sd_um) - np.min(mean_um - COVERAGE * sd_um))


def _whole_table(targets_mm, up_um, down_um) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    try:
        targets, up, down = (np.asarray(one, dtype=float) for one in (targets_mm, up_um, down_um))
    except (TypeError, ValueError):
        raise RangeError("The table is not whole; give each target the same number of readings.") from None
    if targets.ndim != 1 or up.ndim != 2 or up.shape != down.shape or up.shape[0] != targets.size:
        raise RangeError(
            f"{targets.size} targets, {np.shape(up)} readings up and {np.shape(down)} down do not fit "
            "together; give each target the same number of runs, up and down."
        )
    if targets.size < FEWEST_TARGETS or up.shape[1] < FEWEST_RUNS:
        raise RangeError(
            f"{targets.size} targets with {up.shape[1]} runs each way are too few to evaluate; take at least "
            f"{FEWEST_TARGETS} targets and {FEWEST_RUNS} runs each way, better {STANDARD_TARGETS} of both."
        )
    if not all(np.all(np.isfinite(one)) for one in (targets, up, down)):
        raise RangeError("A reading is missing; each target needs every run, up and down.")
    order = np.argsort(targets)
    if np.any(np.diff(targets[order]) <= 0):
        raise RangeError("A target stands twice in the table; put its readings into one line.")
    return targets[order], up[order], down[order]


def _shortfalls(targets: np.ndarray, runs: int, screw_lead_mm: float | None):
    if targets.size < STANDARD_TARGETS or runs < STANDARD_RUNS:
        yield (
            f"{targets.size} targets with {runs} runs each way: the standard asks for {STANDARD_TARGETS} of "
            "both, so the spread is known less well than the figures look."
        )
    if screw_lead_mm is None:
        return
    turns = (targets - targets[0]) / float(positive("screw_lead_mm", screw_lead_mm))
    if np.all(np.abs(turns - np.round(turns)) < 0.05):
        yield (
            "All targets lie whole turns of the screw apart, so an error that repeats every turn cannot "
            "show; move some of them by part of a turn."
        )
