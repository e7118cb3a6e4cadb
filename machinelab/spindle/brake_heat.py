"""The heat of braking: what a stop leaves in the resistor, and what a morning of threading makes of it."""

import numpy as np

from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake_circuit import RPM

__all__ = [
    "adiabatic_rise_k",
    "average_power_w",
    "energy_of_rotation_j",
    "hot_resistor_ohm",
    "rise_after_stops_k",
    "steady_peak_rise_k",
]


def energy_of_rotation_j(start_speed_rpm, *, inertia_kg_m2):
    """Energy of everything that turns, all of which a stop must turn into heat.

    Formula
    -------
    energy_of_rotation_j = inertia_kg_m2 * (pi/30 * start_speed_rpm)**2 / 2

    Parameters
    ----------
    start_speed_rpm : float or array [rpm]
        Spindle speed. Twice the speed is four times the energy.
    inertia_kg_m2 : float or array [kg m2]
        All that turns, felt at the spindle.

    Returns
    -------
    float or array [J]
        Energy. Armature and resistor share the electrical part by their resistances, so a small resistor
        moves the heat into the motor.

    Range
    -----
    Inertia above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the inertia is not above zero.

    Examples
    --------
    >>> round(energy_of_rotation_j(1000, inertia_kg_m2=0.05), 3)
    274.156

    Source
    ------
    Textbook: kinetic energy of rotation.
    """
    return positive("inertia_kg_m2", inertia_kg_m2) * (RPM * start_speed_rpm) ** 2 / 2


def adiabatic_rise_k(energy_j, *, heated_mass_kg, specific_heat_j_per_kg_k):
    """How far one stop warms a body that has no time to give heat away.

    Formula
    -------
    adiabatic_rise_k = energy_j / (heated_mass_kg * specific_heat_j_per_kg_k)

    Parameters
    ----------
    energy_j : float or array [J]
        Heat that the stop leaves in it.
    heated_mass_kg : float or array [kg]
        What takes the heat up at once: the wire alone (5 to 20 g, from memory), a little later the whole
        body.
    specific_heat_j_per_kg_k : float or array [J/(kg K)]
        900 for a ceramic body, 450 for resistance wire (from memory).

    Returns
    -------
    float or array [K]
        Warming.

    Range
    -----
    Mass and specific heat above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(adiabatic_rise_k(240, heated_mass_kg=0.1, specific_heat_j_per_kg_k=900), 4)
    2.6667

    Source
    ------
    Textbook: heat is mass times specific heat times warming.
    """
    mass = positive("heated_mass_kg", heated_mass_kg)
    return energy_j / (mass * positive("specific_heat_j_per_kg_k", specific_heat_j_per_kg_k))


def average_power_w(energy_j, *, period_s):
    """Power that the resistor must be rid of, stop after stop.

    Formula
    -------
    average_power_w = energy_j / period_s

    Parameters
    ----------
    energy_j : float or array [J]
        Heat of one stop.
    period_s : float or array [s]
        From one stop to the next.

    Returns
    -------
    float or array [W]
        Average power. A free-air rating halves in a box (from memory).

    Range
    -----
    Period above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the period is not above zero.

    Examples
    --------
    >>> average_power_w(240, period_s=12)
    20.0

    Source
    ------
    Textbook: power is energy over time.
    """
    return energy_j / positive("period_s", period_s)


def steady_peak_rise_k(rise_k, *, period_s, cooling_time_s):
    """The highest warming, just after a stop, once stops at a steady rhythm have warmed it through.

    Formula
    -------
    steady_peak_rise_k = rise_k / (1 - exp(-period_s / cooling_time_s))

    Parameters
    ----------
    rise_k : float or array [K]
        Warming by one stop, from `adiabatic_rise_k` with the whole body.
    period_s : float or array [s]
        From one stop to the next.
    cooling_time_s : float or array [s]
        Time in which the body cools to 37 % of its warming.

    Returns
    -------
    float or array [K]
        Warming above the air around it. A wirewound resistor at its rating is 200 to 350 degC at its
        surface (from memory): guard it, and keep it from coolant and chips.

    Range
    -----
    Period and cooling time above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a time is not above zero.

    Examples
    --------
    >>> round(float(steady_peak_rise_k(2.6667, period_s=12, cooling_time_s=240)), 1)
    54.7

    Source
    ------
    Derived here: a body that cools in proportion to its warming, each stop adding the same; sum of a
    geometric series.
    """
    ratio = positive("period_s", period_s) / positive("cooling_time_s", cooling_time_s)
    return rise_k / -np.expm1(-ratio)


def rise_after_stops_k(rise_k, *, stops, period_s, cooling_time_s):
    """Warming just after the last of some stops that began cold.

    Formula
    -------
    kept = exp(-period_s / cooling_time_s)
    rise_after_stops_k = rise_k * (1 - kept**stops) / (1 - kept)

    Parameters
    ----------
    rise_k : float or array [K]
        Warming by one stop.
    stops : int or array [1]
        How many stops.
    period_s : float or array [s]
        From one stop to the next.
    cooling_time_s : float or array [s]
        Time in which the body cools to 37 % of its warming.

    Returns
    -------
    float or array [K]
        Warming above the air around it.

    Range
    -----
    Stops from one up, times above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> round(float(rise_after_stops_k(2.6667, stops=10, period_s=12, cooling_time_s=240)), 1)
    21.5

    Source
    ------
    Derived here: sum of a geometric series, see `steady_peak_rise_k`.
    """
    ratio = positive("period_s", period_s) / positive("cooling_time_s", cooling_time_s)
    return rise_k * np.expm1(-ratio * positive("stops", stops)) / np.expm1(-ratio)


def hot_resistor_ohm(resistor_ohm, *, resistor_rise_k, drift_per_k=1.2e-4):
    """Resistance of a brake resistor that has warmed.

    Formula
    -------
    hot_resistor_ohm = resistor_ohm * (1 + drift_per_k * resistor_rise_k)

    Parameters
    ----------
    resistor_ohm : float or array [ohm]
        Cold.
    resistor_rise_k : float or array [K]
        Warming above the temperature at which it was measured.
    drift_per_k : float or array [1/K]
        Share for each kelvin; nickel-chromium 2 to 5 % over 300 K (from memory).

    Returns
    -------
    float or array [ohm]
        Warm, so the brake bites a little less; size for the hot resistor in the hot motor.

    Range
    -----
    Resistor and warming from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is negative.

    Examples
    --------
    >>> round(hot_resistor_ohm(12.0, resistor_rise_k=300), 2)
    12.43

    Source
    ------
    From memory.
    """
    warmed = 1 + drift_per_k * not_negative("resistor_rise_k", resistor_rise_k)
    return not_negative("resistor_ohm", resistor_ohm) * warmed
