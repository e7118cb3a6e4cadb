"""A measured number and its doubt: checked, and written no finer than either allows."""

import math
from decimal import ROUND_HALF_EVEN, Decimal, localcontext

from machinelab.errors import RangeError
from machinelab.estimate import Estimate


def value_with_uncertainty(
    value: float, uncertainty: float, unit: str = "", *, resolution: float | None = None
) -> str:
    """Write a measured value with its uncertainty, no finer than either allows.

    U gets one figure, two when the first is 1 or 2; the value ends at the same place, or at the
    display's own step when that is coarser. Halves go to the even figure.

    Parameters
    ----------
    value, uncertainty : float
        The value and its U, k = 2.
    unit : str
        Their unit.
    resolution : float or None
        One step of the instrument's display.

    Returns
    -------
    str
        Such as ``0.0850 ohm +/- 0.0020 (k=2)``.

    Raises
    ------
    RangeError
        When the uncertainty is zero, negative or missing, or a number is not finite.

    Examples
    --------
    >>> value_with_uncertainty(0.08501, 0.002, "ohm")
    '0.0850 ohm +/- 0.0020 (k=2)'
    >>> value_with_uncertainty(1196.5, 14, "rpm")
    '1196 rpm +/- 14 (k=2)'

    Source
    ------
    Common practice, no source (two figures for a leading 1 or 2).
    """
    doubt = checked_uncertainty(uncertainty)
    first = doubt.as_tuple().digits[0]
    place = doubt.adjusted() - (1 if first in (1, 2) else 0)
    shown_doubt = _at(doubt, place)
    if resolution is not None:
        place = max(place, checked_uncertainty(resolution, "resolution").normalize().as_tuple().exponent)
    return f"{_at(checked_number(value, 'value'), place):f} {unit}".rstrip() + f" +/- {shown_doubt:f} (k=2)"


def with_interval(estimate: Estimate, unit: str = "", *, finest: int = 3) -> str:
    """Write an estimate and its 95 % interval, no finer than its doubt allows, nor than so many places."""
    low, high = estimate.interval
    places = min(max(math.ceil(-math.log10((high - low) / 2)), 0), finest) if high > low else 1
    shown = f"z.{places}f"
    return f"{estimate.value:{shown}} ({low:{shown}} to {high:{shown}}) {unit}".rstrip()


def _at(number: Decimal, place: int) -> Decimal:
    """The number to a power of ten, halves to even, written without an exponent."""
    with localcontext() as exact:
        exact.prec = 700
        rounded = number.quantize(Decimal((0, (1,), place)), ROUND_HALF_EVEN)
        return rounded.quantize(Decimal(1)) if place > 0 else rounded


def checked_uncertainty(uncertainty: float | None, name: str = "uncertainty") -> Decimal:
    """Return an uncertainty as it is written; none, zero, less and NaN are refused."""
    if uncertainty is None or not as_float(uncertainty, name) > 0.0:
        typed = "nothing" if uncertainty is None else f"{as_float(uncertainty, name):g}"
        raise RangeError(
            f"The {name} is {typed}, and no instrument has none. "
            "Take at least half the last digit of the display."
        )
    return checked_number(uncertainty, name)


def checked_number(value: float, name: str) -> Decimal:
    """Return a finite number as it is written, so that 0.1 is a tenth."""
    number = as_float(value, name)
    if not math.isfinite(number):
        raise RangeError(
            f"The {name} is {number}. Type a number; where the display is over its range, type the top of it."
        )
    return Decimal(repr(number))


def as_float(value: float, name: str) -> float:
    """Return what was given as a number, NaN and infinity included."""
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError):
        raise RangeError(
            f"The {name} is {str(value)[:40]!r}, and that is no number. Type a number."
        ) from None


def plain(number: Decimal) -> str:
    """Write a number without exponent and without idle zeros."""
    return f"{number.normalize():f}"
