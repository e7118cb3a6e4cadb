"""The verdict words at a bonding limit, and how seldom a MET is wrong.

Source of the four cases: the decision rule after the idea of ISO 14253-1 (excerpt on a third-party page),
worked for a limit of 0.100 ohm with U = 0.010 ohm.
"""

import pytest
from scipy.stats import norm

from machinelab.workbook.verdict import agrees, value_with_uncertainty, verdict

BONDING = [(0.085, "MET"), (0.095, "NOT PROVEN"), (0.105, "NOT PROVEN"), (0.115, "NOT MET")]


@pytest.mark.parametrize(("reading_ohm", "word"), BONDING)
def test_a_bonding_limit_of_a_tenth_of_an_ohm_read_to_a_hundredth(reading_ohm, word):
    assert verdict(reading_ohm, 0.010, None, 0.100).word == word


@pytest.mark.parametrize(("reading", "word"), BONDING)
def test_a_lower_limit_is_the_mirror_of_an_upper(reading, word):
    assert verdict(-reading, 0.010, -0.100, None).word == word


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


def test_a_figure_as_it_stands_on_the_sheet():
    assert value_with_uncertainty(0.085, 0.002, "ohm") == "0.0850 ohm +/- 0.0020 (k=2)"


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
def test_halves_go_to_the_even_figure(value, uncertainty, shown):
    assert value_with_uncertainty(value, uncertainty) == shown


def test_no_figure_is_finer_than_the_display():
    assert value_with_uncertainty(1203.4, 1.2, "rpm", resolution=1) == "1203 rpm +/- 1.2 (k=2)"


def test_e_n_of_one_still_agrees():
    # The two differ by 0.5 with U of 0.3 and 0.4: sqrt(0.09 + 0.16) = 0.5, so E_n = 1.
    assert agrees(5.5, uncertainty=0.3, predicted=5.0, predicted_uncertainty=0.4).agrees
    apart = agrees(5.6, uncertainty=0.3, predicted=5.0, predicted_uncertainty=0.4)
    assert not apart.agrees
    assert apart.e_n == pytest.approx(1.2)
