"""How steadily the drive holds the spindle's speed, and how finely its knob sets it.

Under load the speed falls by a fixed number of turns a minute, at every speed: what is a few per cent at the
top is half of all at the bottom. A drive that raises the voltage with the current hides that, up to the point
where it hunts.
"""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.spindle.motor_temperature import hot_resistance_ohm

# Common practice, no source: share of the resistance at 20 degrees that may be made up for.
USUAL_COMPENSATION_SHARE = 0.85
# Speed that a drive without a tachometer holds, share of full speed, from memory: 1 to 2 %.
USUAL_REGULATION_SHARE = 0.015
# What a hand can still set on a knob; common practice, no source: 1 to 2 degrees.
USUAL_HAND_DEG = 1.5
RPM_PER_RAD_S = 30 / np.pi


def droop_rpm(current_rise_a, *, armature_resistance_ohm, compensation_ohm, back_emf_v_s_per_rad):
    """How many turns a minute the motor loses when a load raises its current.

    Formula
    -------
    left_ohm = armature_resistance_ohm - compensation_ohm
    droop_rpm = 30 / pi * current_rise_a * left_ohm / back_emf_v_s_per_rad

    Parameters
    ----------
    current_rise_a : float or array [A]
        Current under load less current without.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature, as warm as it is.
    compensation_ohm : float or array [ohm]
        Volts that the drive adds for each ampere (IR trim); zero without.
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF.

    Returns
    -------
    float or array [rpm]
        Loss of the motor's speed, the same at every setting; negative where the trim is too strong, and then
        the speed rises with the load and runs away.

    Range
    -----
    Steady speeds; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the back EMF is not above zero.

    Examples
    --------
    >>> float(
    ...     round(
    ...         droop_rpm(5, armature_resistance_ohm=1.6, compensation_ohm=0, back_emf_v_s_per_rad=0.657), 1
    ...     )
    ... )
    116.3

    Source
    ------
    Textbook: the armature circuit of a DC machine; the trim as a negative resistance, derived here.
    """
    left_ohm = armature_resistance_ohm - compensation_ohm
    return RPM_PER_RAD_S * current_rise_a * left_ohm / positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad)


def largest_compensation_ohm(resistance_20_ohm, *, coldest_degc):
    """The IR trim at which a cold motor begins to run away: its resistance on the coldest morning.

    Set the trim to 0.8 to 0.9 of the resistance at 20 degrees, and never by the hot motor: what just suits
    the hot one makes the cold one hunt.

    Formula
    -------
    largest_compensation_ohm = resistance_20_ohm * (1 + 0.00393 * (coldest_degc - 20))

    Parameters
    ----------
    resistance_20_ohm : float or array [ohm]
        Resistance of the armature at 20 degrees.
    coldest_degc : float or array [degC]
        The coldest that the workshop gets.

    Returns
    -------
    float or array [ohm]
        Volts for each ampere that must not be reached.

    Range
    -----
    About -50 to 50 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistance is not above zero.

    Examples
    --------
    >>> round(largest_compensation_ohm(1.2, coldest_degc=0), 3)
    1.106

    Source
    ------
    Derived here: the circuit is stable while resistance less trim is above zero. Share to set: common
    practice, no source.
    """
    return hot_resistance_ohm(resistance_20_ohm, winding_degc=coldest_degc)


def knob_rpm_per_deg(speed_span_rpm, *, turn_angle_deg):
    """How many turns a minute one degree of the speed knob is.

    Formula
    -------
    knob_rpm_per_deg = speed_span_rpm / turn_angle_deg

    Parameters
    ----------
    speed_span_rpm : float or array [rpm]
        Spindle speed with the knob fully up less that with it down.
    turn_angle_deg : float or array [deg]
        From stop to stop: 270 degrees for a plain knob, 3600 for one of ten turns.

    Returns
    -------
    float or array [rpm/deg]
        Change for each degree.

    Range
    -----
    A knob of even (linear) law; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle is not above zero.

    Examples
    --------
    >>> round(knob_rpm_per_deg(2000, turn_angle_deg=270), 2)
    7.41

    Source
    ------
    Derived here: span over angle.
    """
    return speed_span_rpm / positive("turn_angle_deg", turn_angle_deg)


