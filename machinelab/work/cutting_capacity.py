"""How much a torque at the spindle can cut: the deepest cut, and the largest drill.

The torque that the motor leaves comes from the drive; what is said here holds for any source of torque. The
doubt of a quarter stays: leave that much in hand.
"""

import numpy as np

from machinelab.ranges import not_negative, positive
from machinelab.work.cutting_force import specific_force_n_mm2


def deepest_cut_mm(
    torque_nm,
    *,
    diameter_mm,
    feed_mm,
    specific_force_1_n_mm2,
    chip_exponent,
    approach_angle_deg=90.0,
    force_factor=1.0,
):
    """The deepest cut that a torque carries in turning.

    Formula
    -------
    chip_mm = feed_mm * sin(approach_angle_deg * pi / 180)
    kc_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_mm**(-chip_exponent)
    deepest_cut_mm = 2000 * torque_nm / (kc_n_mm2 * feed_mm * diameter_mm)

    Parameters
    ----------
    torque_nm : float or array [N m]
        Torque at the spindle that is there for the cut.
    diameter_mm : float or array [mm]
        Diameter that is cut.
    feed_mm : float or array [mm]
        Feed for each turn.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    approach_angle_deg : float or array [deg]
        Angle between cutting edge and feed.
    force_factor : float or array [1]
        On the table's force: up to 1.3 for a worn tool, less for a keen one.

    Returns
    -------
    float or array [mm]
        Depth, half of what comes off the diameter; stiffness and chatter mostly stop it before.

    Range
    -----
    Torques from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length or force is not above zero, or the torque is negative.

    Examples
    --------
    >>> found = deepest_cut_mm(
    ...     6, diameter_mm=150, feed_mm=0.1, specific_force_1_n_mm2=1350, chip_exponent=0.21
    ... )
    >>> round(float(found), 3)
    0.365

    Source
    ------
    Derived here: `machinelab.work.cutting.turning` solved for the depth.
    """
    chip = positive("feed_mm", feed_mm) * np.sin(
        np.radians(positive("approach_angle_deg", approach_angle_deg))
    )
    specific = specific_force_n_mm2(
        chip,
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    return (
        2000
        * not_negative("torque_nm", torque_nm)
        / (specific * feed_mm * positive("diameter_mm", diameter_mm))
    )


def largest_drill_mm(
    torque_nm,
    *,
    feed_mm,
    specific_force_1_n_mm2,
    chip_exponent,
    point_angle_deg=118.0,
    force_factor=1.2,
):
    """The largest drill that a torque turns into the solid.

    Formula
    -------
    chip_mm = feed_mm / 2 * sin(point_angle_deg / 2 * pi / 180)
    kc_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_mm**(-chip_exponent)
    largest_drill_mm = sqrt(8000 * torque_nm / (kc_n_mm2 * feed_mm))

    Parameters
    ----------
    torque_nm : float or array [N m]
        Torque at the spindle that is there for the cut.
    feed_mm : float or array [mm]
        Feed for each turn.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    point_angle_deg : float or array [deg]
        Angle of the drill's point.
    force_factor : float or array [1]
        On the table's force: 1.1 to 1.3 for chisel edge, margins and chips in a deep hole (from memory).

    Returns
    -------
    float or array [mm]
        Diameter; with a pilot hole it may be larger.

    Range
    -----
    Torques from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length or force is not above zero, or the torque is negative.

    Examples
    --------
    >>> found = largest_drill_mm(
    ...     5.144, feed_mm=0.15, specific_force_1_n_mm2=1500, chip_exponent=0.22, force_factor=1
    ... )
    >>> round(float(found), 2)
    10.0

    Source
    ------
    Derived here: `machinelab.work.rotating_tools.drilling` solved for the diameter.
    """
    half_point = np.radians(positive("point_angle_deg", point_angle_deg)) / 2
    specific = specific_force_n_mm2(
        positive("feed_mm", feed_mm) / 2 * np.sin(half_point),
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    return np.sqrt(8000 * not_negative("torque_nm", torque_nm) / (specific * feed_mm))
