"""A screw-on chuck under a hard brake: the torque that would unscrew it, and what must hold against it.

On a right-hand nose, braking from forward slackens the chuck, and so do starting and cutting in reverse;
braking from reverse tightens it. How tight it sits after light cuts is never known.
"""

from machinelab.ranges import not_negative, positive

# Without a clamp; reports by owners, common practice, no source.
SHORTEST_STOP_S = 2.0


def chuck_inertia_kg_m2(chuck_mass_kg, *, chuck_diameter_mm):
    """Moment of inertia of a chuck, taken as a solid disc.

    Formula
    -------
    chuck_inertia_kg_m2 = chuck_mass_kg * (chuck_diameter_mm / 2000)**2 / 2

    Parameters
    ----------
    chuck_mass_kg : float or array [kg]
        Weighed, with its back plate.
    chuck_diameter_mm : float or array [mm]
        Outside, without the jaws.

    Returns
    -------
    float or array [kg m2]
        A little high for a chuck with a large bore, low with long jaws standing out.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(chuck_inertia_kg_m2(8.0, chuck_diameter_mm=160), 4)
    0.0256

    Source
    ------
    Textbook: a solid disc about its axis.
    """
    radius_m = positive("chuck_diameter_mm", chuck_diameter_mm) / 2000
    return positive("chuck_mass_kg", chuck_mass_kg) * radius_m**2 / 2


def unscrewing_torque_nm(deceleration_rad_s2, *, chuck_inertia_kg_m2):
    """Torque with which the chuck's own momentum tries to unscrew it while the nose is braked.

    Formula
    -------
    unscrewing_torque_nm = chuck_inertia_kg_m2 * deceleration_rad_s2

    Parameters
    ----------
    deceleration_rad_s2 : float or array [rad/s2]
        Deceleration of the spindle at its peak, which is the first moment of the brake, not the mean.
    chuck_inertia_kg_m2 : float or array [kg m2]
        Chuck, back plate and work.

    Returns
    -------
    float or array [N m]
        Torque on the thread of the nose; an impact adds to it.

    Range
    -----
    Inertia above zero, deceleration from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(unscrewing_torque_nm(52.36, chuck_inertia_kg_m2=0.006), 3)
    0.314

    Source
    ------
    Derived here: inertia times deceleration.
    """
    inertia = positive("chuck_inertia_kg_m2", chuck_inertia_kg_m2)
    return inertia * not_negative("deceleration_rad_s2", deceleration_rad_s2)


def seating_torque_needed_nm(deceleration_rad_s2, *, chuck_inertia_kg_m2):
    """Torque with which the chuck must have been screwed home to bear such a stop.

    Formula
    -------
    seating_torque_needed_nm = 3 * chuck_inertia_kg_m2 * deceleration_rad_s2

    Parameters
    ----------
    deceleration_rad_s2 : float or array [rad/s2]
        Deceleration of the spindle at its peak.
    chuck_inertia_kg_m2 : float or array [kg m2]
        Chuck, back plate and work.

    Returns
    -------
    float or array [N m]
        Three times the torque that would unscrew it. Where that is more than it is certain to have had,
        fit a clamp or a larger resistor.

    Range
    -----
    Inertia above zero, deceleration from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(seating_torque_needed_nm(100.0, chuck_inertia_kg_m2=0.0256), 2)
    7.68

    Source
    ------
    Common practice, no source. A thread slackens at some 60 to 90 % of what tightened it (from memory).
    """
    return 3 * unscrewing_torque_nm(deceleration_rad_s2, chuck_inertia_kg_m2=chuck_inertia_kg_m2)


def deceleration_allowed_rad_s2(seating_torque_nm, *, chuck_inertia_kg_m2):
    """The quickest slowing that a chuck bears, from the least torque that it has been seated with.

    Formula
    -------
    deceleration_allowed_rad_s2 = seating_torque_nm / (3 * chuck_inertia_kg_m2)

    Parameters
    ----------
    seating_torque_nm : float or array [N m]
        The least torque with which the chuck has been screwed home.
    chuck_inertia_kg_m2 : float or array [kg m2]
        Chuck, back plate and work.

    Returns
    -------
    float or array [rad/s2]
        Deceleration of the spindle.

    Range
    -----
    Inertia above zero, torque from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(deceleration_allowed_rad_s2(7.68, chuck_inertia_kg_m2=0.0256), 6)
    100.0

    Source
    ------
    Inverse of `seating_torque_needed_nm`.
    """
    inertia = positive("chuck_inertia_kg_m2", chuck_inertia_kg_m2)
    return not_negative("seating_torque_nm", seating_torque_nm) / (3 * inertia)