def settable_step_rpm(speed_span_rpm, *, turn_angle_deg, hand_deg):
    """The smallest change of speed that a hand can set with a knob.

    A step finer than what the drive itself drifts is of no use, see `speed_drift_rpm`.

    Formula
    -------
    settable_step_rpm = speed_span_rpm / turn_angle_deg * hand_deg

    Parameters
    ----------
    speed_span_rpm : float or array [rpm]
        Spindle speed with the knob fully up less that with it down; a fine knob of 5 % has 5 % of it.
    turn_angle_deg : float or array [deg]
        From stop to stop.
    hand_deg : float or array [deg]
        What a hand can still set: 1 to 2 degrees.

    Returns
    -------
    float or array [rpm]
        Step of the spindle's speed.

    Range
    -----
    A knob of even (linear) law; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the angle is not above zero.

    Examples
    --------
    >>> round(settable_step_rpm(2000, turn_angle_deg=270, hand_deg=1.5), 1)
    11.1

    Source
    ------
    Derived here; what a hand can set: common practice, no source.
    """
    return knob_rpm_per_deg(speed_span_rpm, turn_angle_deg=turn_angle_deg) * hand_deg


def speed_drift_rpm(top_speed_rpm, *, regulation_share):
    """How far the spindle's speed wanders by itself with temperature and mains.

    Formula
    -------
    speed_drift_rpm = top_speed_rpm * regulation_share

    Parameters
    ----------
    top_speed_rpm : float or array [rpm]
        Spindle speed with the knob fully up.
    regulation_share : float or array [1]
        From the drive's data sheet, share of full speed: 0.01 to 0.02 without a tachometer.

    Returns
    -------
    float or array [rpm]
        Wandering at any setting.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an input is negative.

    Examples
    --------
    >>> speed_drift_rpm(1400, regulation_share=0.015)
    21.0

    Source
    ------
    Speed regulation as drives are specified; usual values from memory.
    """
    return not_negative("top_speed_rpm", top_speed_rpm) * not_negative("regulation_share", regulation_share)


def wiper_share(turned_share, *, knob_ohm, fine_ohm, load_ohm):
    """What share of its reference voltage a speed knob hands on, with a fine knob in series and a load on it.

    The fine knob is a variable resistor between the reference and the top of the speed knob; the input of the
    drive loads the wiper. The shares do not simply add: each moves the other's scale.

    Formula
    -------
    below_ohm = turned_share * knob_ohm * load_ohm / (turned_share * knob_ohm + load_ohm)
    wiper_share = below_ohm / (fine_ohm + (1 - turned_share) * knob_ohm + below_ohm)

    Parameters
    ----------
    turned_share : float or array [1]
        How far the speed knob is turned up, 0 to 1.
    knob_ohm : float or array [ohm]
        The speed knob from end to end.
    fine_ohm : float or array [ohm]
        The fine knob as it is set.
    load_ohm : float or array [ohm]
        Input resistance of the drive: 10 to 100 kilohm (from memory).

    Returns
    -------
    float or array [1]
        Share of the reference voltage at the drive.

    Range
    -----
    Turned from 0 to 1; NaN in gives NaN out. A broken wiper must give zero speed: wire the load to hold the
    input down, and prove it by lifting the wiper.

    Raises
    ------
    RangeError
        If the knob is turned beyond its ends, or a resistance cannot be.

    Examples
    --------
    >>> round(wiper_share(0.5, knob_ohm=10e3, fine_ohm=0, load_ohm=20e3), 3)
    0.444

    Source
    ------
    Textbook: the loaded voltage divider.
    """
    turned = not_negative("turned_share", turned_share)
    if np.any(np.asarray(turned) > 1):
        raise RangeError(f"turned_share is {np.nanmax(turned):g}; a knob fully up is 1.")
    lower_ohm = turned * positive("knob_ohm", knob_ohm)
    below_ohm = lower_ohm * positive("load_ohm", load_ohm) / (lower_ohm + load_ohm)
    return below_ohm / (not_negative("fine_ohm", fine_ohm) + knob_ohm - lower_ohm + below_ohm)
