"""The steps of a turn: from the stepper to the leadscrew, and from the spindle to the stepper."""

from fractions import Fraction

from machinelab.ranges import exact_positive, exact_ratio, whole


def motor_turns_per_screw_turn(motor_teeth, screw_teeth):
    """How many turns the stepper makes for one turn of the leadscrew.

    Formula
    -------
    motor_turns_per_screw_turn = screw_teeth / motor_teeth

    Parameters
    ----------
    motor_teeth : int [tooth]
        Teeth on the stepper's shaft.
    screw_teeth : int [tooth]
        Teeth on the leadscrew. An idler between the two changes nothing.

    Returns
    -------
    Fraction [turn/turn]
        More than one when the stepper turns faster than the screw.

    Range
    -----
    Whole numbers of teeth, at least one each.

    Raises
    ------
    RangeError
        If a number of teeth is not a whole number above zero.

    Examples
    --------
    >>> motor_turns_per_screw_turn(24, 60)
    Fraction(5, 2)

    Source
    ------
    Derived here: equal lengths of belt, or equal numbers of teeth, pass both wheels.
    """
    return Fraction(whole("screw_teeth", screw_teeth), whole("motor_teeth", motor_teeth))


def steps_per_screw_turn(full_steps, microsteps, motor_turns_per_screw_turn):
    """How many step pulses turn the leadscrew once.

    Formula
    -------
    steps_per_screw_turn = full_steps * microsteps * motor_turns_per_screw_turn

    Parameters
    ----------
    full_steps : int [step]
        Full steps in one turn of the stepper: 200 or 400.
    microsteps : int [1]
        Step pulses for one full step, as set on the driver.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        See `motor_turns_per_screw_turn`.

    Returns
    -------
    Fraction [step]
        Step pulses for one turn of the screw; it need not be a whole number.

    Range
    -----
    All above zero.

    Raises
    ------
    RangeError
        If an input is not an exact number above zero.

    Examples
    --------
    >>> steps_per_screw_turn(200, 8, Fraction(60, 24))
    Fraction(4000, 1)

    Source
    ------
    Derived here: a product of turns.
    """
    pulses_per_motor_turn = whole("full_steps", full_steps) * whole("microsteps", microsteps)
    return pulses_per_motor_turn * exact_positive("motor_turns_per_screw_turn", motor_turns_per_screw_turn)


def position_quantum_mm(screw_lead_mm, steps_per_screw_turn):
    """How far the carriage moves for one step pulse.

    Formula
    -------
    position_quantum_mm = screw_lead_mm / steps_per_screw_turn

    Parameters
    ----------
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    steps_per_screw_turn : Fraction or int [step]
        See `steps_per_screw_turn`.

    Returns
    -------
    Fraction [mm]
        Carriage travel for one step. Backlash and the screw's own error are far larger on most machines.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If an input is not an exact number above zero.

    Examples
    --------
    >>> float(position_quantum_mm(3, 3200))
    0.0009375

    Source
    ------
    Derived here: travel for one turn shared among the steps of one turn.
    """
    return exact_positive("screw_lead_mm", screw_lead_mm) / exact_positive(
        "steps_per_screw_turn", steps_per_screw_turn
    )


def counts_per_step(ratio):
    """How many encoder counts pass between one step and the next, on the average.

    Formula
    -------
    counts_per_step = 1 / abs(ratio)

    Parameters
    ----------
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.

    Returns
    -------
    Fraction [count/step]
        The intervals take turns between the whole numbers on either side of it.

    Range
    -----
    Any exact ratio but zero.

    Raises
    ------
    RangeError
        If the ratio is zero or a rounded decimal.

    Examples
    --------
    >>> counts_per_step(Fraction(127, 375))
    Fraction(375, 127)

    Source
    ------
    Derived here: the reciprocal of the ratio.
    """
    return 1 / abs(exact_ratio("ratio", ratio))


def steps_per_spindle_turn(ratio, counts_per_spindle_turn):
    """How many steps the stepper makes in one turn of the spindle.

    Formula
    -------
    steps_per_spindle_turn = ratio * counts_per_spindle_turn

    Parameters
    ----------
    ratio : Fraction or int [1]
        See `machinelab.leadscrew.gearing.steps_per_count`.
    counts_per_spindle_turn : Fraction or int [count]
        Encoder counts in one turn of the spindle.

    Returns
    -------
    Fraction [step]
        Steps in one turn; it need not be whole. Negative for a left-hand thread.

    Range
    -----
    The ratio is not zero, the counts are above zero.

    Raises
    ------
    RangeError
        If an input is a rounded decimal or out of range.

    Examples
    --------
    >>> steps_per_spindle_turn(Fraction(48, 127), 4000)
    Fraction(192000, 127)

    Source
    ------
    Derived here: steps a count times counts a turn.
    """
    return exact_ratio("ratio", ratio) * exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)
