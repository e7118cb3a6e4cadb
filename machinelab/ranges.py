"""Checks on the numbers that a person typed, each refused in words that say what to type instead."""

from fractions import Fraction
from math import isfinite
from numbers import Integral, Rational

import numpy as np

from machinelab.errors import RangeError


def exact(name: str, value) -> Fraction:
    """Return an exact number as a fraction; a decimal that has already been rounded is refused.

    Examples
    --------
    >>> exact("screw_lead_mm", 3)
    Fraction(3, 1)
    >>> exact("screw_lead_mm", Fraction("3.175"))
    Fraction(127, 40)
    """
    if isinstance(value, Rational) and not isinstance(value, bool):
        return Fraction(int(value.numerator), int(value.denominator))
    if isinstance(value, float) and isfinite(value):
        raise RangeError(
            f"{name} is {float(value)}, which the computer holds only nearly. Exact figures are needed here: "
            f'type a whole number, or a fraction such as Fraction("{float(value)}") or Fraction(127, 40).'
        )
    raise RangeError(f"{name} is {value!r}; type one whole number or one fraction such as Fraction(127, 40).")


def exact_positive(name: str, value) -> Fraction:
    """Return an exact number above zero as a fraction."""
    fraction = exact(name, value)
    if fraction <= 0:
        raise RangeError(f"{name} is {fraction}; it must be more than zero.")
    return fraction


def exact_ratio(name: str, value) -> Fraction:
    """Return an exact number other than zero as a fraction; the sign is the hand or the direction."""
    fraction = exact(name, value)
    if fraction == 0:
        raise RangeError(f"{name} is zero, so nothing would turn; type a ratio other than zero.")
    return fraction


def whole(name: str, value, *, at_least: int | None = 1) -> int:
    """Return a whole number that is at least so large, or of any size when nothing is given as the least."""
    if not isinstance(value, Integral) or isinstance(value, bool):
        raise RangeError(f"{name} is {value!r}; type a whole number without a decimal point.")
    number = int(value)
    if at_least is not None and number < at_least:
        raise RangeError(f"{name} is {number}; it must be at least {at_least}.")
    return number


def positive(name: str, value):
    """Return a number or an array of numbers above zero; a missing one (NaN) stays missing."""
    return _checked(name, value, np.less_equal, "it must be more than zero")


def not_negative(name: str, value):
    """Return a number or an array of numbers from zero up; a missing one (NaN) stays missing."""
    return _checked(name, value, np.less, "it must not be less than zero")


def _checked(name: str, value, is_wrong, allowed: str):
    try:
        numbers = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        numbers = None
    if numbers is None or value is None or isinstance(value, str | bytes):
        raise RangeError(f"{name} is {value!r}; type a number.")
    if np.any(is_wrong(numbers, 0)):
        raise RangeError(f"{name} is {np.nanmin(numbers):g}; {allowed}.")
    return value if np.isscalar(value) or isinstance(value, Rational) else numbers
