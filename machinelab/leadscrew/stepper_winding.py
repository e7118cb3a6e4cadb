"""What a stepper's plate and its driver's setting mean: torque for each ampere, peak or rms, volts wanted."""

import numpy as np

from machinelab.ranges import not_negative, positive, whole


def torque_constant_nm_per_a(holding_torque_nm, *, rated_winding_current_a):
    """How much torque a winding gives for each ampere, which is also how many volts it makes for each rad/s.

    The holding torque on the plate is with **both** windings at rated current; one winding gives it less the
    square root of two.

    Formula
    -------
    torque_constant_nm_per_a = holding_torque_nm / (sqrt(2) * rated_winding_current_a)

    Parameters
    ----------
    holding_torque_nm : float or array [N m]
        From the data sheet.
    rated_winding_current_a : float or array [A]
        Current in each winding at which the holding torque was given.

    Returns
    -------
    float or array [N m/A]
        Torque constant of one winding; in V s/rad it is the same figure.

    Range
    -----
    Both above zero; NaN in gives NaN out. Windings as the plate counts them: series or parallel connections
    of a motor with eight leads change current, inductance and resistance together.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(float(torque_constant_nm_per_a(1.9, rated_winding_current_a=2.8)), 4)
    0.4798

    Source
    ------
    Model of the hybrid stepper: Acarnley, Stepping Motors; Kenjo and Sugawara, Stepping Motors and their
    Microprocessor Controls; both from memory.
    """
    current_a = positive("rated_winding_current_a", rated_winding_current_a)
    return positive("holding_torque_nm", holding_torque_nm) / (np.sqrt(2) * current_a)


def peak_of_rms_a(rms_current_a):
    """The peak of a sine current whose rms is known.

    Drivers count their current in either way. Settle this first: a driver whose figure is the peak gives
    71 % of the torque that the same figure in rms would.

    Formula
    -------
    peak_of_rms_a = sqrt(2) * rms_current_a

    Parameters
    ----------
    rms_current_a : float or array [A]
        The rms current.

    Returns
    -------
    float or array [A]
        Peak.

    Range
    -----
    Zero or more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the current is negative.

    Examples
    --------
    >>> round(float(peak_of_rms_a(2.8)), 2)
    3.96

    Source
    ------
    Definition of the rms of a sine.
    """
    return np.sqrt(2) * not_negative("rms_current_a", rms_current_a)


def current_limited_torque_nm(torque_constant_nm_per_a, *, phase_current_a):
    """The torque at low speed, where the driver holds its current and volts are plenty.

    Formula
    -------
    current_limited_torque_nm = torque_constant_nm_per_a * phase_current_a

    Parameters
    ----------
    torque_constant_nm_per_a : float or array [N m/A]
        See `machinelab.leadscrew.stepper_winding`.
    phase_current_a : float or array [A]
        **Peak** of the sine current that the driver is set to.

    Returns
    -------
    float or array [N m]
        The largest torque before the rotor falls out of step.

    Range
    -----
    Zero or more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is negative.

    Examples
    --------
    >>> round(current_limited_torque_nm(0.47982246, phase_current_a=2.8), 4)
    1.3435

    Source
    ------
    Two windings fed with sine and cosine: Acarnley, Stepping Motors, from memory.
    """
    constant = not_negative("torque_constant_nm_per_a", torque_constant_nm_per_a)
    return constant * not_negative("phase_current_a", phase_current_a)


def reversal_corner_rpm(full_steps, *, phase_current_a, driver_supply_v, inductance_h):
    """The rule of thumb for the speed beyond which a stepper's torque falls.

    The current of a winding must turn over in one full step, which takes twice its inductance times its
    current over the volts. The rule leaves the rotor's own voltage out: for a motor that makes much of it the
    corner found is up to one and a half times too high. See `machinelab.leadscrew.stepper_torque`.

    Formula
    -------
    reversal_s = 2 * inductance_h * phase_current_a / driver_supply_v
    reversal_corner_rpm = 60 / (full_steps * reversal_s)

    Parameters
    ----------
    full_steps : int [step]
        Full steps in one turn of the stepper.
    phase_current_a : float or array [A]
        Peak of the current that the driver is set to.
    driver_supply_v : float or array [V]
        Direct voltage that feeds the driver.
    inductance_h : float or array [H]
        Inductance of a winding.

    Returns
    -------
    float or array [rpm]
        Speed of the stepper.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(reversal_corner_rpm(200, phase_current_a=2.8, driver_supply_v=36, inductance_h=3.2e-3), 1)
    602.7

    Source
    ------
    A common rule of application notes, read in excerpts.
    """
    flux = positive("inductance_h", inductance_h) * positive("phase_current_a", phase_current_a)
    reversals_a_second = positive("driver_supply_v", driver_supply_v) / (2 * flux)
    return 60 * reversals_a_second / whole("full_steps", full_steps)


def usual_supply_v(inductance_h):
    """How many volts suit a stepper by the rule of thumb.

    Never above what the driver may be fed with, less a tenth for what a braked motor feeds back.

    Formula
    -------
    usual_supply_v = 32 * sqrt(1000 * inductance_h)

    Parameters
    ----------
    inductance_h : float or array [H]
        Inductance of a winding.

    Returns
    -------
    float or array [V]
        Direct voltage for the driver; more makes motor and driver hot, less gives speed away.

    Range
    -----
    Above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the inductance is not above zero.

    Examples
    --------
    >>> round(float(usual_supply_v(3.2e-3)))
    57

    Source
    ------
    Common practice, no source.
    """
    return 32 * np.sqrt(1000 * positive("inductance_h", inductance_h))
