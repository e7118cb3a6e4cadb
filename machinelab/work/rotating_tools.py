"""What tools that turn ask of their spindle: twist drills, milling cutters, taps.

The doubt of `machinelab.work.cutting_force` is in all of it.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.work.cutting import Cut
from machinelab.work.cutting_force import specific_force_n_mm2
from machinelab.work.milling_chip import width_share

RAD_S_PER_RPM = np.pi / 30


def drilling(
    *,
    diameter_mm,
    feed_mm,
    speed_rpm,
    specific_force_1_n_mm2,
    chip_exponent,
    point_angle_deg=118.0,
    pilot_mm=0.0,
    force_factor=1.0,
) -> Cut:
    """What a twist drill asks, into the solid or into a pilot hole.

    Formula
    -------
    result.chip_thickness_mm = feed_mm / 2 * sin(point_angle_deg / 2 * pi / 180)
    result.specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)
    result.force_n = specific_force_n_mm2 * feed_mm * (diameter_mm - pilot_mm) / 2
    result.torque_nm = force_n * (diameter_mm + pilot_mm) / 4000
    result.power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    diameter_mm : float or array [mm]
        Diameter of the drill.
    feed_mm : float or array [mm]
        Feed for each turn.
    speed_rpm : float or array [rpm]
        Spindle speed.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    point_angle_deg : float or array [deg]
        Angle of the drill's point.
    pilot_mm : float or array [mm]
        Diameter of the pilot hole; zero for none.
    force_factor : float or array [1]
        On the table's force: 1.1 to 1.3 for chisel edge, margins and chips in a deep hole (from memory).

    Returns
    -------
    Cut
        Chip, force along both lips together, torque and power.

    Range
    -----
    A pilot hole smaller than the drill; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length or force is not above zero, or the pilot hole is not smaller than the drill.

    Examples
    --------
    >>> cut = drilling(
    ...     diameter_mm=10, feed_mm=0.15, speed_rpm=600, specific_force_1_n_mm2=1500, chip_exponent=0.22
    ... )
    >>> round(float(cut.torque_nm), 2), round(float(cut.power_w))
    (5.14, 323)

    Source
    ------
    Textbook: two lips, each with half of the feed; torque is kc f D^2 / 8.
    """
    drill, pilot = positive("diameter_mm", diameter_mm), not_negative("pilot_mm", pilot_mm)
    if np.any(np.asarray(pilot) >= drill):
        raise RangeError("pilot_mm must be smaller than the drill, or nothing is left to cut.")
    half_point = np.radians(positive("point_angle_deg", point_angle_deg)) / 2
    chip = positive("feed_mm", feed_mm) / 2 * np.sin(half_point)
    specific = specific_force_n_mm2(
        chip,
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    force = specific * feed_mm * (drill - pilot) / 2
    torque = force * (drill + pilot) / 4000
    return Cut(chip, specific, force, torque, torque * RAD_S_PER_RPM * speed_rpm)


def milling(
    *,
    depth_mm,
    width_mm,
    feed_per_tooth_mm,
    cutter_teeth,
    diameter_mm,
    speed_rpm,
    specific_force_1_n_mm2,
    chip_exponent,
    approach_angle_deg=90.0,
    force_factor=1.0,
) -> Cut:
    """What a milling cutter asks on the average, cutting from its side.

    A cutter with few teeth pulls in jerks: its peaks are 1.5 to 3 times the average.

    Formula
    -------
    engaged_deg = acos(1 - 2 * width_mm / diameter_mm) * 180 / pi
    shape = 360 * sin(approach_angle_deg * pi / 180) / (pi * engaged_deg)
    result.chip_thickness_mm = feed_per_tooth_mm * shape * width_mm / diameter_mm
    result.specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)
    removed_mm3 = depth_mm * width_mm * feed_per_tooth_mm * cutter_teeth
    result.torque_nm = removed_mm3 * specific_force_n_mm2 / (2000 * pi)
    result.force_n = torque_nm * 2000 / diameter_mm
    result.power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    depth_mm : float or array [mm]
        Depth along the cutter's axis.
    width_mm : float or array [mm]
        Width across it; the full diameter for a slot.
    feed_per_tooth_mm : float or array [mm]
        Feed for each tooth.
    cutter_teeth : int [tooth]
        Teeth of the cutter.
    diameter_mm : float or array [mm]
        Diameter of the cutter.
    speed_rpm : float or array [rpm]
        Speed of the cutter.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    approach_angle_deg : float or array [deg]
        Angle between cutting edge and work: 90 for an end mill.
    force_factor : float or array [1]
        On the table's force: up to 1.3 for a worn tool, less for a keen one.

    Returns
    -------
    Cut
        Mean chip, mean force at the rim, mean torque and power.

    Range
    -----
    Widths up to the diameter; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero, or the cut is wider than the cutter.

    Examples
    --------
    >>> cut = milling(
    ...     depth_mm=2,
    ...     width_mm=10,
    ...     feed_per_tooth_mm=0.03,
    ...     cutter_teeth=3,
    ...     diameter_mm=10,
    ...     speed_rpm=800,
    ...     specific_force_1_n_mm2=1500,
    ...     chip_exponent=0.22,
    ... )
    >>> round(float(cut.torque_nm), 2), round(float(cut.power_w))
    (1.03, 86)

    Source
    ------
    Textbook: power is specific force times metal removed, at the mean thickness of the chip.
    """
    share = width_share(width_mm, diameter_mm)
    shape = (
        2 * np.sin(np.radians(positive("approach_angle_deg", approach_angle_deg))) / np.arccos(1 - 2 * share)
    )
    chip = positive("feed_per_tooth_mm", feed_per_tooth_mm) * shape * share
    specific = specific_force_n_mm2(
        chip,
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    removed_mm3 = (
        positive("depth_mm", depth_mm) * width_mm * feed_per_tooth_mm * positive("cutter_teeth", cutter_teeth)
    )
    torque = removed_mm3 * specific / (2000 * np.pi)
    return Cut(chip, specific, torque * 2000 / diameter_mm, torque, torque * RAD_S_PER_RPM * speed_rpm)


def tapping(
    *,
    diameter_mm,
    pitch_mm,
    chip_thickness_mm,
    speed_rpm,
    specific_force_1_n_mm2,
    chip_exponent,
    force_factor=1.75,
) -> Cut:
    """What a tap asks.

    Formula
    -------
    result.specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)
    result.torque_nm = specific_force_n_mm2 * pitch_mm**2 * diameter_mm / 8000
    result.force_n = torque_nm * 2000 / diameter_mm
    result.power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    diameter_mm : float or array [mm]
        Diameter of the thread.
    pitch_mm : Fraction or float [mm]
        Pitch of the thread.
    chip_thickness_mm : float or array [mm]
        Thickness of the chip of one tooth; 0.05 to 0.1 is common (common practice, no source).
    speed_rpm : float or array [rpm]
        Spindle speed.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    force_factor : float or array [1]
        On the table's force, for the tap's friction: 1.5 to 2 (from memory).

    Returns
    -------
    Cut
        Chip, force at the rim, torque and power.

    Range
    -----
    A sharp tap in a hole of the right size with cutting oil; a blunt one doubles it. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> cut = tapping(
    ...     diameter_mm=10,
    ...     pitch_mm=1,
    ...     chip_thickness_mm=0.05,
    ...     speed_rpm=60,
    ...     specific_force_1_n_mm2=1500,
    ...     chip_exponent=0.22,
    ... )
    >>> round(float(cut.torque_nm), 1)
    6.3

    Source
    ------
    From memory: a rule of thumb of torque by pitch squared and diameter.
    """
    across, pitch = positive("diameter_mm", diameter_mm), float(positive("pitch_mm", pitch_mm))
    specific = specific_force_n_mm2(
        chip_thickness_mm,
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    torque = specific * pitch**2 * across / 8000
    return Cut(
        chip_thickness_mm, specific, torque * 2000 / diameter_mm, torque, torque * RAD_S_PER_RPM * speed_rpm
    )
