"""What the drive of an encoder does to a thread: the index pulse, pulleys out of true, belts that creep."""

from dataclasses import dataclass
from fractions import Fraction
from math import pi

from machinelab.ranges import exact_positive, exact_ratio, positive, whole


@dataclass(frozen=True)
class IndexUse:
    """What the encoder's index pulse can be used for.

    Parameters
    ----------
    index_angles : int [1]
        At how many different spindle angles the pulse may come.
    turns_between : int [turn]
        Spindle turns from one pulse at a given angle to the next at the same angle.
    usable : bool
        True when a pulse always finds a start of the thread.
    """

    index_angles: int
    turns_between: int
    usable: bool


def index_use(encoder_turns_per_spindle_turn, starts=1):
    """Whether the encoder's index pulse may start a thread; the counts themselves never mind.

    Formula
    -------
    result.index_angles = numerator(encoder_turns_per_spindle_turn)
    result.turns_between = denominator(encoder_turns_per_spindle_turn)
    result.usable = starts % numerator(encoder_turns_per_spindle_turn) == 0

    Parameters
    ----------
    encoder_turns_per_spindle_turn : Fraction or int [turn/turn]
        See `machinelab.spindle.encoder.encoder_turns_per_spindle_turn`.
    starts : int [1]
        Starts of the thread.

    Returns
    -------
    IndexUse
        At how many angles the pulse comes, how long it takes to come round, and whether it may be used.

    Range
    -----
    An exact ratio above zero, one start or more.

    Raises
    ------
    RangeError
        If the ratio is not exact or not above zero, or the starts are not a whole number.

    Examples
    --------
    Pulleys of 36 and 32 teeth: the pulse comes at nine different spindle angles.

    >>> index_use(Fraction(36, 32))
    IndexUse(index_angles=9, turns_between=8, usable=False)

    Source
    ------
    Derived here: a turns of the encoder are b turns of the spindle when their ratio is a/b in lowest terms.
    """
    ratio = exact_positive("encoder_turns_per_spindle_turn", encoder_turns_per_spindle_turn)
    return IndexUse(ratio.numerator, ratio.denominator, whole("starts", starts) % ratio.numerator == 0)


def pulley_angle_error_rad(eccentricity_mm, pulley_radius_mm):
    """How far the counted spindle angle swings to either side when a pulley of the encoder's belt runs out.

    Either pulley pulls the same length of belt, so the spindle pulley's radius is the one to give for both;
    on a drive of one to one they are the same.

    Formula
    -------
    pulley_angle_error_rad = eccentricity_mm / pulley_radius_mm

    Parameters
    ----------
    eccentricity_mm : float or array [mm]
        Half of the dial reading from lowest to highest.
    pulley_radius_mm : float or array [mm]
        Pitch radius of the pulley on the spindle.

    Returns
    -------
    float or array [rad]
        Peak error; it comes and goes and never adds up.

    Range
    -----
    Radius above zero and much more than the eccentricity; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the radius is zero or negative.

    Examples
    --------
    >>> pulley_angle_error_rad(0.05, 20)
    0.0025

    Source
    ------
    Derived here: the belt is wound on at a radius that swings by the eccentricity; first order.
    """
    return eccentricity_mm / positive("pulley_radius_mm", pulley_radius_mm)


def angle_error_on_thread_mm(angle_error_rad, thread_lead_mm):
    """How far the carriage is out for an error of the counted spindle angle.

    Formula
    -------
    angle_error_on_thread_mm = angle_error_rad / (2 * pi) * thread_lead_mm

    Parameters
    ----------
    angle_error_rad : float or array [rad]
        Error of the spindle angle, see `pulley_angle_error_rad`.
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread.

    Returns
    -------
    float or array [mm]
        Error along the work.

    Range
    -----
    Any angle; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the lead is zero or a rounded decimal.

    Examples
    --------
    >>> round(angle_error_on_thread_mm(0.0025, Fraction(3, 2)), 7)
    0.0005968

    Source
    ------
    Derived here: one lead for one turn.
    """
    return angle_error_rad / (2 * pi) * float(exact_ratio("thread_lead_mm", thread_lead_mm))


def encoder_pulley_wave_mm(thread_lead_mm, encoder_turns_per_spindle_turn) -> Fraction:
    """How far apart along the thread the error of an encoder pulley that runs out comes back.

    One to one it falls on every turn alike: a drunken thread that fits its like. Otherwise it beats with the
    turns as a slow wave of pitch.

    Formula
    -------
    encoder_pulley_wave_mm = abs(thread_lead_mm) / encoder_turns_per_spindle_turn

    Parameters
    ----------
    thread_lead_mm : Fraction or int [mm]
        Lead of the thread; its hand does not matter.
    encoder_turns_per_spindle_turn : Fraction or int [turn/turn]
        See `machinelab.spindle.encoder.encoder_turns_per_spindle_turn`.

    Returns
    -------
    Fraction [mm]
        Travel for one turn of the encoder.

    Range
    -----
    A lead other than zero, a ratio above zero.

    Raises
    ------
    RangeError
        If an input is a rounded decimal or out of range.

    Examples
    --------
    >>> encoder_pulley_wave_mm(Fraction(3, 2), Fraction(9, 8))
    Fraction(4, 3)

    Source
    ------
    Derived here: travel a spindle turn over encoder turns a spindle turn.
    """
    travel = abs(exact_ratio("thread_lead_mm", thread_lead_mm))
    return travel / exact_positive("encoder_turns_per_spindle_turn", encoder_turns_per_spindle_turn)


def creep_phase_turns(creep_share, spindle_turns):
    """How far a friction belt falls behind over some turns: reason enough to reject one.

    The creep grows with the load, so the way back does not undo it. Only a toothed belt, gears or the spindle
    itself may drive the encoder.

    Formula
    -------
    creep_phase_turns = creep_share * spindle_turns

    Parameters
    ----------
    creep_share : float or array [1]
        Part of each turn that is lost: 0.005 to 0.01 for round, flat and V belts (from memory).
    spindle_turns : float or array [turn]
        Turns of the spindle.

    Returns
    -------
    float or array [turn]
        Phase lost between spindle and count; times the lead it is the error along the thread.

    Range
    -----
    Any numbers; NaN in gives NaN out.

    Examples
    --------
    >>> creep_phase_turns(0.01, 10)
    0.1

    Source
    ------
    Derived here: the same part is lost of each turn.
    """
    return creep_share * spindle_turns
