"""Conversions against the definitions that fix them; each expected value stands beside its source."""

import math
from fractions import Fraction

import pytest
import scipy
from inspection.source import EXAMPLE, MEMORY, READ, STANDARD, Source, by_hand, library
from scipy import constants

from machinelab import tables, units
from machinelab.tables import trade_units

ROOM = "units"


def definition(text):
    """A printed definition; on a motor sheet a constant was read, the documents are from memory."""
    if "motor sheet" in text:
        return Source(EXAMPLE, text, READ)
    return Source(STANDARD, text, MEMORY)


YARD_AND_POUND = "international yard and pound agreement, 1959"
SP_811 = "NIST SP 811, appendix B, conversion factors (from memory)"
SI = "SI Brochure"
GRAVITY = "standard gravity 9.80665 m/s2, 3rd CGPM 1901"

EXACT = [
    ("1 in", "mm", Fraction(254, 10), YARD_AND_POUND),
    ("1 ft", "mm", Fraction(3048, 10), YARD_AND_POUND),
    ("1 thou", "mm", Fraction(254, 10_000), YARD_AND_POUND),
    ("1 lb", "kg", Fraction("0.45359237"), YARD_AND_POUND),
    ("1 oz", "kg", Fraction("0.028349523125"), SP_811),
    ("1 kgf", "N", Fraction("9.80665"), GRAVITY),
    ("1 lbf", "N", Fraction("4.4482216152605"), SP_811),
    ("1 hp", "W", Fraction("745.69987158227022"), SP_811 + "; 550 ft lbf/s by the two lines above"),
    ("1 PS", "W", Fraction("735.49875"), SP_811),
    ("32 degF", "degC", Fraction(0), SP_811),
    ("212 degF", "degC", Fraction(100), SP_811),
    ("1 min", "s", Fraction(60), SI),
    ("1 rev/s", "rpm", Fraction(60), SI),
    ("1 ft/min", "m/min", Fraction("0.3048"), YARD_AND_POUND),
    ("1 MHz", "Hz", Fraction(1_000_000), SI),
    ("1 MPa", "N/mm^2", Fraction(1), SI),
    ("1 kg cm^2", "kg m^2", Fraction(1, 10_000), SI),
]
ROUNDED = [
    ("1 lbf in", "N m", 0.1129848, 5e-8, SP_811),
    ("1 lbf ft", "N m", 1.355818, 5e-7, SP_811),
    ("1 ozf in", "N m", 0.007061552, 5e-10, SP_811),
    ("1 psi", "N/mm^2", 0.006894757, 5e-10, SP_811),
    ("1 rad/s", "rpm", 60 / (2 * math.pi), 1e-12, SI),
    (
        "68.80 V/krpm",
        "V s/rad",
        0.657,
        5e-5,
        "the same constant in both units on a motor sheet, four figures",
    ),
]


@pytest.mark.parametrize(("text", "unit", "expected", "source"), EXACT, ids=[row[0] for row in EXACT])
def test_a_unit_is_exactly_what_defines_it(compare, text, unit, expected, source):
    compare(f"{text} in {unit}", units.exact(text, unit), expected, definition(source))


@pytest.mark.parametrize(
    ("text", "unit", "expected", "figures", "source"), ROUNDED, ids=[row[0] for row in ROUNDED]
)
def test_a_unit_agrees_with_every_printed_figure(compare, text, unit, expected, figures, source):
    compare(f"{text} in {unit}", units.number(text, unit), expected, definition(source), abs=figures)


def test_eight_tpi_is_exactly_127_fortieths_of_a_millimetre(compare):
    compare(
        "8 tpi in mm", units.exact("8 tpi", "mm"), Fraction(127, 40), definition(YARD_AND_POUND), unit="mm"
    )
    assert isinstance(units.exact("8 tpi", "mm"), Fraction)


@pytest.mark.parametrize("tpi", [4, 8, Fraction(23, 2), 19, 24, 26, 80])
def test_threads_an_inch_times_their_lead_make_one_inch(compare, tpi):
    compare(
        f"{tpi} threads an inch times their lead",
        units.exact(f"{tpi} tpi", "mm") * tpi,
        units.exact("1 in", "mm"),
        definition(YARD_AND_POUND),
        unit="mm",
    )


def test_a_module_pitch_is_pi_times_the_module_to_fifty_figures(compare):
    # Archimedes' bounds, and pi to 30 figures as any table of constants prints it
    fifty_times = units.exact("1 module", "mm")
    assert Fraction(223, 71) < fifty_times < Fraction(22, 7)
    assert abs(fifty_times - Fraction("3.141592653589793238462643383279")) < Fraction(1, 10**29)
    compare(
        "1 DP in mm",
        units.exact("1 DP", "mm"),
        fifty_times * Fraction(254, 10),
        by_hand("pi times an inch"),
        unit="mm",
    )


def test_torque_is_force_times_arm_whatever_the_unit(compare):
    compare(
        "12 lbf in, in N m",
        units.exact("12 lbf in", "N m"),
        units.exact("1 lbf ft", "N m"),
        by_hand("force times arm"),
        unit="N m",
    )
    compare(
        "1 lbf ft, in N m",
        units.exact("1 lbf ft", "N m"),
        units.exact("1 lbf", "N") * units.exact("1 ft", "mm") / 1000,
        by_hand("force times arm"),
        unit="N m",
    )


@pytest.mark.parametrize("table", ["units", "quantities"])
def test_every_row_of_the_unit_tables_names_its_source(table):
    assert [row for row in tables.read(table) if not row["source"].strip()] == []


def test_every_unit_of_a_kind_converts_to_the_plain_unit_and_back():
    for kind in trade_units.kinds().values():
        for unit in trade_units.units_of(kind):
            field = units.Field(name="Any", kind=kind.name)
            value = units.read(f"4 {unit.symbol}", field).value
            assert units.exact(f"{value.numerator} {kind.unit}", kind.unit) == value.numerator
            shown = units.show(value, kind.unit, kind=kind.name)
            again = units.read(shown, field).number
            assert again == pytest.approx(float(value), rel=1e-4), (kind.name, unit.symbol, shown)


def test_no_spelling_of_a_kind_means_two_units():
    for kind in trade_units.kinds().values():
        met = {}
        for unit in trade_units.units_of(kind):
            for spelling in (unit.symbol, *unit.spellings):
                other = met.setdefault(trade_units.spelling_key(spelling), unit)
                assert other.definition == unit.definition, (kind.name, spelling)


CONSTANTS = [
    ("1 in", "mm", constants.inch * 1000),
    ("1 ft", "mm", constants.foot * 1000),
    ("1 thou", "mm", constants.mil * 1000),
    ("1 lb", "kg", constants.pound),
    ("1 oz", "kg", constants.ounce),
    ("1 lbf", "N", constants.pound_force),
    ("1 kgf", "N", constants.kilogram_force),
    ("1 hp", "W", constants.horsepower),
    ("1 psi", "N/mm^2", constants.psi / 1e6),
    ("90 deg", "rad", 90 * constants.degree),
    ("1 h", "s", constants.hour),
    ("1 rev/s", "rpm", constants.minute),
    ("100 degF", "degC", float(constants.convert_temperature(100, "F", "C"))),
]


@pytest.mark.parametrize(("text", "unit", "constant"), CONSTANTS, ids=[row[0] for row in CONSTANTS])
def test_a_unit_is_that_of_a_library_of_constants(compare, text, unit, constant):
    source = library("scipy", scipy.__version__, "constants", "rounding of the computer")
    compare(f"{text} in {unit}", units.number(text, unit), constant, source, rel=1e-12)
