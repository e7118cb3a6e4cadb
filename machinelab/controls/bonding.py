"""Protective earth and insulation: what to expect of a wire, and what a measured figure proves.

A multimeter cannot prove a tenth of an ohm: its own leads and its last digit are as much. The test wants a
known current through the joint and the voltage across it. An insulation test at 500 V kills a drive, a
stepper driver and an encoder that are left connected: take them off first, and discharge afterwards.
"""

from machinelab.ranges import not_negative, positive

__all__ = ["bond_resistance_ohm", "bond_voltage_v", "measured_bond_ohm"]

# Copper at 20 degrees, the figure that tables of wires use; textbook.
COPPER_OHM_MM2_PER_M = 0.0175


def bond_resistance_ohm(length_m, *, area_mm2):
    """What resistance a length of copper wire has.

    Formula
    -------
    bond_resistance_ohm = 175/10000 * length_m / area_mm2

    Parameters
    ----------
    length_m : float or array [m]
        Length of the wire.
    area_mm2 : float or array [mm2]
        Section of the copper.

    Returns
    -------
    float or array [ohm]
        Resistance at 20 degrees; clamps and lugs come on top.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the length is less than zero or the section not above zero.

    Examples
    --------
    >>> round(bond_resistance_ohm(5, area_mm2=1.5), 4)
    0.0583

    Source
    ------
    Textbook: 0.0175 ohm for a metre of one square millimetre.
    """
    return COPPER_OHM_MM2_PER_M * not_negative("length_m", length_m) / positive("area_mm2", area_mm2)


def bond_voltage_v(test_current_a, *, bond_ohm):
    """What voltage stands along a bond at a test current.

    Formula
    -------
    bond_voltage_v = test_current_a * bond_ohm

    Parameters
    ----------
    test_current_a : float or array [A]
        Current that is sent through; 10 A is asked of assemblies.
    bond_ohm : float or array [ohm]
        Resistance of the bond.

    Returns
    -------
    float or array [V]
        Voltage to be read.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is less than zero.

    Examples
    --------
    >>> bond_voltage_v(10, bond_ohm=0.1)
    1.0

    Source
    ------
    Ohm's law.
    """
    return not_negative("test_current_a", test_current_a) * not_negative("bond_ohm", bond_ohm)


def measured_bond_ohm(bond_v, *, test_current_a, lead_ohm):
    """What resistance a bond has, from a current through it and the voltage across it.

    Formula
    -------
    measured_bond_ohm = bond_v / test_current_a - lead_ohm

    Parameters
    ----------
    bond_v : float or array [V]
        Voltage read.
    test_current_a : float or array [A]
        Current read at the same time.
    lead_ohm : float or array [ohm]
        Resistance of leads that lie within the reading; zero with four wires.

    Returns
    -------
    float or array [ohm]
        Resistance of the bond; less than zero means that the leads were taken too long.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the current is not above zero, or another number less than zero.

    Examples
    --------
    >>> round(measured_bond_ohm(0.83, test_current_a=10.0, lead_ohm=0.02), 3)
    0.063

    Source
    ------
    Ohm's law.
    """
    resistance = not_negative("bond_v", bond_v) / positive("test_current_a", test_current_a)
    return resistance - not_negative("lead_ohm", lead_ohm)
