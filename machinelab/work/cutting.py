"""What a cut asks of the spindle: force, torque and power in turning and threading.

At low speeds the torque decides, not the power. Everything here rests on the specific cutting force and is no
surer than that: a quarter more or less, see `machinelab.work.cutting_force`. Drills, cutters and taps stand
in `machinelab.work.rotating_tools`.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.ranges import positive
from machinelab.work.cutting_force import specific_force_n_mm2, with_table_doubt

RAD_S_PER_RPM = np.pi / 30


@dataclass(frozen=True)
class Cut:
    """What a cut asks of the spindle.

    Parameters
    ----------
    chip_thickness_mm : float or array [mm]
        Thickness of the chip, square to the cutting edge.
    specific_force_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of it.
    force_n : float or array [N]
        Force along the cut.
    torque_nm : float or array [N m]
        Torque at the spindle.
    power_w : float or array [W]
        Power at the cut, without what the drive loses.
    """

    chip_thickness_mm: float
    specific_force_n_mm2: float
    force_n: float
    torque_nm: float
    power_w: float

    @property
    def torque_with_doubt(self) -> Estimate:
        """The torque with the doubt that all tables carry."""
        return with_table_doubt(self.torque_nm)


def turning(
    *,
    depth_mm,
    feed_mm,
    diameter_mm,
    speed_rpm,
    specific_force_1_n_mm2,
    chip_exponent,
    approach_angle_deg=90.0,
    force_factor=1.0,
) -> Cut:
    """What turning or boring a diameter asks.

    Formula
    -------
    result.chip_thickness_mm = feed_mm * sin(approach_angle_deg * pi / 180)
    result.specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)
    result.force_n = specific_force_n_mm2 * depth_mm * feed_mm
    result.torque_nm = force_n * diameter_mm / 2000
    result.power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    depth_mm : float or array [mm]
        Depth of cut, half of what comes off the diameter.
    feed_mm : float or array [mm]
        Feed for each turn.
    diameter_mm : float or array [mm]
        Diameter that is cut; in facing it falls to nothing.
    speed_rpm : float or array [rpm]
        Spindle speed.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    approach_angle_deg : float or array [deg]
        Angle between cutting edge and feed: 90 cuts square, 45 makes the chip thinner.
    force_factor : float or array [1]
        On the table's force: up to 1.3 for a worn tool, less for a keen one.

    Returns
    -------
    Cut
        Chip, force, torque and power.

    Range
    -----
    Depths well above the tool's nose radius, or the chip is thinner than reckoned; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length, a force or the angle is not above zero.

    Examples
    --------
    >>> cut = turning(
    ...     depth_mm=1,
    ...     feed_mm=0.1,
    ...     diameter_mm=50,
    ...     speed_rpm=200,
    ...     specific_force_1_n_mm2=1350,
    ...     chip_exponent=0.21,
    ... )
    >>> round(float(cut.torque_nm), 3), round(float(cut.power_w), 1)
    (5.474, 114.6)

    Source
    ------
    Textbook: force is specific force times section of the chip.
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
    force = specific * positive("depth_mm", depth_mm) * feed_mm
    torque = force * positive("diameter_mm", diameter_mm) / 2000
    return Cut(chip, specific, force, torque, torque * RAD_S_PER_RPM * speed_rpm)


def threading(
    *,
    pitch_mm,
    thread_depth_mm,
    diameter_mm,
    thread_passes,
    included_angle_deg,
    speed_rpm,
    specific_force_1_n_mm2,
    chip_exponent,
    force_factor=1.0,
) -> Cut:
    """What the heaviest pass of a thread asks, when every pass takes the same section along one flank.

    A groove is half a pitch wide at half its depth, so its section is half of pitch times depth. Fed along
    the flank, the last pass cuts a chip as wide as the flank.

    Formula
    -------
    section_mm2 = thread_depth_mm * pitch_mm / 2 / thread_passes
    flank_mm = thread_depth_mm / cos(included_angle_deg / 2 * pi / 180)
    result.chip_thickness_mm = section_mm2 / flank_mm
    result.specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)
    result.force_n = specific_force_n_mm2 * section_mm2
    result.torque_nm = force_n * diameter_mm / 2000
    result.power_w = torque_nm * pi / 30 * speed_rpm

    Parameters
    ----------
    pitch_mm : Fraction or float [mm]
        Pitch of the thread.
    thread_depth_mm : float or array [mm]
        Depth of the thread, on the radius.
    diameter_mm : float or array [mm]
        Diameter over the thread.
    thread_passes : int [1]
        Passes at equal section; a fixed infeed makes the last one heavier.
    included_angle_deg : float or array [deg]
        Included angle of the thread.
    speed_rpm : float or array [rpm]
        Spindle speed.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick, see `machinelab.work.cutting_force`.
    chip_exponent : float or array [1]
        How quickly thinner chips ask more.
    force_factor : float or array [1]
        On the table's force: up to 1.3 for a worn tool, less for a keen one.

    Returns
    -------
    Cut
        Chip, force, torque and power of the last pass.

    Range
    -----
    One start at a time; straight infeed bends the chip and asks more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length, a force or the passes are not above zero.

    Examples
    --------
    >>> cut = threading(
    ...     pitch_mm=1,
    ...     thread_depth_mm=0.613,
    ...     diameter_mm=10,
    ...     thread_passes=8,
    ...     included_angle_deg=60,
    ...     speed_rpm=100,
    ...     specific_force_1_n_mm2=1500,
    ...     chip_exponent=0.22,
    ... )
    >>> round(float(cut.torque_nm), 2)
    0.55

    Source
    ------
    Derived here from the specific force; the section of the groove from its width at half depth.
    """
    depth = positive("thread_depth_mm", thread_depth_mm)
    section = depth * float(positive("pitch_mm", pitch_mm)) / 2 / positive("thread_passes", thread_passes)
    chip = section / (depth / np.cos(np.radians(positive("included_angle_deg", included_angle_deg)) / 2))
    specific = specific_force_n_mm2(
        chip,
        specific_force_1_n_mm2=specific_force_1_n_mm2,
        chip_exponent=chip_exponent,
        force_factor=force_factor,
    )
    force = specific * section
    torque = force * positive("diameter_mm", diameter_mm) / 2000
    return Cut(chip, specific, force, torque, torque * RAD_S_PER_RPM * speed_rpm)
