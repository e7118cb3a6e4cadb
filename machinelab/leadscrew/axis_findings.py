"""What a table of dial readings says is wrong with an axis, worst first, and what would tell more."""

from dataclasses import dataclass

import numpy as np

from machinelab.leadscrew.periodic_error import PeriodicError
from machinelab.leadscrew.positioning import COVERAGE, Positioning
from machinelab.ranges import positive

__all__ = ["AxisFinding", "axis_findings", "reversal_uncertainty_um"]

# Below this share of the travel's own spread a fault is not worth naming; common practice, no source.
_WORTH_NAMING = 1.0


@dataclass(frozen=True)
class AxisFinding:
    """One thing that the readings show.

    Parameters
    ----------
    name : str
        What it is.
    size_um : float [um]
        How much it does to the carriage's place.
    over_limit : float [1]
        Its size over what is allowed; above 1 it is worth mending.
    meaning : str
        What it does and what to do about it, in words.
    """

    name: str
    size_um: float
    over_limit: float
    meaning: str


def reversal_uncertainty_um(evaluated: Positioning, *, runs, reading_sd_um) -> float:
    """U of the reversal (k = 2): scatter of the runs, and the dial's own doubt at both ends.

    Formula
    -------
    none: 2 * sqrt((s up^2 + s down^2) / runs + 2 u^2), at the target where it is largest

    Parameters
    ----------
    evaluated : Positioning
        The evaluated table.
    runs : int [1]
        Runs each way.
    reading_sd_um : float [um]
        Standard uncertainty of one dial reading.

    Returns
    -------
    float [um]
        Expanded uncertainty.

    Range
    -----
    At least one run, an uncertainty above zero.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> from machinelab.leadscrew.positioning import positioning
    >>> found = positioning([0, 51, 103], [[1, 1], [4, 6], [9, 9]], [[-9, -9], [-6, -4], [0, -2]])
    >>> round(reversal_uncertainty_um(found, runs=2, reading_sd_um=2.9), 2)
    8.68

    Source
    ------
    JCGM 100 (GUM): parts that have nothing to do with each other add as squares. Textbook.
    """
    doubt = float(positive("reading_sd_um", reading_sd_um))
    scatter = (evaluated.sd_up_um**2 + evaluated.sd_down_um**2) / int(positive("runs", runs))
    return float(COVERAGE * np.sqrt(scatter.max() + 2 * doubt**2))


def axis_findings(
    evaluated: Positioning,
    *,
    periodic: PeriodicError | None = None,
    reversal_uncertainty_um,
    allowed_reversal_um,
    allowed_lead_error_ppm,
) -> tuple[AxisFinding, ...]:
    """Name what is wrong with an axis, worst first.

    Formula
    -------
    none: spread against reversal tells a binding slide from play, change of the reversal along the bed tells
    a worn stretch, slope tells the lead, an error of every turn tells the thrust bearing

    Parameters
    ----------
    evaluated : Positioning
        The evaluated table.
    periodic : PeriodicError or None
        What closely spaced readings showed, if they were taken.
    reversal_uncertainty_um : float [um]
        U of the reversal.
    allowed_reversal_um : float [um]
        Backlash that is accepted.
    allowed_lead_error_ppm : float [ppm]
        Lead error that is accepted.

    Returns
    -------
    tuple of AxisFinding
        Worst first; nothing when all is within what is allowed.

    Range
    -----
    Limits above zero.

    Raises
    ------
    RangeError
        If a limit is zero or negative.

    Examples
    --------
    >>> from machinelab.leadscrew.positioning import positioning
    >>> up = [[1, 0, 2], [0, 1, 0], [2, 1, 1]]
    >>> down = [[-299, -301, -300], [-300, -299, -301], [-300, -300, -299]]
    >>> worn = positioning([10, 61, 113], up, down)
    >>> found = axis_findings(
    ...     worn, reversal_uncertainty_um=9, allowed_reversal_um=150, allowed_lead_error_ppm=133
    ... )
    >>> found[0].name
    'play in nut or thrust bearing'

    Source
    ------
    Derived here from what each fault does to the table; the advice is common practice, no source.
    """
    allowed = float(positive("allowed_reversal_um", allowed_reversal_um))
    allowed_ppm = float(positive("allowed_lead_error_ppm", allowed_lead_error_ppm))
    length = float(np.ptp(evaluated.targets_mm))
    findings = [
        _binding(evaluated, allowed),
        _play(evaluated, allowed, reversal_uncertainty_um),
        _lead(evaluated, allowed_ppm, length),
        *([_every_turn(periodic, allowed_ppm * length / 1000)] if periodic and periodic.proven else []),
    ]
    worth = [one for one in findings if one.over_limit > _WORTH_NAMING]
    return tuple(sorted(worth, key=lambda one: one.over_limit, reverse=True))


def _play(evaluated: Positioning, allowed: float, doubt: float) -> AxisFinding:
    varies = float(np.ptp(evaluated.reversal_at_um))
    if varies > 2 * doubt:
        worst = float(evaluated.targets_mm[np.argmax(np.abs(evaluated.reversal_at_um))])
        meaning = (
            f"The play changes by {varies:.0f} um along the bed and is largest at {worst:.0f} mm: the screw "
            "is worn there. Thread on another stretch, or take the play up over the whole of it."
        )
        return AxisFinding(
            "a worn stretch of the screw", evaluated.reversal_um, evaluated.reversal_um / allowed, meaning
        )
    meaning = (
        "The play is the same everywhere and comes back alike. Set a dial on the end of the screw and push "
        "the carriage to and fro: if the screw moves, adjust its thrust bearing; if not, the nut is worn."
    )
    name = "play in nut or thrust bearing"
    return AxisFinding(name, evaluated.reversal_um, evaluated.reversal_um / allowed, meaning)


def _binding(evaluated: Positioning, allowed: float) -> AxisFinding:
    spread = max(evaluated.repeatability_up_um, evaluated.repeatability_down_um)
    meaning = (
        "The carriage does not come back to the same place from the same side: it sticks, or it is loose. "
        "Look at the gibs and at the oil before anything else, and do not correct for the play: it is not "
        "the same twice."
    )
    # Four standard deviations of a good slide are a small part of the play that is allowed.
    return AxisFinding("a slide that sticks or is loose", spread, 2 * spread / allowed, meaning)


def _lead(evaluated: Positioning, allowed_ppm: float, length_mm: float) -> AxisFinding:
    error = evaluated.lead_error_ppm
    sure = (
        min(abs(error.interval[0]), abs(error.interval[1]))
        if error.interval[0] * error.interval[1] > 0
        else 0.0
    )
    way = "too far" if error.value > 0 else "not far enough"
    meaning = (
        f"The screw moves the carriage {way}: {abs(error.value):.0f} ppm. Enter the lead as measured for "
        "feeds and long threads; a nut of ordinary length does not feel it."
    )
    return AxisFinding(
        "the screw's own lead", abs(error.value) * length_mm / 1000, sure / allowed_ppm, meaning
    )


def _every_turn(periodic: PeriodicError, allowed_um: float) -> AxisFinding:
    swing = 2 * periodic.amplitude_um.value
    meaning = (
        f"The carriage swings by {swing:.0f} um in every turn of the screw: look for a thrust washer that "
        "runs out, a bent end of the screw, or a coupling that is not true."
    )
    return AxisFinding("an error of every turn of the screw", swing, swing / allowed_um, meaning)
