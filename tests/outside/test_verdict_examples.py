"""The verdict words at a bonding limit, and how seldom a MET is wrong.

Source of the four cases: the decision rule after the idea of ISO 14253-1 (excerpt on a third-party page),
worked for a limit of 0.100 ohm with U = 0.010 ohm.
"""

import platform
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
import scipy
from inspection.source import EXAMPLE, EXCERPT, MEMORY, STANDARD, Source, by_hand, library
from scipy.stats import norm

from machinelab.workbook.verdict import agrees, value_with_uncertainty, verdict

ROOM = "verdict"
DECISION = Source(EXAMPLE, "decision rule after ISO 14253-1, four cases at 0.100 ohm, U = 0.010 ohm", EXCERPT)
SP_811 = Source(STANDARD, "NIST SP 811 (2008), B.7.1: halves go to the even figure", MEMORY)

BONDING = [(0.085, "MET"), (0.095, "NOT PROVEN"), (0.105, "NOT PROVEN"), (0.115, "NOT MET")]


@pytest.mark.parametrize(("reading_ohm", "word"), BONDING)
def test_a_bonding_limit_of_a_tenth_of_an_ohm_read_to_a_hundredth(compare, reading_ohm, word):
    compare(
        f"{reading_ohm} ohm read, 0.100 ohm allowed",
        verdict(reading_ohm, 0.010, None, 0.100).word,
        word,
        DECISION,
    )


@pytest.mark.parametrize(("reading", "word"), BONDING)
def test_a_lower_limit_is_the_mirror_of_an_upper(compare, reading, word):
    compare(
        f"the mirror of {reading} at a lower limit",
        verdict(-reading, 0.010, -0.100, None).word,
        word,
        by_hand("the four cases with their signs turned"),
    )


def test_a_meter_that_sees_no_tenth_of_an_ohm_cannot_decide_even_before_it_is_read():
    unread = verdict(None, 0.2, None, 0.100, unit="ohm")
    assert unread.word == "NOT DONE"
    assert "This instrument cannot decide" in unread.sentence
    read = verdict(0.0, 0.2, None, 0.100, unit="ohm")
    assert read.word == "NOT PROVEN"
    assert "This instrument cannot decide" in read.sentence


def test_fewer_than_25_in_1000_are_wrongly_met_with_the_true_value_at_the_limit():
    # ILAC-G8:09/2019 (excerpt on a third-party page): guard band w = U, wrong acceptance under 2.5 %.
    limit, uncertainty = 10.0, 0.4
    readings = norm(loc=limit, scale=uncertainty / 2).ppf([(i + 0.5) / 20_000 for i in range(20_000)])
    wrong = sum(verdict(reading, uncertainty, None, limit).word == "MET" for reading in readings) / 20_000
    assert 0.02 < wrong < 0.025


def test_a_figure_as_it_stands_on_the_sheet(compare):
    compare(
        "0.085 with 0.002 ohm as it is written",
        value_with_uncertainty(0.085, 0.002, "ohm"),
        "0.0850 ohm +/- 0.0020 (k=2)",
        by_hand("two figures of the doubt"),
    )


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        # Halves go to the even figure: NIST SP 811 (2008), B.7.1 (from memory).
        (6.974951, 0.0005, "6.9750 +/- 0.0005 (k=2)"),
        (8.5, 3, "8 +/- 3 (k=2)"),
        (9.5, 3, "10 +/- 3 (k=2)"),
        (0.125, 0.03, "0.12 +/- 0.03 (k=2)"),
        (0.135, 0.03, "0.14 +/- 0.03 (k=2)"),
        (15342, 120, "15340 +/- 120 (k=2)"),
        (0.3, 0.096, "0.30 +/- 0.10 (k=2)"),
        (1e-7, 2.5e-8, "0.000000100 +/- 0.000000025 (k=2)"),
    ],
)
def test_halves_go_to_the_even_figure(compare, value, uncertainty, shown):
    compare(
        f"{value} with {uncertainty} as it is written",
        value_with_uncertainty(value, uncertainty),
        shown,
        SP_811,
    )


def test_no_figure_is_finer_than_the_display():
    assert value_with_uncertainty(1203.4, 1.2, "rpm", resolution=1) == "1203 rpm +/- 1.2 (k=2)"


def test_e_n_of_one_still_agrees(compare):
    # The two differ by 0.5 with U of 0.3 and 0.4: sqrt(0.09 + 0.16) = 0.5, so E_n = 1.
    assert agrees(5.5, uncertainty=0.3, predicted=5.0, predicted_uncertainty=0.4).agrees
    apart = agrees(5.6, uncertainty=0.3, predicted=5.0, predicted_uncertainty=0.4)
    assert not apart.agrees
    compare("E_n of 0.6 apart with 0.3 and 0.4", apart.e_n, 1.2, by_hand("0.6 / sqrt(0.09 + 0.16)"), rel=1e-6)


@pytest.mark.parametrize("places", [0, 1, 2])
@pytest.mark.parametrize("typed", ["2.5", "0.25", "0.345", "0.355", "17.5", "1.0049"])
def test_a_value_is_rounded_as_a_decimal_library_rounds_it(compare, typed, places):
    step = Decimal(1).scaleb(-places)
    doubt = 3 * float(step)
    shown = value_with_uncertainty(float(typed), doubt).split(" +/- ")[0]
    wanted = str(Decimal(typed).quantize(step, rounding=ROUND_HALF_EVEN))
    source = library("Python", platform.python_version(), "decimal, ROUND_HALF_EVEN", "exact")
    compare(f"{typed} with a doubt of {doubt:g}", shown, wanted, source)


@pytest.mark.parametrize("beyond", [0.0, 0.5, 1.0])
def test_the_share_of_wrong_acceptances_is_the_tail_of_the_normal_distribution(compare, beyond):
    """True value beyond the limit by so many standard uncertainties; the guard band is two of them."""
    limit, sd = 10.0, 0.2
    readings = norm(loc=limit + beyond * sd, scale=sd).ppf([(i + 0.5) / 4000 for i in range(4000)])
    met = sum(verdict(reading, 2 * sd, None, limit).word == "MET" for reading in readings) / 4000
    source = library("scipy", scipy.__version__, "stats.norm.cdf", "no more than four thousand readings")
    told = f"share wrongly MET, true value {beyond:g} sd beyond the limit"
    compare(told, met, float(norm.cdf(-2 - beyond)), source, abs=3e-4)
