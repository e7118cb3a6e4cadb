"""A typed quantity: its number, its unit found in the table, and words for whatever cannot be read.

The only place that meets pint, which is handed the table's own definitions and never a person's text.
"""

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from machinelab import tables
from machinelab.errors import UnitError
from machinelab.tables import trade_units
from machinelab.tables.trade_units import Kind, Unit
from machinelab.units.typed_number import TypedNumber, in_short, take_number, tidy

_OWN_DEFINITIONS = (
    "thread_per_inch = 1 / inch",
    "module_pitch = pi * millimeter",
    "diametral_pitch = 1 / (pi * inch)",
    "quarter_count = count / 4",
    "four_count = 4 * count",
)
_FEET_AND_INCHES = re.compile(r"(\d+)\s*(?:ft|foot|feet|')[\s,-]*(\d.*)", re.ASCII)
_LENGTH_IN_LENGTH = re.compile(r"(?<=[a-z\"'])\s*(?:\bin\b|\bper\b|\bover\b|/)\s*(?=[\d.])", re.ASCII)
_WIRE_GAUGE = re.compile(
    r"(?:awg|gauge)\s*([1-9]\d?)|([1-9]\d?)\s*(?:awg|gauge|ga)", re.ASCII | re.IGNORECASE
)
_WRITTEN_AS_DECIMALS = ("mm", "cm", "m", "µm")


@dataclass(frozen=True)
class Wanted:
    """What is looked for: kinds of quantity, something that could be typed, and which values would do."""

    kinds: tuple[Kind, ...]
    sample: str
    fits: Callable[[Fraction], bool] = lambda value: True


@dataclass(frozen=True)
class Typed:
    """A quantity as typed: number and unit apart, both as read and as written."""

    number: Fraction
    figures: str
    unit: Unit
    unit_text: str

    def __str__(self):
        return f"{self.figures} {self.unit_text}".strip()


def kind_named(name: str) -> Kind:
    """Return a kind of quantity by its name in the table."""
    try:
        return trade_units.kinds()[name]
    except KeyError:
        raise UnitError(
            f"{name} is no kind of quantity; known are {', '.join(trade_units.kinds())}."
        ) from None


def kinds_measured_in(unit: str) -> tuple[Kind, ...]:
    """Return the kinds of quantity that are measured in a unit."""
    among = trade_units.kinds_measured_in(unit)
    if not among:
        raise UnitError(f"{unit} is not among the units this workbook knows.")
    return among


def plain_unit(kind: Kind) -> Unit:
    """Return the unit that the program itself uses for a kind of quantity."""
    return trade_units.find(kind.unit, (kind,))


def convert(value: Fraction, given: Unit, wanted: Unit) -> Fraction:
    """Turn a number of one unit into a number of another, exactly; threads an inch turn over into a lead."""
    if (given.definition, given.inverse) == (wanted.definition, wanted.inverse):
        return value
    if given.inverse == wanted.inverse:
        return Fraction(_registry().Quantity(value, given.definition).to(wanted.definition).magnitude)
    if value == 0:
        raise UnitError(f"0 {given.symbol} is no thread: the fewer threads an inch, the longer the lead.")
    turned_over = _registry().Quantity(1 / value, f"({given.definition})**-1")
    return Fraction(turned_over.to(f"{wanted.definition}").magnitude)


def read_quantity(text: str, wanted: Wanted) -> Typed:
    """Read one quantity, or one shown in two units if both say the same."""
    first, mark, second = tidy(text).partition(" · ")
    if not mark or not second[:1].isdecimal():
        return _read_one(tidy(text), wanted)
    typed, again = _read_one(first, wanted), _read_one(second, wanted)
    difference = abs(convert(again.number, again.unit, typed.unit) - typed.number)
    # What is shown is rounded, inches to a ten-thousandth, so the two can differ by some thousandths.
    if difference > max(abs(typed.number), 1) / 500:
        raise UnitError(f"two values stand in one box: {first} and {second}. Type only one of them.")
    return typed


def other_units_that_fit(typed: Typed, wanted: Wanted) -> list[str]:
    """The same figures with other units that would give an allowed value."""
    return [found for found in _fitting(typed.number, typed.figures, wanted) if found != str(typed)]


@cache
def _registry():
    """Build pint's registry when the first unit is converted: it costs a good part of a second."""
    import pint

    registry = pint.UnitRegistry(non_int_type=Fraction)
    for definition in _OWN_DEFINITIONS:
        registry.define(definition)
    return registry


def _read_one(text: str, wanted: Wanted) -> Typed:
    names = {kind.name for kind in wanted.kinds}
    if "slope" in names and (parts := _LENGTH_IN_LENGTH.split(text, maxsplit=1))[1:]:
        return _slope(text, *parts, wanted)
    if "area" in names and (gauge := _WIRE_GAUGE.fullmatch(text)):
        return _wire(text, *filter(None, gauge.groups()), wanted)
    if "length" in names and (feet := _FEET_AND_INCHES.fullmatch(text)):
        return _feet_and_inches(text, *feet.groups(), wanted)
    if "ratio" in names:
        text = re.sub(r"(?<=\d)\s*:\s*(?=\d)", "/", text, count=1)
    found = take_number(text)
    unit = _unit_of(found, wanted)
    typed = Typed(found.value, found.figures, unit, found.rest)
    if found.is_fraction and unit.symbol in _WRITTEN_AS_DECIMALS:
        raise UnitError(_about_metric_fraction(typed, wanted))
    return typed


