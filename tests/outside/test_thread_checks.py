"""Designations and basic sizes of threads against published tables, the source beside each."""

from fractions import Fraction

import pytest

from machinelab.errors import MachinelabError, RangeError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.form import parse

INCH_MM = 25.4


def sizes_of(designation):
    return basic_sizes(parse(designation))


@pytest.mark.parametrize(
    ("typed", "settled", "pitch_mm"),
    [
        ("M10", "M10x1.5", Fraction(3, 2)),
        ("M10x1.5-6g", "M10x1.5-6g", Fraction(3, 2)),
        ("M 10 × 1", "M10x1", Fraction(1)),
        ("m10*1", "M10x1", Fraction(1)),
        ("1/4-20", "1/4-20 UNC", Fraction(127, 100)),
        ("1/4-20 UNC-2A", "1/4-20 UNC-2A", Fraction(127, 100)),
        ("#10-24 UNC", "#10-24 UNC", Fraction(127, 120)),
        ("10-24", "#10-24 UNC", Fraction(127, 120)),
        ("3/8 BSW", "3/8-16 BSW", Fraction(127, 80)),
        ("1.370 x 24 cycle", "1.37-24 BSC", Fraction(127, 120)),
        ("26 tpi cycle", "26 tpi cycle", Fraction(127, 130)),
        ("5/16 x 26 CEI", "5/16-26 BSC", Fraction(127, 130)),
        ("9/16 x 20 LH cycle", "9/16-20 BSC LH", Fraction(127, 100)),
        ("Tr14x3", "Tr14x3", Fraction(3)),
        ("Tr40x14(P7)LH", "Tr40x14P7 LH", Fraction(7)),
        ("G1/2", "G1/2", Fraction(127, 70)),
        ("1/2 NPT", "1/2-14 NPT", Fraction(127, 70)),
        ("1-1/4-5 Acme", "1-1/4-5 Acme", Fraction(127, 25)),
        ("1-1/4-7 UNC", "1-1/4-7 UNC", Fraction(127, 35)),
        ("1½-6", "1-1/2-6 UNC", Fraction(127, 30)),
    ],
)
def test_a_designation_is_read_as_the_trade_writes_it(typed, settled, pitch_mm):
    thread = parse(typed)
    assert thread.designation == settled
    assert thread.pitch_mm == pitch_mm
    assert parse(settled) == thread


@pytest.mark.parametrize(
    ("typed", "pitch_mm"), [("module 1", 3.14159265), ("m=1 worm", 3.14159265), ("20 DP", 3.98982)]
)
def test_a_worm_carries_pi(typed, pitch_mm):
    assert float(parse(typed).pitch_mm) == pytest.approx(pitch_mm, abs=5e-6)


def test_lead_is_pitch_times_starts_and_turns_with_the_hand():
    thread = parse("Tr40x14P7 LH")
    assert (thread.pitch_mm, thread.starts, thread.lead_mm, thread.turning_lead_mm) == (7, 2, 14, -14)


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("M10x1.1", "M10x1, M10x1.25"),
        ("1/2-12", "1/2-12 BSW, 1/2-13 UNC"),
        ("N10x1", "M10x1"),
        ("26 tpi", "26 tpi cycle"),
        ("1.375 x 24 cycle", "1.37-24 BSC"),
        ("1 UNC", "#1-64 UNC or 1-8 UNC"),
        ("M10-2A", "6g for a screw"),
        ("1/2-13 NPT", "1/2-14 NPT"),
        ("hello", "M10x1, 3/8-16 UNC"),
    ],
)
def test_what_fits_no_series_is_refused_with_the_nearest(typed, named):
    with pytest.raises(RangeError, match=named.replace("#", "\\#")):
        parse(typed)


@pytest.mark.parametrize("typed", ["", " ", "M" * 5000, "9" * 5000, None, 10])
def test_nothing_and_far_too_much_are_refused_in_our_own_words(typed):
    with pytest.raises(MachinelabError):
        parse(typed)


def test_twenty_six_threads_to_the_inch_are_not_one_millimetre():
    assert parse("26 tpi cycle").pitch_mm == Fraction(127, 130)
    assert parse("26 tpi cycle").pitch_mm != parse("M10x1").pitch_mm
