"""Text with a unit to a plain number and back: the only door for units.

Whatever a person types, in a form, a file or a pasted table, comes in through ``read`` (with the ``Field``
that says what the box wants) or through ``number`` and ``exact``; what is shown goes out through ``show``.
Inside, a quantity is a plain number and its name tells the unit.

Number and unit are taken apart strictly and within a length limit. The unit must stand in
``tables/units.csv`` for the kind of quantity that is wanted; only that table's own definition is handed to
pint, which converts with exact fractions. Nothing that a person typed reaches pint's expression reader.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from machinelab.errors import UnitError
from machinelab.tables import trade_units
from machinelab.units.shown_quantity import shown_quantity
from machinelab.units.typed_quantity import (
    Typed,
    Wanted,
    convert,
    kind_named,
    kinds_measured_in,
    other_units_that_fit,
    plain_unit,
    read_quantity,
)


@dataclass(frozen=True)
class Reading:
    """What was read from a box: the exact value in the field's plain unit, and how to show it back."""

    value: Fraction
    kind: str
    typed: str
    typed_number: Fraction
    typed_unit: str
    note: str = ""

    @property
    def number(self) -> float:
        """The value as an ordinary number."""
        return float(self.value)

    @property
    def shown(self) -> str:
        """The value in both units, such as ``3.175 mm · 8 tpi``."""
        return show(self.value, kind_named(self.kind).unit, kind=self.kind)


@dataclass(frozen=True, kw_only=True)
class Field:
    """What one box of a form, or one line of a file, wants to be told.

    Parameters
    ----------
    name : str
        What is asked, in plain words; it leads every message.
    kind : str
        Kind of quantity, a row of ``tables/quantities.csv``: ``length``, ``lead``, ``speed``, ``teeth``.
    low, high : str
        The least and the most that is allowed, written as a person would type them; empty for no end.
    above_zero : bool
        Whether zero itself is refused.
    high_from : str
        Where the upper end comes from, if it is more than a check against slips: ``marked on the chuck``.
    hint : str
        A sentence that helps whoever typed something outside the range.
    example, help : str
        Something that may be typed, and one line of explanation.
    refuse, remark : callable
        Look at what was read and answer with words, or with None when all is well: the first turns the
        entry away, the second lets it in with a note.
    """

    name: str
    kind: str
    low: str = ""
    high: str = ""
    above_zero: bool = False
    high_from: str = ""
    hint: str = ""
    example: str = ""
    help: str = ""
    refuse: Callable[[Reading], str | None] | None = None
    remark: Callable[[Reading], str | None] | None = None

    @property
    def unit(self) -> str:
        """The unit of the plain number that the field gives."""
        return kind_named(self.kind).unit

    @property
    def takes_bare_number(self) -> bool:
        """Whether a number may stand without a unit, because it is a count or a ratio."""
        return bool(kind_named(self.kind).bare)

    @property
    def sample(self) -> str:
        """Something that may be typed here."""
        return self.example or kind_named(self.kind).example

    @property
    def ends(self) -> tuple[Fraction | None, Fraction | None]:
        """Least and greatest allowed value in the field's plain unit; None where there is no end."""
        low, high = (exact(text, self.unit) if text else None for text in (self.low, self.high))
        return low, high

    @property
    def allowed(self) -> str:
        """What may be typed, in words; empty when anything goes."""
        low, high = (None if end is None else show(end, self.unit, kind=self.kind) for end in self.ends)
        if low and high:
            return f"{low} to {high}"
        if low:
            return f"{low} or more"
        above = "more than zero" if self.above_zero else ""
        return " and ".join(filter(None, (above, high and f"at most {high}")))

    def allows(self, value: Fraction) -> bool:
        """Whether a value in the field's plain unit is within its range."""
        low, high = self.ends
        if self.above_zero and value <= 0:
            return False
        return (low is None or value >= low) and (high is None or value <= high)


def number(text: str, unit: str) -> float:
    """Read a typed quantity as an ordinary number of the given unit.

    Parameters
    ----------
    text : str
        What was typed, with its unit, such as ``1-1/4 in``.
    unit : str
        The unit wanted, such as ``mm``.

    Returns
    -------
    float
        The quantity in that unit.

    Raises
    ------
    UnitError
        When no number, no unit, or a unit of another kind was typed.

    Examples
    --------
    >>> number("1-1/4 in", "mm")
    31.75
    """
    return float(exact(text, unit))


