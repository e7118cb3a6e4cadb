"""The leadscrew and its nut as a wedge: torque for a force, whether it holds by itself, what it wastes."""

import numpy as np

from machinelab.ranges import not_negative, positive

# Half the angle between the flanks: trapezoidal ISO 2904, Acme; from memory.
FLANK_HALF_ANGLES_DEG = {"trapezoidal": 15.0, "Acme": 14.5, "square": 0.0}


def mean_screw_diameter_mm(diameter_mm, *, thread_depth_mm):
    """The diameter at which nut and screw rub, half way down the thread.

    Formula
    -------
    mean_screw_diameter_mm = diameter_mm - thread_depth_mm

    Parameters
    ----------
    diameter_mm : float or array [mm]
        Outside diameter of the screw.
    thread_depth_mm : float or array [mm]
        Depth of the thread on the radius; half the pitch for trapezoidal, Acme and square threads.

    Returns
    -------
    float or array [mm]
        Mean diameter.

    Range
    -----
    A thread shallower than the screw is thick; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero, or nothing would be left of the screw.

    Examples
    --------
    >>> mean_screw_diameter_mm(20, thread_depth_mm=1.5)
    18.5

    Source
    ------
    Geometry of the trapezoidal thread, ISO 2904, from memory.
    """
    depth_mm = positive("thread_depth_mm", thread_depth_mm)
    return positive("mean_screw_diameter_mm", positive("diameter_mm", diameter_mm) - depth_mm)


def screw_torque_nm(axial_force_n, *, screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg):
    """What torque at the screw drives the nut against a force.

    Formula
    -------
    grip = screw_friction / cos(pi / 180 * flank_angle_deg)
    driving = screw_travel_mm + pi * grip * mean_diameter_mm
    giving = pi * mean_diameter_mm - grip * screw_travel_mm
    screw_torque_nm = axial_force_n / 1000 * mean_diameter_mm / 2 * driving / giving

    Parameters
    ----------
    axial_force_n : float or array [N]
        Force along the screw that the nut must give.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    mean_diameter_mm : float or array [mm]
        See `mean_screw_diameter_mm`.
    screw_friction : float or array [1]
        Nut on screw: about 0.15 for oiled steel in bronze.
    flank_angle_deg : float or array [deg]
        Half the angle between the flanks: 15 trapezoidal, 14.5 Acme, 0 square.

    Returns
    -------
    float or array [N m]
        Torque at the screw; what collar and bearings take comes on top.

    Range
    -----
    Leads so flat that the screw does not jam, which all are up to a friction of 1; NaN in gives NaN out. The
    flank's angle is taken in the axial plane, which matters only for leads above 5 degrees.

    Raises
    ------
    RangeError
        If a figure is out of range, or the screw would jam.

    Examples
    --------
    >>> screw = {"screw_travel_mm": 3, "mean_diameter_mm": 18.5, "flank_angle_deg": 15}
    >>> round(float(screw_torque_nm(500, screw_friction=0.15, **screw)), 4)
    0.9647

    Source
    ------
    Power screws, raising: Shigley, Mechanical Engineering Design, from memory.
    """
    lead_mm, round_mm, grip = _wedge(screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg)
    giving = positive(
        "pi dm - friction times lead, which tells whether a screw jams,", round_mm - grip * lead_mm
    )
    arm_m = round_mm / (2 * np.pi) / 1000
    return not_negative("axial_force_n", axial_force_n) * arm_m * (lead_mm + grip * round_mm) / giving


def lowering_torque_nm(axial_force_n, *, screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg):
    """What torque at the screw lets the nut go with the force; below zero the force drives the screw.

    Formula
    -------
    grip = screw_friction / cos(pi / 180 * flank_angle_deg)
    holding = pi * grip * mean_diameter_mm - screw_travel_mm
    giving = pi * mean_diameter_mm + grip * screw_travel_mm
    lowering_torque_nm = axial_force_n / 1000 * mean_diameter_mm / 2 * holding / giving

    Parameters
    ----------
    axial_force_n : float or array [N]
        Force along the screw.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    mean_diameter_mm : float or array [mm]
        See `mean_screw_diameter_mm`.
    screw_friction : float or array [1]
        Nut on screw.
    flank_angle_deg : float or array [deg]
        Half the angle between the flanks.

    Returns
    -------
    float or array [N m]
        Above zero the screw holds by itself, also with a stepper that has no current.

    Range
    -----
    As `screw_torque_nm`. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> screw = {"screw_travel_mm": 3, "mean_diameter_mm": 18.5, "flank_angle_deg": 15}
    >>> round(float(lowering_torque_nm(500, screw_friction=0.15, **screw)), 2)
    0.48

    Source
    ------
    Power screws, lowering: Shigley, Mechanical Engineering Design, from memory.
    """
    lead_mm, round_mm, grip = _wedge(screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg)
    arm_m = round_mm / (2 * np.pi) / 1000
    holding = (grip * round_mm - lead_mm) / (round_mm + grip * lead_mm)
    return not_negative("axial_force_n", axial_force_n) * arm_m * holding


