"""The back EMF of the spindle's motor from a bench, two ways that must agree.

In SI units the volts for each radian a second are also the newton metres for each ampere. Volts at a thousand
turns a minute are another figure, by a factor of 104.7; the unit door tells them apart.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, enough, linear_fit
from machinelab.ranges import positive

LEAST_SPEEDS = 5
# From here on an offset or a bend of the generator's line counts, as a share of its top; common practice, no
# source. A smaller one is the meter's.
TELLING_SHARE = 0.01
# Two ways to the back EMF agree within the first and disagree beyond the second; common practice, no source.
AGREEING_SHARE, DISAGREEING_SHARE = 0.03, 0.05
RAD_S_PER_RPM = np.pi / 30


def back_emf_at_load_v_s_per_rad(
    motor_speed_rpm, *, voltage_v, current_a, armature_resistance_ohm, brush_drop_v
):
    """The back EMF of a motor from one steady point: volts and amperes at a speed, light or loaded.

    The nameplate's volts over its speed overstate it by 4 to 10 %, because part of the volts is lost in the
    armature.

    Formula
    -------
    left_v = voltage_v - current_a * armature_resistance_ohm - brush_drop_v
    back_emf_at_load_v_s_per_rad = left_v / (pi / 30 * motor_speed_rpm)

    Parameters
    ----------
    motor_speed_rpm : float or array [rpm]
        Speed of the motor.
    voltage_v : float or array [V]
        Direct voltage at the brushes.
    current_a : float or array [A]
        Current into the motor.
    armature_resistance_ohm : float or array [ohm]
        Resistance of the armature.
    brush_drop_v : float or array [V]
        Voltage lost at both brushes together.

    Returns
    -------
    float or array [V s/rad]
        Back EMF for each radian a second.

    Range
    -----
    The speed is above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero.

    Examples
    --------
    >>> float(
    ...     round(
    ...         back_emf_at_load_v_s_per_rad(
    ...             2500, voltage_v=180, current_a=5, armature_resistance_ohm=1.6, brush_drop_v=0
    ...         ),
    ...         4,
    ...     )
    ... )
    0.657

    Source
    ------
    Textbook: the armature circuit of a DC machine.
    """
    left_v = voltage_v - current_a * armature_resistance_ohm - brush_drop_v
    return left_v / (RAD_S_PER_RPM * positive("motor_speed_rpm", motor_speed_rpm))


@dataclass(frozen=True)
class GeneratorTest:
    """Back EMF from turning the motor by something else and reading its open terminals.

    Parameters
    ----------
    back_emf : Estimate [V s/rad]
        Slope of volts over speed, the line through nought.
    intercept : Estimate [V]
        Where the line would start if it were left free; nought unless a meter is off.
    bend_share : Estimate [1]
        How far the line bends away at the highest speed, as a share of the volts there.
    straight : bool
        True when neither offset nor bend shows.
    warnings : tuple of str
        What to know before the figure is used.
    """

    back_emf: Estimate
    intercept: Estimate
    bend_share: Estimate
    straight: bool
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class BackEmfComparison:
    """Whether two ways to the back EMF lead to the same figure.

    Parameters
    ----------
    difference_share : float [1]
        Second less first, over their mean.
    agree : bool
        True within 3 %.
    meaning : str
        What follows, in plain words.
    """

    difference_share: float
    agree: bool
    meaning: str


def generator_test(motor_speed_rpm, *, voltage_v) -> GeneratorTest:
    """The back EMF of a motor that is turned by a drill or another spindle, terminals open.

    Read volts with a meter that averages (direct voltage), not one that gives the rms of a ripple.

    Formula
    -------
    none: least squares of voltage = back_emf * speed; then once with an offset and once with a bend, to see
        whether either shows.

    Parameters
    ----------
    motor_speed_rpm : array [rpm]
        Speed of the motor; negative when turned the other way.
    voltage_v : array [V]
        Volts at the open terminals, with their sign.

    Returns
    -------
    GeneratorTest
        Slope, offset and bend with 95 % intervals, and warnings.

    Range
    -----
    At least five speeds, best both ways; readings that are missing (NaN) are left out.

    Raises
    ------
    RangeError
        If there are too few speeds, or the columns differ in length.

    Examples
    --------
    >>> speed = np.array([-1500, -700, 500, 1000, 1500, 2000])
    >>> found = generator_test(speed, voltage_v=0.288 * speed * np.pi / 30)
    >>> round(found.back_emf.value, 4), found.straight
    (0.288, True)

    Source
    ------
    Textbook: open-circuit voltage in proportion to speed. Limit of 1 % for offset and bend: common practice,
    no source.
    """
    rpm, volts = columns_of(motor_speed_rpm=motor_speed_rpm, voltage_v=voltage_v)
    enough(len(np.unique(rpm[rpm != 0])), LEAST_SPEEDS, "speeds")
    speeds = rpm * RAD_S_PER_RPM
    top, highest_v = np.max(np.abs(speeds)), np.max(np.abs(volts))
    (back_emf,), _ = linear_fit(speeds[:, None], volts)
    (intercept, _), _ = linear_fit(np.column_stack([np.ones_like(speeds), speeds]), volts)
    (_, bend), _ = linear_fit(np.column_stack([speeds, speeds * np.abs(speeds) / top]), volts)
    bend = Estimate.symmetric(bend.value / back_emf.value, bend.expanded_uncertainty / abs(back_emf.value))
    bent = f"{100 * bend.value:+.1f} %"
    offset_shows = _shows(intercept, TELLING_SHARE * highest_v)
    bend_shows = _shows(bend, TELLING_SHARE)
    found = {
        f"Standing still it would show {intercept.value:.2g} V: one of the meters is off.": offset_shows,
        f"The line bends by {bent} at the top: a drive that slips, or an rms meter.": bend_shows,
        "Turned one way only; turn it the other way as well.": np.all(rpm >= 0) or np.all(rpm <= 0),
    }
    warnings = tuple(words for words, shows in found.items() if shows)
    return GeneratorTest(back_emf, intercept, bend, not (offset_shows or bend_shows), warnings)


def compare_back_emf(back_emf_v_s_per_rad, *, other_back_emf_v_s_per_rad) -> BackEmfComparison:
    """Whether the generator test and a run without load lead to the same back EMF.

    Formula
    -------
    mean = (back_emf_v_s_per_rad + other_back_emf_v_s_per_rad) / 2
    result.difference_share = (other_back_emf_v_s_per_rad - back_emf_v_s_per_rad) / mean
    result.agree = abs((other_back_emf_v_s_per_rad - back_emf_v_s_per_rad) / mean) <= 3/100

    Parameters
    ----------
    back_emf_v_s_per_rad : float [V s/rad]
        By one way.
    other_back_emf_v_s_per_rad : float [V s/rad]
        By the other.

    Returns
    -------
    BackEmfComparison
        How far apart they are, whether they agree, and what to look for if not.

    Range
    -----
    Both above zero.

    Raises
    ------
    RangeError
        If one is not above zero.

    Examples
    --------
    >>> compare_back_emf(0.288, other_back_emf_v_s_per_rad=0.290).agree
    True

    Source
    ------
    Limits of 3 % and 5 %: common practice, no source.
    """
    first = positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad)
    second = positive("other_back_emf_v_s_per_rad", other_back_emf_v_s_per_rad)
    apart = float((second - first) / ((first + second) / 2))
    told = f"{100 * apart:+.1f} % apart"
    if abs(apart) <= AGREEING_SHARE:
        return BackEmfComparison(apart, True, f"the two ways agree, {told}.")
    if abs(apart) <= DISAGREEING_SHARE:
        return BackEmfComparison(apart, False, f"{told}, a little much: repeat both with a warm motor.")
    return BackEmfComparison(
        apart,
        False,
        f"{told}: the brushes stand off neutral (run it light both ways and compare the speeds), the magnets "
        "are partly demagnetised, or a meter gives the rms of pulses and not their average.",
    )


def _shows(estimate: Estimate, telling: float) -> bool:
    low, high = estimate.interval
    return bool(not low <= 0 <= high and abs(estimate.value) > telling)
