"""The decision rule, whatever the numbers."""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.workbook.verdict import WORDS, agrees, value_with_uncertainty, verdict

NUMBERS = st.floats(-1e9, 1e9, allow_nan=False)
DOUBTS = st.floats(1e-6, 1e6)
LIMITS = st.none() | NUMBERS


def exact(number):
    """The number as it is written in decimals."""
    return Fraction(repr(float(number)))


@given(NUMBERS, DOUBTS, LIMITS, LIMITS)
@example(0.09, 0.01, None, 0.1)
@example(0.11, 0.01, None, 0.1)
@example(0.3, 0.1, 0.2, 0.4)
def test_the_word_follows_the_rule_in_exact_arithmetic(value, uncertainty, lower, upper):
    assume(lower is None or upper is None or lower <= upper)
    found = verdict(value, uncertainty, lower, upper)
    y, u = exact(value), exact(uncertainty)
    outside = (upper is not None and y - u > exact(upper)) or (lower is not None and y + u < exact(lower))
    inside = (upper is None or y + u <= exact(upper)) and (lower is None or y - u >= exact(lower))
    if lower is None and upper is None:
        assert found.word == "RECORDED"
    else:
        assert found.word == ("MET" if inside else "NOT MET" if outside else "NOT PROVEN")
        assert (found.margin >= 0) == inside
    assert found.word in WORDS
    assert found.sentence.endswith(".")
    assert "\n" not in found.sentence


@given(NUMBERS, DOUBTS, DOUBTS, NUMBERS)
def test_a_coarser_instrument_never_turns_one_verdict_into_the_other(value, uncertainty, more, upper):
    before = verdict(value, uncertainty, None, upper).word
    after = verdict(value, uncertainty + more, None, upper).word
    assert after in (before, "NOT PROVEN")


@given(NUMBERS, DOUBTS)
def test_a_written_value_is_within_half_its_last_place(value, uncertainty):
    shown, _, doubt = value_with_uncertainty(value, uncertainty).partition(" +/- ")
    doubt = Fraction(doubt.removesuffix(" (k=2)"))
    assert abs(Fraction(shown) - exact(value)) <= doubt / 2
    assert abs(doubt - exact(uncertainty)) <= exact(uncertainty) / 5


@given(NUMBERS, DOUBTS, NUMBERS, DOUBTS)
def test_agreement_is_the_same_both_ways_round(measured, uncertainty, predicted, predicted_uncertainty):
    one = agrees(
        measured, uncertainty=uncertainty, predicted=predicted, predicted_uncertainty=predicted_uncertainty
    )
    other = agrees(
        predicted, uncertainty=predicted_uncertainty, predicted=measured, predicted_uncertainty=uncertainty
    )
    assert one.e_n == pytest.approx(other.e_n)
    assert one.agrees == (one.e_n <= 1)


@pytest.mark.parametrize("uncertainty", [0, 0.0, -0.1, math.nan, None, "wide"])
def test_an_uncertainty_of_nothing_is_refused_in_words(uncertainty):
    with pytest.raises(RangeError, match=r"at least half the last digit|no number"):
        verdict(0.5, uncertainty, None, 1.0)


def test_what_was_not_done_is_not_judged():
    assert verdict(None, None, None, 1.0).word == "NOT DONE"
    assert verdict(math.nan, 0.1, None, 1.0).word == "NOT DONE"
    assert verdict(None, None, None, None).word == "NOT DONE"


def test_without_a_limit_a_value_is_recorded_with_or_without_its_uncertainty():
    assert "0.50 s +/- 0.10" in verdict(0.5, 0.1, None, None, unit="s").sentence
    assert verdict(0.5, None, None, None, unit="s").word == "RECORDED"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.5, 0.1, 2.0, 1.0), "Swap them"),
        ((math.inf, 0.1, 1.0, None), "over its range"),
        (("x", 1, 0, 1), "no number"),
    ],
)
def test_what_cannot_be_judged_is_said(arguments, words):
    with pytest.raises(RangeError, match=words):
        verdict(*arguments)


def test_two_limits_closer_than_the_uncertainty_cannot_be_decided():
    assert "cannot decide" in verdict(10.0, 0.6, 9.5, 10.5).sentence
    assert verdict(10.0, 0.5, 9.5, 10.5).word == "MET"
    assert verdict(12.0, 0.6, 9.5, 10.5).word == "NOT MET"