def exact(text: str, unit: str) -> Fraction:
    """Read a typed quantity as an exact fraction of the given unit.

    Module and diametral pitches hold pi, which is carried to 50 figures.

    Parameters
    ----------
    text : str
        What was typed, with its unit, such as ``8 tpi``.
    unit : str
        The unit wanted, such as ``mm``.

    Returns
    -------
    Fraction
        The quantity in that unit.

    Raises
    ------
    UnitError
        When no number, no unit, or a unit of another kind was typed.

    Examples
    --------
    >>> exact("8 tpi", "mm")
    Fraction(127, 40)
    """
    among = kinds_measured_in(unit)
    typed = read_quantity(text, Wanted(among, among[0].example))
    return convert(typed.number, typed.unit, trade_units.find(unit, among))


def read(text: str, field: Field) -> Reading:
    """Read what was typed into a box and check it against what the box wants.

    Parameters
    ----------
    text : str
        What was typed.
    field : Field
        What the box wants: its kind of quantity, range and hints.

    Returns
    -------
    Reading
        The exact value in the field's plain unit, the text to show back, and a note if something was
        assumed.

    Raises
    ------
    UnitError
        When the text is not such a quantity or lies outside the range; the message names the field, what was
        typed, what is allowed and what to type.

    Examples
    --------
    >>> read("1/2 in", Field(name="Bar", kind="length", high="60 mm")).shown
    '12.7 mm · 0.5000 in'
    """
    kind = kind_named(field.kind)
    wanted = Wanted((kind,), field.sample, field.allows)
    try:
        typed = read_quantity(text, wanted)
        value = convert(typed.number, typed.unit, plain_unit(kind))
        if kind.whole and value.denominator != 1:
            raise UnitError(_about_part(typed, field))
        if not field.allows(value):
            raise UnitError(_about_range(value, typed, field, wanted))
        reading = Reading(value, kind.name, text.strip(), typed.number, typed.unit.symbol)
        question = field.refuse(reading) if field.refuse else None
        if question:
            raise UnitError(question)
    except UnitError as problem:
        raise UnitError(f"{field.name}: {problem}") from None
    remark = field.remark(reading) if field.remark else None
    return replace(reading, note="; ".join(filter(None, (_as_read(typed, reading), remark))))


def show(value, unit: str, *, kind: str = "") -> str:
    """Show a plain number with its unit, in both systems where a workshop uses both.

    Five figures at most, but never fewer than the whole part; inches to a ten-thousandth.

    Parameters
    ----------
    value : float, Fraction or None
        The quantity in the unit named next; None and NaN are shown as ``not known``.
    unit : str
        Its unit, such as ``mm``.
    kind : str
        What it measures where the unit alone does not say: a ``lead`` is shown with its threads an inch.

    Returns
    -------
    str
        The quantity in words that ``number`` reads again.

    Raises
    ------
    UnitError
        When the unit or the kind is not in the tables.

    Examples
    --------
    >>> show(19.05, "mm")
    '19.05 mm · 0.7500 in'
    >>> show(Fraction(127, 40), "mm", kind="lead")
    '3.175 mm · 8 tpi'
    >>> show(0.00047, "F")
    '470 µF'
    """
    among = (kind_named(kind),) if kind else kinds_measured_in(unit)
    given = trade_units.find(unit, among)
    if given is None:
        raise UnitError(f"{unit} is no unit of {among[0].words}.")
    if value is None or math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "without end"
    return shown_quantity(Fraction(value), given, kind_named(given.kind))


def _about_part(typed: Typed, field: Field) -> str:
    counted = kind_named(field.kind).words.removeprefix("a number of ").removeprefix("a ")
    return " ".join(filter(None, (f"{typed} will not do; {counted} must be whole.", field.hint)))


def _about_range(value: Fraction, typed: Typed, field: Field, wanted: Wanted) -> str:
    high = field.ends[1]
    side = "too large" if high is not None and value > high else "too small"
    limit = ", ".join(filter(None, (field.allowed, field.high_from)))
    likely = [] if field.high_from else other_units_that_fit(typed, wanted)
    question = f"Did you mean {likely[0]}?" if likely else ""
    return " ".join(filter(None, (f"{typed} is {side}; allowed is {limit}.", question, field.hint)))


def _as_read(typed: Typed, reading: Reading) -> str:
    usual = not typed.unit_text or trade_units.is_usual_spelling(typed.unit_text, typed.unit)
    return "" if usual and not typed.unit_text.endswith(".") else f"read as {reading.shown}"
