"""What a bench tells of the spindle's motor: armature resistance and brush drop, locked and running.

The model is the armature circuit: volts at the brushes are the back EMF, the brush drop, and the current
times the armature's resistance. The back EMF by itself stands in `machinelab.spindle.back_emf`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, enough, linear_fit, t95
from machinelab.ranges import not_negative

LEAST_ANGLES, LEAST_CURRENTS, LEAST_POINTS = 6, 3, 6
# Above this the readings cannot tell the constants apart; common practice, no source.
LARGEST_CONDITION = 30.0
# A wider scatter than this is the film on the commutator, not the winding; common practice, no source.
FILM_SCATTER_SHARE = 0.15
RAD_S_PER_RPM = np.pi / 30


@dataclass(frozen=True)
class LockedShaft:
    """Armature resistance and brush drop from a motor that is held still.

    Parameters
    ----------
    resistance : Estimate [ohm]
        Resistance of the armature at the temperature of the test.
    brush_drop : Estimate [V]
        Voltage lost at both brushes together.
    by_angle_ohm : array [ohm]
        Volts over amperes less the brush drop at each angle: how much the angle matters.
    warnings : tuple of str
        What to know before the figures are used.
    """

    resistance: Estimate
    brush_drop: Estimate
    by_angle_ohm: np.ndarray
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class RunningTest:
    """Back EMF, armature resistance and brush drop from a motor that runs.

    Parameters
    ----------
    back_emf : Estimate [V s/rad]
        Back EMF.
    resistance : Estimate [ohm]
        Resistance of the armature.
    brush_drop : Estimate [V]
        Voltage lost at both brushes together.
    condition_number : float [1]
        How hard the readings are to take apart: near 1 easily, near 30 hardly.
    residuals_v : array [V]
        Reading less fit, point by point.
    """

    back_emf: Estimate
    resistance: Estimate
    brush_drop: Estimate
    condition_number: float
    residuals_v: np.ndarray


@dataclass(frozen=True)
class OhmmeterReadings:
    """What an ohmmeter on the brushes shows, and whether it shows the winding at all.

    Parameters
    ----------
    median_ohm : float [ohm]
        Middle reading.
    mean_ohm : float [ohm]
        Average.
    sd_ohm : float [ohm]
        Standard deviation of the readings.
    scatter_share : float [1]
        Standard deviation over the middle reading.
    film_dominated : bool
        True when the readings tell of the film under the brushes more than of the winding.
    meaning : str
        What follows, in plain words.
    """

    median_ohm: float
    mean_ohm: float
    sd_ohm: float
    scatter_share: float
    film_dominated: bool
    meaning: str


def locked_shaft(voltage_v, current_a, *, angle_deg) -> LockedShaft:
    """The armature's resistance and the brush drop from volts and amperes with the shaft held still.

    Hold the shaft, feed a steady current from a current-limited supply, read within five seconds, turn the
    shaft on, and do it the other way round too. One angle tells little: the brushes touch other bars at each.

    Formula
    -------
    none: least squares of voltage = brush_drop * sign(current) + resistance * current over all readings; the
        interval from leaving out one angle after the other, since readings at one angle err together.

    Parameters
    ----------
    voltage_v : array [V]
        Volts at the brushes, with the sign of the current.
    current_a : array [A]
        Amperes; both signs belong to a full test.
    angle_deg : array [deg]
        Where the shaft stood, any mark that tells the places apart.

    Returns
    -------
    LockedShaft
        Resistance and brush drop with 95 % intervals, resistance place by place, and warnings.

    Range
    -----
    At least six angles and three sizes of current; readings that are missing (NaN) are left out.

    Raises
    ------
    RangeError
        If there are too few angles or currents, or the columns differ in length.

    Examples
    --------
    >>> angles, currents = np.repeat(np.arange(0, 360, 60), 3), np.tile([0.6, -1.5, 3.0], 6)
    >>> found = locked_shaft(2 * np.sign(currents) + 1.2 * currents, currents, angle_deg=angles)
    >>> round(found.resistance.value, 3), round(found.brush_drop.value, 3)
    (1.2, 2.0)

    Source
    ------
    Textbook: the armature circuit at standstill; constant brush drop, from memory. Interval: the jackknife
    over groups, textbook.
    """
    volts, amperes, angles = columns_of(voltage_v=voltage_v, current_a=current_a, angle_deg=angle_deg)
    flowing = amperes != 0
    volts, amperes, angles = volts[flowing], amperes[flowing], angles[flowing]
    places = np.unique(angles)
    enough(len(places), LEAST_ANGLES, "angles of the shaft")
    enough(_sizes(amperes), LEAST_CURRENTS, "sizes of current")
    constants = _line(volts, amperes)
    left_out = np.array([_line(volts[angles != place], amperes[angles != place]) for place in places])
    spread = np.sqrt((len(places) - 1) * np.mean((left_out - left_out.mean(axis=0)) ** 2, axis=0))
    reach = t95(len(places) - 1) * spread
    drop, resistance = (
        Estimate.symmetric(*pair) for pair in zip(constants.tolist(), reach.tolist(), strict=True)
    )
    over = (volts - drop.value * np.sign(amperes)) / amperes
    by_angle = np.array([np.mean(over[angles == place]) for place in places])
    one_way = np.all(amperes > 0) or np.all(amperes < 0)
    warnings = (
        ("Current was fed one way only: reverse it as well, so that an offset of the meter falls out.",)
        if one_way
        else ()
    )
    return LockedShaft(resistance, drop, by_angle, warnings)


def running_test(motor_speed_rpm, *, voltage_v, current_a) -> RunningTest:
    """Back EMF, resistance and brush drop together, from a motor running at several loads and voltages.

    Formula
    -------
    none: least squares of voltage = brush_drop + back_emf * speed + resistance * current.

    Parameters
    ----------
    motor_speed_rpm : array [rpm]
        Speed of the motor, settled.
    voltage_v : array [V]
        Volts at the brushes.
    current_a : array [A]
        Amperes into the motor.

    Returns
    -------
    RunningTest
        The three constants with 95 % intervals, how well the readings tell them apart, and what is left over.

    Range
    -----
    At least six points with different loads and different speeds; points with a missing figure (NaN) are left
    out.

    Raises
    ------
    RangeError
        If there are too few points, or they cannot tell the three constants apart: points without load all
        have nearly the same current, points at one speed nearly the same back EMF.

    Examples
    --------
    >>> speed, current = np.array([1000, 2000, 3000, 900, 1900, 2800]), np.array([0.4, 0.5, 0.6, 3, 4, 5])
    >>> volts = 2 + 0.288 * speed * np.pi / 30 + 1.2 * current
    >>> found = running_test(speed, voltage_v=volts, current_a=current)
    >>> round(found.back_emf.value, 4), round(found.resistance.value, 3)
    (0.288, 1.2)

    Source
    ------
    Textbook: the armature circuit of a DC machine; linear least squares. Refusal above a condition number of
    30: common practice, no source.
    """
    rpm, volts, amperes = columns_of(
        motor_speed_rpm=motor_speed_rpm, voltage_v=voltage_v, current_a=current_a
    )
    enough(len(rpm), LEAST_POINTS, "points")
    design = np.column_stack([np.ones_like(rpm), rpm * RAD_S_PER_RPM, amperes])
    lengths = np.linalg.norm(design, axis=0)
    condition = float(np.linalg.cond(design / np.where(lengths > 0, lengths, 1)))
    if not condition <= LARGEST_CONDITION:
        raise RangeError(
            "These points cannot tell brush drop, back EMF and resistance apart (condition number "
            f"{condition:.0f}, at most {LARGEST_CONDITION:.0f}). Add points under load and at other speeds: "
            "a few light and a few heavily loaded at each of two or three voltages."
        )
    (drop, back_emf, resistance), residuals = linear_fit(design, volts)
    return RunningTest(back_emf, resistance, drop, condition, residuals)


def ohmmeter(resistance_ohm) -> OhmmeterReadings:
    """What plain ohmmeter readings at the brushes are worth.

    An ohmmeter sends a few milliamperes, which do not break through the film under the brushes. It is no
    method for the armature's resistance; it shows how bad the contact is.

    Formula
    -------
    none: median, mean and standard deviation of the readings given.

    Parameters
    ----------
    resistance_ohm : array [ohm]
        Readings at different angles of the shaft.

    Returns
    -------
    OhmmeterReadings
        Middle, scatter and what follows.

    Range
    -----
    Three readings or more; missing ones (NaN) are left out.

    Raises
    ------
    RangeError
        If there are fewer than three readings, or a negative one.

    Examples
    --------
    >>> ohmmeter([7.4, 9.5, 18.7, 6.4, 31.3]).film_dominated
    True

    Source
    ------
    Limit of 0.15 for scatter over the middle reading: common practice, no source.
    """
    readings = np.asarray(not_negative("resistance_ohm", resistance_ohm), dtype=float).ravel()
    readings = readings[~np.isnan(readings)]
    enough(len(readings), 3, "readings of the ohmmeter")
    median, mean, sd = float(np.median(readings)), float(np.mean(readings)), float(np.std(readings, ddof=1))
    scatter = sd / median if median else float("inf")
    film = scatter > FILM_SCATTER_SHARE
    meaning = (
        "film and contact dominate: these readings say nothing of the winding. Measure with the shaft held "
        "and a current of some amperes."
        if film
        else "the readings hold together, but the brush drop is still in them: take them for an upper bound."
    )
    return OhmmeterReadings(median, mean, sd, scatter, film, meaning)


def _line(volts, amperes) -> np.ndarray:
    design = np.column_stack([np.sign(amperes), amperes])
    return np.linalg.lstsq(design, volts, rcond=None)[0]


def _sizes(amperes) -> int:
    """How many sizes of current there are; less than a fifth apart counts as one."""
    sizes = np.sort(np.abs(amperes))
    return 1 + int(np.sum(np.diff(sizes) > 0.2 * sizes[:-1])) if sizes.size else 0