def collar_torque_nm(axial_force_n, *, collar_mm, collar_friction):
    """What torque a plain collar takes that carries the screw's thrust.

    Formula
    -------
    collar_torque_nm = collar_friction * axial_force_n / 1000 * collar_mm / 2

    Parameters
    ----------
    axial_force_n : float or array [N]
        Thrust of the screw.
    collar_mm : float or array [mm]
        Mean diameter of the rubbing ring; a thrust ball bearing takes next to nothing instead.
    collar_friction : float or array [1]
        Collar on its seat, 0.08 to 0.15.

    Returns
    -------
    float or array [N m]
        Torque at the screw, up and down alike.

    Range
    -----
    Zero or more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is negative.

    Examples
    --------
    >>> round(collar_torque_nm(6400, collar_mm=40, collar_friction=0.08), 2)
    10.24

    Source
    ------
    Power screws, collar: Shigley, Mechanical Engineering Design, from memory.
    """
    thrust_n = not_negative("axial_force_n", axial_force_n)
    arm_m = not_negative("collar_mm", collar_mm) / 2000
    return not_negative("collar_friction", collar_friction) * thrust_n * arm_m


def screw_efficiency(axial_force_n, *, screw_travel_mm, driving_torque_nm):
    """What share of the work put into a screw comes out at its nut.

    A screw that holds by itself never gives back more than half.

    Formula
    -------
    screw_efficiency = axial_force_n * screw_travel_mm / 1000 / (2 * pi * driving_torque_nm)

    Parameters
    ----------
    axial_force_n : float or array [N]
        Force at the nut.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    driving_torque_nm : float or array [N m]
        Torque at the screw, collar and all.

    Returns
    -------
    float or array [1]
        A quarter or so for a trapezoidal leadscrew, 0.9 for a ball screw.

    Range
    -----
    Torque above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(screw_efficiency(500, screw_travel_mm=3, driving_torque_nm=0.964688), 4)
    0.2475

    Source
    ------
    Work out over work in for one turn.
    """
    work_j = (
        not_negative("axial_force_n", axial_force_n) * positive("screw_travel_mm", screw_travel_mm) / 1000
    )
    return work_j / (2 * np.pi * positive("driving_torque_nm", driving_torque_nm))


def torque_by_efficiency_nm(axial_force_n, *, screw_travel_mm, efficiency):
    """What torque at the screw a force asks when its efficiency is known, as for a ball screw.

    Formula
    -------
    torque_by_efficiency_nm = axial_force_n * screw_travel_mm / 1000 / (2 * pi * efficiency)

    Parameters
    ----------
    axial_force_n : float or array [N]
        Force at the nut.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    efficiency : float or array [1]
        0.9 for a ball screw (common practice, no source); never take it for a trapezoidal one.

    Returns
    -------
    float or array [N m]
        Torque at the screw.

    Range
    -----
    Efficiency above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(torque_by_efficiency_nm(1000, screw_travel_mm=5, efficiency=0.9), 3)
    0.884

    Source
    ------
    Work out over work in for one turn.
    """
    work_j = (
        not_negative("axial_force_n", axial_force_n) * positive("screw_travel_mm", screw_travel_mm) / 1000
    )
    return work_j / (2 * np.pi * positive("efficiency", efficiency))


def holds_itself(screw_travel_mm, *, mean_diameter_mm, screw_friction, flank_angle_deg) -> bool:
    """Whether the nut stays where it is when the stepper has no current.

    Formula
    -------
    grip = screw_friction / cos(pi / 180 * flank_angle_deg)
    holds_itself = pi * grip * mean_diameter_mm > screw_travel_mm

    Parameters
    ----------
    screw_travel_mm : float [mm]
        Lead of the screw.
    mean_diameter_mm : float [mm]
        See `mean_screw_diameter_mm`.
    screw_friction : float [1]
        Nut on screw; vibration and fresh oil lower it.
    flank_angle_deg : float [deg]
        Half the angle between the flanks.

    Returns
    -------
    bool
        False for a ball screw: without current the carriage can be pushed along the bed.

    Range
    -----
    All above zero, the flank's angle from zero up.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> holds_itself(3, mean_diameter_mm=18.5, screw_friction=0.15, flank_angle_deg=15)
    True
    >>> holds_itself(5, mean_diameter_mm=15, screw_friction=0.005, flank_angle_deg=0)
    False

    Source
    ------
    Condition of self-locking: Shigley, Mechanical Engineering Design, from memory.
    """
    lead_mm, round_mm, grip = _wedge(screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg)
    return bool(grip * round_mm > lead_mm)


def _wedge(screw_travel_mm, mean_diameter_mm, screw_friction, flank_angle_deg):
    """Lead, way round and grip of a screw seen as a wedge."""
    lead_mm = positive("screw_travel_mm", screw_travel_mm)
    round_mm = np.pi * positive("mean_diameter_mm", mean_diameter_mm)
    flank = np.cos(np.radians(not_negative("flank_angle_deg", flank_angle_deg)))
    return lead_mm, round_mm, not_negative("screw_friction", screw_friction) / flank
