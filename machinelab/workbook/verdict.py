"""The verdict on a measurement: one of five words, one plain line, and how much room was left.

A reading is never taken for the truth. Its uncertainty U stands as a guard band inside every limit, so that a
wrong MET is rare; between MET and NOT MET lies what this instrument cannot prove.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.workbook.measured import (
    as_float,
    checked_number,
    checked_uncertainty,
    plain,
    value_with_uncertainty,
)

MET, NOT_MET, NOT_PROVEN = "MET", "NOT MET", "NOT PROVEN"
RECORDED, NOT_DONE = "RECORDED", "NOT DONE"
WORDS = (MET, NOT_MET, NOT_PROVEN, RECORDED, NOT_DONE)

RULE = (
    "MET: the measured figure keeps the limit even with its whole doubt U (k=2) against it. NOT MET: it "
    "breaks the limit even with its whole doubt in its favour. NOT PROVEN: neither of the two."
)
SOURCE = (
    "Decision rule after the idea of ISO 14253-1 (excerpt read on a third-party page). Guard band g = U: "
    "fewer than 2.5 wrong MET in 100, ILAC-G8:09/2019 (excerpt read on a third-party page). "
    "ISO 14253-1:2017 by default asks less, 1.65 u at a one-sided limit (from memory)."
)
AGREEMENT_SOURCE = (
    "E_n = |measured - predicted| / sqrt(U_measured^2 + U_predicted^2), agreeing up to 1: "
    "ISO/IEC 17043 (from memory)."
)


@dataclass(frozen=True)
class Verdict:
    """What a measurement proves about its limits.

    ``word`` is one of ``WORDS``, ``sentence`` says it in one plain line, ``margin`` is the room left inside
    the guarded limits (negative when they are passed, None without limits or without a value).
    """

    word: str
    sentence: str
    margin: float | None
    rule: str = RULE
    source: str = SOURCE

    def __str__(self) -> str:
        return f"{self.word}: {self.sentence}"

    def _repr_markdown_(self) -> str:
        return f"**{self.word}**: {self.sentence}"


@dataclass(frozen=True)
class Agreement:
    """Whether a prediction and a measurement agree: E_n is at most 1."""

    agrees: bool
    e_n: float
    sentence: str
    source: str = AGREEMENT_SOURCE

    def __str__(self) -> str:
        return self.sentence


def verdict(
    value: float | None,
    uncertainty: float | None,
    lower: float | None,
    upper: float | None,
    *,
    unit: str = "",
    resolution: float | None = None,
) -> Verdict:
    """Decide what a measurement proves about its limits.

    The numbers are compared as they are written (0.09 + 0.01 is 0.1), not as a computer stores them.

    Parameters
    ----------
    value : float or None
        What was measured; None or NaN when it was not done.
    uncertainty : float or None
        U, expanded, k = 2, in the unit of the value. May be None only where there is no limit.
    lower, upper : float or None
        The limits; None where there is none.
    unit : str
        Unit of all of them, for the sentence.
    resolution : float or None
        One step of the instrument's display; the value is not written finer than that.

    Returns
    -------
    Verdict
        Word, sentence and margin.

    Range
    -----
    Any finite numbers; no value gives NOT DONE, no limit gives RECORDED.

    Raises
    ------
    RangeError
        When the uncertainty is zero, negative or missing, a number is not finite, or the limits are crossed.

    Examples
    --------
    >>> print(verdict(0.085, 0.010, None, 0.100, unit="ohm"))
    MET: 0.085 ohm +/- 0.010 (k=2) keeps the limit (at most 0.1 ohm) with 0.005 ohm to spare.
    >>> verdict(0.095, 0.010, None, 0.100).word
    'NOT PROVEN'

    Source
    ------
    See ``SOURCE``.
    """
    low, high = _limits(lower, upper)
    limit = _spoken(low, high, unit)
    missing = value is None or math.isnan(as_float(value, "value"))
    if not limit:
        return _recorded(None if missing else value, uncertainty, unit, resolution)
    doubt = None if uncertainty is None and missing else Fraction(checked_uncertainty(uncertainty))
    hopeless = _cannot_decide(doubt, low, high, unit)
    if missing:
        return Verdict(NOT_DONE, f"not measured yet; the limit is {limit}.{hopeless}", None)
    read = Fraction(checked_number(value, "value"))
    shown = value_with_uncertainty(value, uncertainty, unit, resolution=resolution)
    margin = min(room - doubt for room in (_room(read, high), _room(low, read)) if room is not None)
    room = f"{plain(Decimal(f'{float(abs(margin)):.3g}'))} {unit}".rstrip()
    if margin >= 0:
        return Verdict(MET, f"{shown} keeps the limit ({limit}) with {room} to spare.", float(margin))
    if margin < -2 * doubt:
        return Verdict(NOT_MET, f"{shown} breaks the limit ({limit}) beyond doubt.", float(margin))
    advice = hopeless or f" Use a finer instrument, or bring it {room} further inside."
    sentence = f"{shown} is too near to the limit ({limit}) to tell.{advice}"
    return Verdict(NOT_PROVEN, sentence, float(margin))


def agrees(
    measured: float, *, uncertainty: float, predicted: float, predicted_uncertainty: float, unit: str = ""
) -> Agreement:
    """Tell whether a prediction and a measurement agree within their uncertainties.

    It says nothing of a limit: a machine can agree with its prediction and still break a limit.

    Parameters
    ----------
    measured, predicted : float
        The two values, in one unit.
    uncertainty, predicted_uncertainty : float
        Their U, k = 2. A prediction by exact numbers may have 0, a measurement may not.
    unit : str
        Unit of all of them, for the sentence.

    Returns
    -------
    Agreement
        ``agrees``, ``e_n`` and one sentence.

    Raises
    ------
    RangeError
        When an uncertainty cannot be, or a value is missing.

    Examples
    --------
    >>> found = agrees(5.2, uncertainty=0.3, predicted=5.0, predicted_uncertainty=0.4, unit="s")
    >>> print(found.sentence.split(": ")[1])
    they lie 0.2 s apart, and both doubts together allow 0.5 s.

    Source
    ------
    See ``AGREEMENT_SOURCE``.
    """
    doubt = checked_uncertainty(uncertainty)
    predicted_doubt = Decimal(0) if predicted_uncertainty == 0 else checked_uncertainty(predicted_uncertainty)
    apart = checked_number(measured, "measured value") - checked_number(predicted, "predicted value")
    e_n = abs(float(apart)) / math.hypot(float(doubt), float(predicted_doubt))
    shown = value_with_uncertainty(measured, uncertainty, unit)
    foretold = f"{plain(checked_number(predicted, 'predicted value'))} {unit}".rstrip()
    if predicted_doubt:
        foretold = value_with_uncertainty(predicted, predicted_uncertainty, unit)
    word = "agrees" if e_n <= 1.0 else "does not agree"
    allowed = f"{_short(math.hypot(float(doubt), float(predicted_doubt)))} {unit}".rstrip()
    lie_apart = f"they lie {_short(abs(float(apart)))} {unit}".rstrip()
    sentence = (
        f"{shown} {word} with the predicted {foretold}: {lie_apart} apart, and both doubts together allow "
        f"{allowed}."
    )
    return Agreement(e_n <= 1.0, e_n, sentence)


def _recorded(value, uncertainty, unit, resolution) -> Verdict:
    if value is None:
        return Verdict(NOT_DONE, "not measured yet; there is no limit to meet.", None)
    if uncertainty is None:
        shown = f"{plain(checked_number(value, 'value'))} {unit}".rstrip()
    else:
        shown = value_with_uncertainty(value, uncertainty, unit, resolution=resolution)
    return Verdict(RECORDED, f"{shown}; there is no limit to meet.", None)


def _limits(lower, upper) -> tuple[Decimal | None, Decimal | None]:
    low = None if lower is None else checked_number(lower, "lower limit")
    high = None if upper is None else checked_number(upper, "upper limit")
    if low is not None and high is not None and low > high:
        raise RangeError(f"The lower limit {plain(low)} is above the upper limit {plain(high)}. Swap them.")
    return low, high


def _spoken(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    """The limits in words, or nothing when there are none."""
    if low is not None and high is not None:
        return f"{plain(low)} to {plain(high)} {unit}".rstrip()
    if high is not None:
        return f"at most {plain(high)} {unit}".rstrip()
    return "" if low is None else f"at least {plain(low)} {unit}".rstrip()


def _cannot_decide(doubt: Fraction | None, low: Decimal | None, high: Decimal | None, unit: str) -> str:
    """A sentence when no reading of this instrument could prove the limit kept, else nothing."""
    if doubt is None or high is None:
        return ""
    # Below an upper limit alone there is room down to 0: a resistance, a time or a runout is never less.
    most = Fraction(high) if low is None else (Fraction(high) - Fraction(low)) / 2
    if doubt <= most or (low is None and high <= 0):
        return ""
    spoken = f"U = {float(doubt):g} {unit}".rstrip()
    return f" This instrument cannot decide: {spoken} leaves no reading that could prove it. Use a finer one."


def _room(inner, outer) -> Fraction | None:
    return None if inner is None or outer is None else Fraction(outer) - Fraction(inner)


def _short(number: float) -> str:
    """A figure to two places that count, without an exponent."""
    return plain(Decimal(f"{number:.2g}"))
