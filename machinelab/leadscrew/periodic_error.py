"""An error that comes back with every turn of the screw, found from closely spaced readings."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import positive, whole

__all__ = ["PeriodicError", "periodic_error", "periodic_targets_mm"]

FEWEST_PER_TURN = 8
FEWEST_TURNS = 3
_ROUNDING = 1e-9


@dataclass(frozen=True)
class PeriodicError:
    """The part of an error of position that repeats every turn of the screw.

    Parameters
    ----------
    amplitude_um : Estimate [um]
        Half of what the carriage swings to and fro each turn.
    phase_rad : float [rad]
        Where in the turn it begins: error = amplitude * sin(2 pi x / lead + phase).
    lead_error_ppm : Estimate [ppm]
        Slope that lies under it.
    residual_um : float [um]
        Standard deviation of what neither explains.
    proven : bool
        True when the readings could hardly look so by chance alone (less than one time in a hundred).

    Source
    ------
    See `periodic_error`.
    """

    amplitude_um: Estimate
    phase_rad: float
    lead_error_ppm: Estimate
    residual_um: float
    proven: bool


def periodic_targets_mm(screw_lead_mm, *, turns=FEWEST_TURNS, per_turn=FEWEST_PER_TURN, start_mm=0.0):
    """Where to take readings so that an error of every turn of the screw can show.

    Formula
    -------
    none: a list, from the start on in steps of the lead over the readings a turn

    Parameters
    ----------
    screw_lead_mm : float [mm]
        Lead of the screw.
    turns : int [turn]
        Turns of the screw to cover.
    per_turn : int [1]
        Readings in each turn.
    start_mm : float [mm]
        Where to begin.

    Returns
    -------
    array of shape (turns * per_turn + 1,) [mm]
        Targets.

    Range
    -----
    Any positive lead and numbers.

    Raises
    ------
    RangeError
        If the lead is not above zero, or turns and readings are no whole numbers above it.

    Examples
    --------
    >>> periodic_targets_mm(4.0, turns=1, per_turn=4)
    array([0., 1., 2., 3., 4.])

    Source
    ------
    Eight points a lead over three leads: the idea of ISO 230-2 on periodic error, from memory.
    """
    lead = float(positive("screw_lead_mm", screw_lead_mm))
    readings = whole("per_turn", per_turn)
    return float(start_mm) + lead * np.arange(whole("turns", turns) * readings + 1) / readings


def periodic_error(position_mm, error_um, *, screw_lead_mm) -> PeriodicError:
    """Amplitude and phase of the error that repeats every turn of the screw, with its interval.

    Formula
    -------
    none: linear least squares of error = level + slope * x + A * sin(2 pi x / lead) + B * cos(2 pi x / lead);
    amplitude = sqrt(A**2 + B**2)

    Parameters
    ----------
    position_mm : array of shape (readings,) [mm]
        Where the readings were taken, all approached from the same side.
    error_um : array of shape (readings,) [um]
        Measured less target.
    screw_lead_mm : float [mm]
        Lead of the screw.

    Returns
    -------
    PeriodicError
        The swing of every turn, and the slope under it.

    Range
    -----
    At least eight readings a turn over at least three turns; fewer alias and are refused.

    Raises
    ------
    RangeError
        If the readings are too few, too far apart, or do not cover three turns.

    Examples
    --------
    >>> x = periodic_targets_mm(3.0)
    >>> found = periodic_error(x, 5 * np.sin(2 * np.pi * x / 3.0) + 0.1 * x, screw_lead_mm=3.0)
    >>> round(found.amplitude_um.value, 6), round(found.lead_error_ppm.value, 4)
    (5.0, 100.0)

    Source
    ------
    Linear least squares and the F test for added terms, textbook. Sampling as in `periodic_targets_mm`.
    """
    from scipy.stats import f as fisher_f
    from scipy.stats import t as student_t

    x, error, lead = _fit_to_show(position_mm, error_um, screw_lead_mm)
    angle = 2 * np.pi * x / lead
    design = np.column_stack([np.ones_like(x), x, np.sin(angle), np.cos(angle)])
    found, _, _, _ = np.linalg.lstsq(design, error, rcond=None)
    free = x.size - design.shape[1]
    residuals = error - design @ found
    variance = float(residuals @ residuals) / free
    covariance = variance * np.linalg.inv(design.T @ design)
    k = float(student_t.ppf(0.975, free))
    amplitude = float(np.hypot(found[2], found[3]))
    along = found[2:] / max(amplitude, np.finfo(float).tiny)
    doubt = k * float(np.sqrt(along @ covariance[2:, 2:] @ along))
    # Readings that all agree swing by no more than the computer rounds, and prove nothing.
    swings = amplitude > _ROUNDING * float(np.max(np.abs(error)))
    gain = float(found[2:] @ np.linalg.solve(covariance[2:, 2:], found[2:])) / 2 if variance > 0 else np.inf
    return PeriodicError(
        amplitude_um=Estimate(amplitude, (max(0.0, amplitude - doubt), amplitude + doubt)),
        phase_rad=float(np.arctan2(found[3], found[2])),
        lead_error_ppm=Estimate.symmetric(
            1000 * float(found[1]), 1000 * k * float(np.sqrt(covariance[1, 1]))
        ),
        residual_um=float(np.sqrt(variance)),
        proven=bool(swings and gain > fisher_f.ppf(0.99, 2, free)),
    )


def _fit_to_show(position_mm, error_um, screw_lead_mm) -> tuple[np.ndarray, np.ndarray, float]:
    lead = float(positive("screw_lead_mm", screw_lead_mm))
    x, error = np.asarray(position_mm, dtype=float), np.asarray(error_um, dtype=float)
    if x.shape != error.shape or x.ndim != 1:
        raise RangeError(f"{x.size} positions and {error.size} readings do not fit; give one reading each.")
    there = np.isfinite(x) & np.isfinite(error)
    x, error = x[there], error[there]
    turns = np.ptp(x) / lead if x.size else 0.0
    widest = np.max(np.diff(np.sort(x))) if x.size > 1 else np.inf
    if turns < FEWEST_TURNS * (1 - _ROUNDING) or widest > lead / FEWEST_PER_TURN * (1 + 1e-3):
        raise RangeError(
            f"The readings cover {turns:.3g} turns of the screw with gaps up to {widest:.3g} mm. "
            f"An error of every turn shows only in at least {FEWEST_PER_TURN} readings a turn over "
            f"{FEWEST_TURNS} turns: one reading every {lead / FEWEST_PER_TURN:.3g} mm "
            f"along {FEWEST_TURNS * lead:.3g} mm."
        )
    return x, error, lead
