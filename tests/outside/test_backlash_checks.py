"""Backlash and lead error against a table worked by hand, and against errors put in on purpose.

The formulas of ISO 230-2:2014 are from memory; no worked example of the standard could be read, so the
table is invented, with sums that can be followed on paper: each row's runs are its mean, once more, once
less and twice the same.
"""

from fractions import Fraction

import numpy as np
import pytest
from inspection.source import by_hand, run_here

from machinelab.errors import RangeError
from machinelab.leadscrew.backlash import (
    periodic_error,
    periodic_targets_mm,
    positioning,
    reversal_um,
    take_up_turns,
    trimmed_lead_mm,
)

ROOM = "leadscrew"
TABLE = by_hand("ISO 230-2:2014 (formulas from memory) on an invented table, worked on paper")
PLANTED = run_here("errors put in on purpose, found again", "rounding of the computer")

TARGETS_MM = [12.3, 61.7, 110.9, 161.2, 209.6]
UP_UM = [[1, 0, 2, 1, 1], [4, 5, 3, 4, 4], [6, 8, 7, 7, 7], [12, 11, 13, 12, 12], [15, 14, 16, 15, 15]]
DOWN_UM = [
    [-19, -21, -20, -20, -20],
    [-15, -17, -16, -16, -16],
    [-14, -12, -13, -13, -13],
    [-11, -9, -10, -10, -10],
    [-4, -6, -5, -5, -5],
]


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        ("reversal_um", 22.0),
        ("mean_reversal_um", 20.6),
        ("repeatability_up_um", 2.82843),
        ("systematic_up_um", 14.0),
        ("systematic_down_um", 15.0),
        ("systematic_um", 35.0),
        ("mean_deviation_um", 14.5),
        ("accuracy_up_um", 16.82843),
        ("accuracy_down_um", 17.82843),
        ("accuracy_um", 37.82843),
    ],
)
def test_the_table_worked_by_hand_comes_out(compare, figure, expected):
    found = positioning(TARGETS_MM, UP_UM, DOWN_UM)
    compare(f"positioning: {figure}", getattr(found, figure), expected, TABLE, abs=0.001, unit="um")


def test_the_slope_worked_by_hand_is_the_lead_error(compare):
    found = positioning(TARGETS_MM, UP_UM, DOWN_UM).lead_error_ppm
    compare("lead error, the slope through the table", found.value, 72.8555, TABLE, abs=0.001, unit="ppm")
    low, high = found.interval
    assert low < found.value < high


def test_the_order_of_the_targets_does_not_matter(compare):
    back = positioning(TARGETS_MM[::-1], UP_UM[::-1], DOWN_UM[::-1])
    assert back.accuracy_um == positioning(TARGETS_MM, UP_UM, DOWN_UM).accuracy_um
    compare(
        "lead error with the targets in reversed order",
        back.lead_error_ppm.value,
        72.8555,
        TABLE,
        abs=0.001,
        unit="ppm",
    )


def test_a_trimmed_lead_takes_the_slope_away(compare):
    """Sign by consequence: sent with the trimmed lead, the same screw ends where it was sent."""
    asked_mm, lead = 200.0, Fraction(3)
    true_lead = lead * (1 + Fraction(73, 1_000_000))
    turns = asked_mm / float(trimmed_lead_mm(lead, 73))
    compare(
        "where a trimmed lead ends that was sent 200 mm",
        turns * float(true_lead),
        asked_mm,
        PLANTED,
        abs=1e-9,
        unit="mm",
    )


def test_a_wave_of_every_turn_is_found_and_whole_turns_hide_it(compare):
    lead = 3.175
    x = periodic_targets_mm(lead, turns=4)
    wave = 6.0 * np.sin(2 * np.pi * x / lead + 0.7) + 0.05 * x
    found = periodic_error(x, wave, screw_lead_mm=lead)
    compare("size of a wave of every turn", found.amplitude_um.value, 6.0, PLANTED, abs=1e-6, unit="um")
    compare("phase of a wave of every turn", found.phase_rad, 0.7, PLANTED, abs=1e-6, unit="rad")
    compare(
        "lead error beside a wave of every turn",
        found.lead_error_ppm.value,
        50.0,
        PLANTED,
        abs=1e-6,
        unit="ppm",
    )
    with pytest.raises(RangeError, match="8 readings a turn"):
        periodic_error(x[::8], wave[::8], screw_lead_mm=lead)


def test_noise_alone_is_proven_a_wave_about_once_in_a_hundred():
    generator = np.random.default_rng(20)
    x = periodic_targets_mm(3.0)
    alarms = [
        periodic_error(x, generator.normal(0, 3, x.size), screw_lead_mm=3.0).proven for _ in range(2000)
    ]
    assert 0.004 < np.mean(alarms) < 0.018


def test_the_interval_of_a_slope_holds_the_truth_nineteen_times_in_twenty():
    generator = np.random.default_rng(21)
    held = []
    for _ in range(2000):
        table = 0.08 * np.array(TARGETS_MM)[:, None] + generator.normal(0, 2, (5, 10))
        low, high = positioning(TARGETS_MM, table[:, :5], table[:, 5:]).lead_error_ppm.interval
        held.append(low <= 80 <= high)
    assert 0.935 < np.mean(held) < 0.965


def test_targets_on_whole_turns_are_told():
    found = positioning(np.arange(5) * 6.0, UP_UM, DOWN_UM, screw_lead_mm=3.0)
    assert any("whole turns" in note for note in found.notes)
    assert not positioning(TARGETS_MM, UP_UM, DOWN_UM, screw_lead_mm=3.0).notes


@pytest.mark.parametrize(
    ("targets", "up", "down", "words"),
    [
        ([0, 1], [[0, 0]] * 2, [[0, 0]] * 2, "too few"),
        ([0, 1, 2], [[0]] * 3, [[0]] * 3, "too few"),
        ([0, 1, 1], [[0, 0]] * 3, [[0, 0]] * 3, "twice"),
        ([0, 1, 2], [[0, 0]] * 2, [[0, 0]] * 3, "do not fit"),
        ([0, 1, 2], [[0, 0], [0], [0, 0]], [[0, 0]] * 3, "not whole"),
        ([0, 1, 2], [[0, np.nan]] * 3, [[0, 0]] * 3, "missing"),
    ],
)
def test_a_table_that_cannot_be_evaluated_is_refused_with_the_reason(targets, up, down, words):
    with pytest.raises(RangeError, match=words):
        positioning(targets, up, down)


def test_backlash_by_hand_turning_is_the_difference_of_the_means(compare):
    found = reversal_um([0, 2, 1, 1], [-119, -121, -120, -120])
    compare(
        "backlash by hand turning",
        found.value,
        121.0,
        by_hand("difference of the means"),
        rel=1e-6,
        unit="um",
    )
    assert found.interval[0] < 121 < found.interval[1]
    compare(
        "share of a turn that takes up 0.121 mm",
        take_up_turns(0.121, 1.0),
        0.121,
        by_hand("backlash over lead"),
        rel=1e-6,
        unit="turn",
    )
