"""How far the rotor stands behind its command: the true following error of a stepper that loses no step."""

import numpy as np

from machinelab.leadscrew.stepper_torque import STEPS_PER_TOOTH
from machinelab.ranges import not_negative, positive, whole


def microstep_torque_share(microsteps):
    """What share of the holding torque one microstep musters.

    A microstep is a small turn of the field, so the first of them hardly pulls: less than stiction and
    detent, and nothing moves until several have been given. It does **not** mean that microstepping makes a
    running motor weaker; that belief is common and wrong.

    Formula
    -------
    microstep_torque_share = sin(pi / 180 * 90 / microsteps)

    Parameters
    ----------
    microsteps : int or array [1]
        Step pulses for one full step.

    Returns
    -------
    float or array [1]
        Torque of one microstep over the holding torque.

    Range
    -----
    From one up.

    Raises
    ------
    RangeError
        If there are fewer than one.

    Examples
    --------
    >>> round(float(microstep_torque_share(16)), 3)
    0.098

    Source
    ------
    A stepper maker's technical note on microstepping prints the table; it and the remark on running torque
    were read in excerpts.
    """
    return np.sin(np.pi / 2 / positive("microsteps", microsteps))


def rotor_lag_deg(load_at_motor_nm, *, peak_torque_nm, full_steps):
    """How far the rotor lags behind its command under a load.

    Formula
    -------
    load_at_motor_nm <= peak_torque_nm
    rotor_lag_deg = 180 / pi * asin(load_at_motor_nm / peak_torque_nm) / (full_steps / 4)

    Parameters
    ----------
    load_at_motor_nm : float or array [N m]
        Load, friction and detent included.
    peak_torque_nm : float or array [N m]
        Most that the stepper gives at this speed.
    full_steps : int [step]
        Full steps in one turn of the stepper.

    Returns
    -------
    float or array [deg]
        Lag of the shaft: one full step at the most, when it is about to fall out. NaN beyond that.

    Range
    -----
    Loads up to the peak; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(float(rotor_lag_deg(0.5, peak_torque_nm=1.343, full_steps=200)), 3)
    0.437

    Source
    ------
    Torque of a hybrid stepper as a sine of its lag: Acarnley, Stepping Motors, from memory.
    """
    teeth = whole("full_steps", full_steps) / STEPS_PER_TOOTH
    share = not_negative("load_at_motor_nm", load_at_motor_nm) / positive("peak_torque_nm", peak_torque_nm)
    return np.degrees(np.arcsin(np.where(share <= 1, share, np.nan)))[()] / teeth


def lag_travel_um(rotor_lag_deg, *, screw_travel_mm, motor_turns_per_screw_turn):
    """What a lag of the rotor comes to at the carriage.

    Formula
    -------
    lag_travel_um = 1000 * rotor_lag_deg / 360 * screw_travel_mm / motor_turns_per_screw_turn

    Parameters
    ----------
    rotor_lag_deg : float or array [deg]
        See `rotor_lag_deg`.
    screw_travel_mm : float or array [mm]
        Lead of the screw.
    motor_turns_per_screw_turn : Fraction or float [turn/turn]
        See `machinelab.leadscrew.screw_drive`.

    Returns
    -------
    float or array [um]
        How far the carriage stands behind: smaller than backlash, the screw's error and the tool's spring on
        any machine that has not lost a step.

    Range
    -----
    Any finite lag; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If lead or ratio is not above zero.

    Examples
    --------
    >>> lag_travel_um(1.8, screw_travel_mm=3, motor_turns_per_screw_turn=2)
    7.5

    Source
    ------
    Derived here: share of a turn times travel of a turn.
    """
    gearing = float(positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn))
    return 1000 * rotor_lag_deg / 360 * positive("screw_travel_mm", screw_travel_mm) / gearing
