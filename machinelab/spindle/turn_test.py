"""The commissioning test of a spindle encoder: turns made by hand, counted, and what the count means."""

from dataclasses import dataclass
from fractions import Fraction

from machinelab.ranges import exact_positive, whole


@dataclass(frozen=True)
class TurnTest:
    """What a counted number of turns by hand says about the encoder.

    Parameters
    ----------
    expected_count : Fraction [count]
        Counts that the turns should have given.
    forward_error_count : Fraction [count]
        Counted less expected.
    return_error_count : int [count]
        Count left over when the mark is back where it began.
    counts_hold : bool
        True when both errors are within what is allowed.
    meaning : str
        What the figures point to, in plain words.
    """

    expected_count: Fraction
    forward_error_count: Fraction
    return_error_count: int
    counts_hold: bool
    meaning: str


def turn_test(
    forward_count,
    return_count,
    *,
    counts_per_spindle_turn,
    encoder_turns_per_spindle_turn=1,
    turns=100,
    allowed_count=1,
):
    """What a hundred turns by hand and a hundred back say about the encoder.

    Mark the chuck against a pointer and set the count to zero. Turn forward at odd speeds, stop at the mark
    and note the count; turn back, stop at the mark and note it again.

    Formula
    -------
    none: the counts are compared with the expected ones and with those of the usual mistakes.

    Parameters
    ----------
    forward_count : int [count]
        Count after the turns forward, from zero.
    return_count : int [count]
        Count after as many turns back.
    counts_per_spindle_turn : Fraction or int [count]
        Counts that one turn should give.
    encoder_turns_per_spindle_turn : Fraction or int [turn/turn]
        Belt ratio, so that a ratio forgotten or upside down is known again.
    turns : int [turn]
        Turns each way; a hundred shows one count lost in a hundred turns.
    allowed_count : int [count]
        Counts that setting to the mark may cost; one by default.

    Returns
    -------
    TurnTest
        Both errors, whether the counts hold, and what the figures point to.

    Range
    -----
    Whole counts and turns.

    Raises
    ------
    RangeError
        If a count is not a whole number, or an input is out of range.

    Examples
    --------
    >>> turn_test(67500, 0, counts_per_spindle_turn=2700).meaning
    'one edge of each line is counted, not four'

    Source
    ------
    Derived here: every turn gives the same counts, and going back undoes going forward.
    """
    counts = exact_positive("counts_per_spindle_turn", counts_per_spindle_turn)
    belt = exact_positive("encoder_turns_per_spindle_turn", encoder_turns_per_spindle_turn)
    expected = whole("turns", turns) * counts
    forward = whole("forward_count", forward_count, at_least=None) - expected
    back = whole("return_count", return_count, at_least=None)
    allowed = whole("allowed_count", allowed_count, at_least=0)
    holds = max(abs(forward), abs(back)) <= allowed
    meaning = (
        "the counts hold" if holds else _meaning(forward + expected, back, expected, counts, belt, allowed)
    )
    return TurnTest(expected, forward, back, holds, meaning)


def _meaning(counted, back, expected, counts, belt, allowed) -> str:
    if abs(back) > allowed:
        return (
            "counts are lost or made up on the way: look for a loose coupling or belt, a poor screen, "
            "or a counter that is too slow"
        )
    near = counts / 100
    for share, mistake in _mistakes(belt):
        if abs(counted - share * expected) <= near:
            return mistake
        if abs(counted + share * expected) <= near:
            return "the count runs backwards: exchange the two channels" + ("; and " + mistake) * (share != 1)
    return "the turns give other counts than expected: check the lines, the teeth and the turns made"


def _mistakes(belt: Fraction) -> tuple[tuple[Fraction, str], ...]:
    return (
        (
            Fraction(1),
            "the count is a little out both ways alike: set the mark again, and count the turns again",
        ),
        (Fraction(1, 4), "one edge of each line is counted, not four"),
        (Fraction(1, 2), "two edges of each line are counted, not four"),
        (Fraction(4), "the lines given are four times too few"),
        (1 / belt, "the encoder turns with the spindle one to one, whatever the teeth given"),
        (1 / belt**2, "the two pulleys are given the wrong way round"),
    )
