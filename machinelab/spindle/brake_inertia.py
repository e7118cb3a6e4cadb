"""The moment of inertia from a free run and a braked one, fitted together.

A free run tells every drag over inertia and never the inertia itself. A resistor of known ohms across a
motor of known volts pulls with known newton metres: how much quicker the spindle stops tells the inertia.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake_circuit import inertia_from_braking_kg_m2
from machinelab.spindle.brake_fit import BrakedFit, fit_braked
from machinelab.spindle.meter_readings import of_logarithm

__all__ = ["BrakedInertia", "inertia_from_braked_run"]

# No real spindle repeats itself more finely, whatever one pair of runs says.
_FINEST_SHARE = 1e-3


@dataclass(frozen=True)
class BrakedInertia:
    """What a free and a braked run together say about the inertia.

    Parameters
    ----------
    inertia_kg_m2 : Estimate [kg m2]
        Moment of inertia of everything that turns; the doubt of volts and ohms is not in its interval.
    brake_drag_per_s : Estimate [1/s]
        What the resistor adds to the viscous drag over inertia.
    braked : BrakedFit
        The braked run, fitted together with the free one.
    warnings : tuple of str
        What to know before the figure is used.

    Source
    ------
    See `inertia_from_braked_run`.
    """

    inertia_kg_m2: Estimate
    brake_drag_per_s: Estimate
    braked: BrakedFit
    warnings: tuple[str, ...]


def inertia_from_braked_run(
    free_run,
    log,
    *,
    spindle_emf_v_s_per_rad,
    armature_resistance_ohm,
    resistor_ohm,
    brush_drop_v=0.0,
    lag_s=0.0,
    lag_doubt_s=0.0,
    friction_scatter_share=0.0,
) -> BrakedInertia:
    """Moment of inertia of the spindle from a free run and a run with the resistor brake.

    Both runs are fitted together: the free run's drags, and the meter's lag, may move within their own doubt
    while the braked run is fitted, so that what they leave open is not mistaken for inertia.

    Formula
    -------
    none: inertia = emf**2 / (ohms * drag), the drag by robust least squares of both runs together

    Parameters
    ----------
    free_run : CoastdownFit
        The free run, with the same chuck, belt and oil.
    log : object with time_s and speed_rpm
        The braked run, as `fit_braked` takes it.
    spindle_emf_v_s_per_rad : float [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float [ohm]
        Armature and brake resistor with its leads, as warm as they were during the run.
    brush_drop_v : float [V]
        Voltage lost at both brushes together.
    lag_s, lag_doubt_s : float [s]
        Lag of the meter that was logged, 0 for an encoder, and its 95 % doubt.
    friction_scatter_share : float [1]
        Standard deviation of the friction from run to run, over itself; 0 for two runs of one warm spindle.

    Returns
    -------
    BrakedInertia
        The inertia with its interval.

    Range
    -----
    See `fit_braked`; the interval is never narrower than a thousandth.

    Raises
    ------
    LogError
        If the log holds no braked run.
    RangeError
        If a number is out of range.

    Examples
    --------
    A spindle of 0.05 kg m2 that friction slows at 3 rad/s2, and a brake of 12 ohm and 0.9 V s/rad:

    >>> from types import SimpleNamespace
    >>> from machinelab.spindle.coastdown import fit
    >>> def log(time_s, speed_rad_s):
    ...     return SimpleNamespace(time_s=time_s, speed_rpm=np.maximum(speed_rad_s, 0) * 30 / np.pi)
    >>> time_s = np.arange(0, 38, 0.1)
    >>> free_run = fit(log(time_s, 100 - 3 * np.maximum(time_s - 4, 0)))
    >>> time_s = np.arange(0, 8, 0.02)
    >>> drag = 0.9**2 / (12 * 0.05)
    >>> braked = log(time_s, (100 + 3 / drag) * np.exp(-drag * np.maximum(time_s - 4, 0)) - 3 / drag)
    >>> circuit = {"spindle_emf_v_s_per_rad": 0.9, "armature_resistance_ohm": 1.5, "resistor_ohm": 10.5}
    >>> round(float(inertia_from_braked_run(free_run, braked, **circuit).inertia_kg_m2.value), 4)
    0.05

    Source
    ------
    Derived here: least squares of both runs, the free run standing in it by its drags and their covariance.
    """
    emf = positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)
    brush_speed = float(not_negative("brush_drop_v", brush_drop_v)) / emf
    drags = np.array(list(free_run.drags.values()))
    repeated = float(not_negative("friction_scatter_share", friction_scatter_share)) * drags
    both = fit_braked(
        log,
        brush_speed_rad_s=brush_speed,
        drag_covariance=free_run.drag_covariance + np.outer(repeated, repeated),
        lag_s=lag_s,
        lag_doubt_s=lag_doubt_s,
        **free_run.drags,
    )
    drag = _no_finer_than_a_thousandth(both.brake_drag_per_s)
    circuit = {
        "spindle_emf_v_s_per_rad": spindle_emf_v_s_per_rad,
        "armature_resistance_ohm": armature_resistance_ohm,
        "resistor_ohm": resistor_ohm,
    }
    best, *ends = (
        float(inertia_from_braking_kg_m2(one, **circuit)) for one in (drag.value, *drag.interval[::-1])
    )
    return BrakedInertia(Estimate(best, tuple(ends)), drag, both, both.warnings)


def _no_finer_than_a_thousandth(drag: Estimate) -> Estimate:
    low, high = drag.interval
    return of_logarithm(np.log(drag.value), max(float(np.log(high / low)) / 2, _FINEST_SHARE))