def _slope(text: str, rise: str, run: str, wanted: Wanted) -> Typed:
    length = kind_named("length")
    over, under = (_read_one(part, Wanted((length,), "0.04 mm")) for part in (rise, run))
    over_mm, under_mm = (convert(part.number, part.unit, plain_unit(length)) for part in (over, under))
    if under_mm == 0:
        raise UnitError(f"{in_short(text)} spreads an error over no length. Type {wanted.sample}.")
    return Typed(1_000_000 * over_mm / under_mm, text, plain_unit(kind_named("slope")), "")


def _feet_and_inches(text: str, feet: str, inches: str, wanted: Wanted) -> Typed:
    typed = _read_one(inches, replace(wanted, sample="1 ft 6 in"))
    if typed.unit.symbol != "in":
        raise UnitError(f"{in_short(text)} mixes feet with something that is not inches. Type 1 ft 6 in.")
    return replace(typed, number=12 * Fraction(feet) + typed.number, figures=f"{feet} ft {typed.figures}")


def _wire(text: str, gauge: str, wanted: Wanted) -> Typed:
    sections = {row["gauge"]: Fraction(row["area_mm2"]) for row in tables.read("wire_gauges")}
    try:
        return Typed(sections[gauge], text, plain_unit(kind_named("area")), "")
    except KeyError:
        known = list(sections)
        raise UnitError(
            f"{in_short(text)} is a gauge that is not known here; {known[0]} to {known[-1]} AWG are. Type "
            f"the section of the copper, for instance {wanted.sample}."
        ) from None


def _unit_of(found: TypedNumber, wanted: Wanted) -> Unit:
    if found.rest:
        unit = trade_units.find(found.rest, wanted.kinds)
        if unit is None:
            raise UnitError(_about_unknown_unit(found, wanted))
        return unit
    for kind in wanted.kinds:
        if kind.bare:
            return plain_unit(kind)
    choices = _fitting(found.value, found.figures, wanted)[:2] or [wanted.sample]
    raise UnitError(f"{found.figures} has no unit. Type {' or '.join(choices)}.")


def _about_unknown_unit(found: TypedNumber, wanted: Wanted) -> str:
    typed = in_short(f"{found.figures} {found.rest}")
    capitals = trade_units.differs_by_capitals(found.rest, wanted.kinds)
    if len(capitals) > 1:
        meant = " or ".join(f"{found.figures} {symbol}" for symbol in capitals)
        return f"in {typed} the capitals decide: did you mean {meant}?"
    another = re.search(r"[-+]?[\d./]*\d\s*[^\W\d_]*", found.rest, re.ASCII)
    if another:
        unit = re.match(r"[^\W\d_]*", found.rest)[0]
        first = f"{found.figures} {unit}".strip()
        return f"two values stand in one box: {first} and {another[0].strip()}. Type only one of them."
    other = trade_units.find(found.rest, tuple(trade_units.kinds().values()))
    if other:
        is_that = kind_named(other.kind).words
        return f"{typed} is {is_that}; wanted here is {wanted.kinds[0].words}, for instance {wanted.sample}."
    known = [unit.symbol for kind in wanted.kinds for unit in trade_units.units_of(kind)]
    close = difflib.get_close_matches(found.rest, known, n=1)
    nearest = f" Did you mean {found.figures} {close[0]}?" if close else ""
    choice = ", ".join(dict.fromkeys(known))
    return f"{typed} has a unit that is not known here.{nearest} Units that are: {choice}."


def _about_metric_fraction(typed: Typed, wanted: Wanted) -> str:
    in_mm = convert(typed.number, typed.unit, trade_units.find("mm", wanted.kinds))
    in_inches = convert(
        typed.number, trade_units.find("in", wanted.kinds), trade_units.find("mm", wanted.kinds)
    )
    return (
        f"{typed} mixes an inch fraction with a metric unit. "
        f"Type {float(in_mm):.6g} mm, or {typed.figures} in, which is {float(in_inches):.6g} mm."
    )


def _fitting(number: Fraction, figures: str, wanted: Wanted) -> list[str]:
    """The figures with each unit under which they would be allowed, the usual unit first."""
    choices, definitions = [], set()
    for kind in wanted.kinds:
        for unit in trade_units.units_of(kind):
            repeated = unit.definition in definitions or (unit.inverse and number == 0)
            if repeated or not wanted.fits(convert(number, unit, plain_unit(kind))):
                continue
            definitions.add(unit.definition)
            choices.append(f"{figures} {unit.symbol}")
    return choices
