"""A quantity written for a person: few figures, a fitting size of unit, both systems where both are used."""

from decimal import Decimal
from fractions import Fraction

from machinelab.tables import trade_units
from machinelab.tables.trade_units import Kind, Unit
from machinelab.units.typed_quantity import convert, plain_unit

_COUNTED = ("teeth", "lines", "edges", "turns")


def shown_quantity(amount: Fraction, given: Unit, kind: Kind) -> str:
    """Write a quantity of some kind, given in one of its units.

    Examples
    --------
    >>> lead = trade_units.kinds()["lead"]
    >>> shown_quantity(Fraction(3), plain_unit(lead), lead)
    '3 mm · 8.4667 tpi'
    """
    plain = convert(amount, given, plain_unit(kind))
    if kind.name == "slope":
        return f"{figures(plain * 300 / 1_000_000)} mm in 300 mm · {figures(plain)} ppm"
    if kind.name == "ratio":
        return _ratio(plain)
    first = _best_size(plain, kind)
    second = trade_units.find(kind.also_shown, (kind,)) if kind.also_shown else None
    units = [unit for unit in (first, second) if unit and not (unit.inverse and plain == 0)]
    return " · ".join(_in_unit(convert(plain, plain_unit(kind), unit), unit) for unit in units)


def figures(amount: Fraction) -> str:
    """Five figures without idle zeros, but never fewer than stand before the point.

    Examples
    --------
    >>> figures(Fraction(1, 3)), figures(Fraction(1234567, 8)), figures(Fraction(5, 2))
    ('0.33333', '154321', '2.5')
    """
    decimal = _decimal(amount)
    if not decimal:
        return "0"
    if not -9 <= decimal.adjusted() < 15:
        return f"{decimal:.4e}"
    text = f"{decimal:.{max(0, 4 - decimal.adjusted())}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _ratio(amount: Fraction) -> str:
    shown = figures(amount)
    # 5/2 is 2.5 and says no more; 127/375 does, and so it is written out unless it was only a decimal
    if Fraction(shown) == amount or amount.denominator > 10_000_000:
        return shown
    return f"{amount.numerator}/{amount.denominator} · {shown}"


def _best_size(plain: Fraction, kind: Kind) -> Unit:
    sizes = [trade_units.find(symbol, (kind,)) for symbol in kind.scaled]
    if plain == 0 or not sizes:
        return plain_unit(kind)
    large_enough = [unit for unit in sizes if abs(convert(plain, plain_unit(kind), unit)) >= 1]
    return large_enough[-1] if large_enough else sizes[0]


def _in_unit(amount: Fraction, unit: Unit) -> str:
    if unit.kind == "count":
        return figures(amount)
    shown = _ten_thousandths(amount) if unit.symbol == "in" else figures(amount)
    symbol = unit.spellings[0] if unit.kind in _COUNTED and amount == 1 else unit.symbol
    return f"{shown}{symbol}" if symbol == "°" else f"{shown} {symbol}"


def _ten_thousandths(inches: Fraction) -> str:
    """Inches as a micrometer reads them; three figures where that would leave fewer than two."""
    decimal = _decimal(inches)
    if not decimal or not -9 <= decimal.adjusted() < 15:
        return figures(inches)
    if decimal.adjusted() >= -3:
        return f"{decimal:.4f}"
    return figures(Fraction(f"{decimal:.3g}"))


def _decimal(amount: Fraction) -> Decimal:
    return Decimal(amount.numerator) / Decimal(amount.denominator)
