"""Capacitors behind the drive: how long they stay charged, and the coasting motor that charges them again.

Figures of IEC 60204-1, clause 6.2.4, as two secondary pages quote it: what is above 60 V must fall to it
within 5 s of switching off, 1 s for pins that a hand can reach; 60 microcoulombs or less are exempt.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.ranges import not_negative, positive

__all__ = [
    "ResidualVoltage",
    "bleed_power_w",
    "bleed_resistor_limit_ohm",
    "bleed_time_s",
    "exempt_capacitance_f",
    "recharge_speed_rpm",
    "residual_voltage",
    "stored_energy_j",
]

RPM_PER_RAD_S = 30 / np.pi
# IEC 60204-1, 6.2.4, as quoted by secondary pages.
LOW_V, EXEMPT_CHARGE_C = 60.0, 60e-6
# What may be over what is printed: electrolytic capacitors, resistors; common practice, no source.
CAPACITANCE_OVER, RESISTANCE_OVER = 1.2, 1.05
# A resistor that is hot all day lives on half of its rating; common practice, no source.
RATING_TIMES = 2.0


@dataclass(frozen=True)
class ResidualVoltage:
    """Whether the capacitors are low in time, everything at the bad end of its tolerance.

    Parameters
    ----------
    bleed_time_s : float or array [s]
        Time with the bleed resistor as it is.
    one_open_s : float or array [s]
        The same when one of two equal resistors in parallel has failed.
    bleed_power_w : float or array [W]
        Heat in the resistor all day.
    rating_wanted_w : float or array [W]
        Rating to buy.
    stored_energy_j : float or array [J]
        What the capacitors hold.
    exempt_by_charge : bool or array
        Whether so little charge is held that no time is asked.
    """

    bleed_time_s: float
    one_open_s: float
    bleed_power_w: float
    rating_wanted_w: float
    stored_energy_j: float
    exempt_by_charge: bool


def bleed_time_s(*, capacitance_f, bleed_resistor_ohm, bus_voltage_v, low_voltage_v=60.0):
    """How long a bleed resistor takes to bring the capacitors down to a voltage.

    Formula
    -------
    bleed_time_s = bleed_resistor_ohm * capacitance_f * ln(max(bus_voltage_v / low_voltage_v, 1))

    Parameters
    ----------
    capacitance_f : float or array [F]
        All capacitors together; electrolytic ones are up to 20 % over what is printed.
    bleed_resistor_ohm : float or array [ohm]
        Across them for good; up to 5 % over what is printed.
    bus_voltage_v : float or array [V]
        Voltage when the supply goes off; mains 10 % high, times the square root of two.
    low_voltage_v : float or array [V]
        Voltage that may be touched last.

    Returns
    -------
    float or array [s]
        Time. A failed bleed resistor is invisible: measure before touching. A motor that still turns
        charges the capacitors again, see `recharge_speed_rpm`.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(
    ...     float(
    ...         bleed_time_s(capacitance_f=470e-6 * 1.2, bleed_resistor_ohm=6800 * 1.05, bus_voltage_v=170)
    ...     ),
    ...     2,
    ... )
    4.19

    Source
    ------
    Textbook discharge of a capacitor; 60 V from IEC 60204-1, 6.2.4 (as quoted by secondary pages).
    """
    fall = np.log(
        np.maximum(positive("bus_voltage_v", bus_voltage_v) / positive("low_voltage_v", low_voltage_v), 1)
    )
    return (
        positive("bleed_resistor_ohm", bleed_resistor_ohm) * positive("capacitance_f", capacitance_f) * fall
    )


def bleed_resistor_limit_ohm(bleed_time_s, *, capacitance_f, bus_voltage_v, low_voltage_v=60.0):
    """The largest bleed resistor that brings the capacitors down in time.

    Formula
    -------
    bus_voltage_v > low_voltage_v
    bleed_resistor_limit_ohm = bleed_time_s / (capacitance_f * ln(bus_voltage_v / low_voltage_v))

    Parameters
    ----------
    bleed_time_s : float or array [s]
        Time allowed: 5 s, or 1 s for pins that a hand can reach.
    capacitance_f : float or array [F]
        All capacitors together, their tolerance added.
    bus_voltage_v : float or array [V]
        Voltage when the supply goes off.
    low_voltage_v : float or array [V]
        Voltage to come down to.

    Returns
    -------
    float or array [ohm]
        Resistance; infinite where the bus is never above the low voltage.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(float(bleed_resistor_limit_ohm(5.0, capacitance_f=470e-6, bus_voltage_v=170)), 1)
    10214.9

    Source
    ------
    Inverse of `bleed_time_s`.
    """
    ratio = positive("bus_voltage_v", bus_voltage_v) / positive("low_voltage_v", low_voltage_v)
    with np.errstate(divide="ignore"):
        allowed = positive("bleed_time_s", bleed_time_s) / positive("capacitance_f", capacitance_f)
        return allowed / np.log(np.maximum(ratio, 1.0))


def bleed_power_w(bus_voltage_v, *, bleed_resistor_ohm):
    """Power that the bleed resistor turns into heat all day.

    Formula
    -------
    bleed_power_w = bus_voltage_v**2 / bleed_resistor_ohm

    Parameters
    ----------
    bus_voltage_v : float or array [V]
        Voltage across it.
    bleed_resistor_ohm : float or array [ohm]
        The bleed resistor.

    Returns
    -------
    float or array [W]
        Power; fit one rated for twice as much (common practice, no source), and mind its voltage rating.

    Range
    -----
    Resistor above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistor is not above zero.

    Examples
    --------
    >>> round(bleed_power_w(170, bleed_resistor_ohm=6800), 2)
    4.25

    Source
    ------
    Textbook: power in a resistor.
    """
    return bus_voltage_v**2 / positive("bleed_resistor_ohm", bleed_resistor_ohm)


def exempt_capacitance_f(bus_voltage_v, *, exempt_charge_c=60e-6):
    """Capacitance so small that its charge needs no bleed resistor.

    Formula
    -------
    exempt_capacitance_f = exempt_charge_c / bus_voltage_v

    Parameters
    ----------
    bus_voltage_v : float or array [V]
        Voltage on it.
    exempt_charge_c : float or array [C]
        Charge that is exempt.

    Returns
    -------
    float or array [F]
        Capacitance; the capacitors of a drive hold a thousand times as much.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(exempt_capacitance_f(170) * 1e6, 4)
    0.3529

    Source
    ------
    IEC 60204-1, 6.2.4: 60 microcoulombs (as quoted by secondary pages).
    """
    return positive("exempt_charge_c", exempt_charge_c) / positive("bus_voltage_v", bus_voltage_v)


def recharge_speed_rpm(*, spindle_emf_v_s_per_rad, low_voltage_v=60.0):
    """Spindle speed above which a coasting motor charges the capacitors of its drive above a voltage.

    The diodes of the drive let the motor's voltage through, so the bus is not dead until the spindle stands.

    Formula
    -------
    recharge_speed_rpm = low_voltage_v / spindle_emf_v_s_per_rad * 30/pi

    Parameters
    ----------
    spindle_emf_v_s_per_rad : float or array [V s/rad]
        Voltage constant at the spindle.
    low_voltage_v : float or array [V]
        The voltage.

    Returns
    -------
    float or array [rpm]
        Spindle speed.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is not above zero.

    Examples
    --------
    >>> round(recharge_speed_rpm(spindle_emf_v_s_per_rad=0.864))
    663

    Source
    ------
    Derived here: the motor's voltage is its constant times its speed.
    """
    voltage = positive("low_voltage_v", low_voltage_v)
    return voltage * RPM_PER_RAD_S / positive("spindle_emf_v_s_per_rad", spindle_emf_v_s_per_rad)


def stored_energy_j(bus_voltage_v, *, capacitance_f):
    """How much energy the capacitors hold.

    Formula
    -------
    stored_energy_j = capacitance_f * bus_voltage_v**2 / 2

    Parameters
    ----------
    bus_voltage_v : float or array [V]
        Voltage on them.
    capacitance_f : float or array [F]
        All of them together.

    Returns
    -------
    float or array [J]
        Energy; it leaves as a bang when they are short-circuited.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the capacitance is not above zero.

    Examples
    --------
    >>> round(stored_energy_j(170, capacitance_f=470e-6), 1)
    6.8

    Source
    ------
    Textbook: energy of a capacitor.
    """
    return positive("capacitance_f", capacitance_f) * bus_voltage_v**2 / 2


def residual_voltage(*, capacitance_f, bleed_resistor_ohm, bus_voltage_v) -> ResidualVoltage:
    """Whether the capacitors of a drive are low in time, everything at the bad end of its tolerance.

    Formula
    -------
    most_f = 6/5 * capacitance_f
    most_ohm = 21/20 * bleed_resistor_ohm
    fall = ln(max(bus_voltage_v / 60, 1))
    result.bleed_time_s = most_ohm * most_f * fall
    result.one_open_s = 2 * bleed_time_s
    result.bleed_power_w = bus_voltage_v**2 / bleed_resistor_ohm
    result.rating_wanted_w = 2 * bleed_power_w
    result.stored_energy_j = capacitance_f * bus_voltage_v**2 / 2
    result.exempt_by_charge = capacitance_f * bus_voltage_v < 60e-6

    Parameters
    ----------
    capacitance_f : float or array [F]
        All capacitors together, as printed; 20 % is added.
    bleed_resistor_ohm : float or array [ohm]
        Across them for good, as printed; 5 % is added.
    bus_voltage_v : float or array [V]
        Voltage when the supply goes off.

    Returns
    -------
    ResidualVoltage
        Times, heat, rating, energy and exemption.

    Range
    -----
    Allowed are 5 s, and 1 s for pins that a hand can reach; where that cannot be, a label with the waiting
    time. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the capacitance or the resistor is not above zero, or the voltage is less than zero.

    Examples
    --------
    >>> found = residual_voltage(capacitance_f=470e-6, bleed_resistor_ohm=6800, bus_voltage_v=170)
    >>> round(float(found.bleed_time_s), 2), round(found.bleed_power_w, 2)
    (4.19, 4.25)

    Source
    ------
    IEC 60204-1, 6.2.4: 60 V, 5 s, 60 microcoulombs (as quoted by secondary pages); the tolerances and the
    double rating are common practice, no source.
    """
    voltage = not_negative("bus_voltage_v", bus_voltage_v)
    capacitance = positive("capacitance_f", capacitance_f)
    most_f = CAPACITANCE_OVER * capacitance
    most_ohm = RESISTANCE_OVER * positive("bleed_resistor_ohm", bleed_resistor_ohm)
    time_s = most_ohm * most_f * np.log(np.maximum(voltage / LOW_V, 1))
    power_w = bleed_power_w(voltage, bleed_resistor_ohm=bleed_resistor_ohm)
    return ResidualVoltage(
        bleed_time_s=time_s,
        one_open_s=2 * time_s,
        bleed_power_w=power_w,
        rating_wanted_w=RATING_TIMES * power_w,
        stored_energy_j=stored_energy_j(voltage, capacitance_f=capacitance),
        exempt_by_charge=capacitance * voltage < EXEMPT_CHARGE_C,
    )
