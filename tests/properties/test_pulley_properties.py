"""What must hold for every belt: length, wrap, centre distance, grip."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.spindle.belt_grip import arc_factor, slip_torque_nm, tension_ratio
from machinelab.spindle.pulleys import (
    belt_length_mm,
    centre_distance_mm,
    nearly_belt_length_mm,
    pulley_ratio,
    wrap_deg,
)

# SciPy is loaded at the first call, which must not count as slow.
at_ease = settings(deadline=None)
diameters = st.floats(20, 300)
gaps = st.floats(1, 800)


@at_ease
@given(diameters, diameters, gaps)
def test_the_centre_distance_comes_back_from_the_length(first, second, gap):
    centre = (first + second) / 2 + gap
    length = belt_length_mm(centre, motor_pulley_mm=first, spindle_pulley_mm=second)
    back = centre_distance_mm(length, motor_pulley_mm=first, spindle_pulley_mm=second)
    assert back == pytest.approx(centre, abs=1e-6)


@at_ease
@given(diameters, diameters, gaps)
def test_length_does_not_care_which_pulley_is_on_the_motor_and_grows_with_the_distance(first, second, gap):
    centre = (first + second) / 2 + gap
    length = belt_length_mm(centre, motor_pulley_mm=first, spindle_pulley_mm=second)
    assert belt_length_mm(centre, motor_pulley_mm=second, spindle_pulley_mm=first) == pytest.approx(length)
    assert belt_length_mm(centre + 1, motor_pulley_mm=first, spindle_pulley_mm=second) > length


@at_ease
@given(diameters, gaps)
def test_equal_pulleys_need_one_rim_and_two_runs(diameter, gap):
    centre = diameter + gap
    length = belt_length_mm(centre, motor_pulley_mm=diameter, spindle_pulley_mm=diameter)
    assert length == pytest.approx(np.pi * diameter + 2 * centre)


@at_ease
@given(diameters, diameters, gaps)
def test_the_length_is_two_tangents_and_two_arcs(first, second, gap):
    centre = (first + second) / 2 + gap
    wraps = [
        wrap_deg(one, other_pulley_mm=other, centre_distance_mm=centre)
        for one, other in ((first, second), (second, first))
    ]
    assert sum(wraps) == pytest.approx(360)
    arcs = np.radians(wraps[0]) * first / 2 + np.radians(wraps[1]) * second / 2
    tangents = 2 * np.sqrt(centre**2 - ((first - second) / 2) ** 2)
    length = belt_length_mm(centre, motor_pulley_mm=first, spindle_pulley_mm=second)
    assert length == pytest.approx(arcs + tangents)


@at_ease
@given(diameters, diameters, st.floats(200, 800))
def test_the_rule_of_thumb_is_a_little_short(first, second, gap):
    centre = (first + second) / 2 + gap
    pulleys = {"motor_pulley_mm": first, "spindle_pulley_mm": second}
    exact, nearly = belt_length_mm(centre, **pulleys), nearly_belt_length_mm(centre, **pulleys)
    assert -1e-9 <= exact - nearly < 2.0


@at_ease
@given(st.integers(1, 400), st.integers(1, 400))
def test_ratios_are_exact_and_turn_over(motor, spindle):
    assert pulley_ratio(motor, spindle) * pulley_ratio(spindle, motor) == 1
    assert pulley_ratio(motor, spindle) == Fraction(spindle, motor)


def test_pulleys_that_run_into_each_other_are_refused_in_words():
    with pytest.raises(RangeError, match="run into each other"):
        belt_length_mm(100, motor_pulley_mm=60, spindle_pulley_mm=180)
    with pytest.raises(RangeError, match="too short"):
        centre_distance_mm(500, motor_pulley_mm=60, spindle_pulley_mm=180)


def test_a_pulley_diameter_that_is_only_nearly_held_is_refused():
    with pytest.raises(RangeError, match="Fraction"):
        pulley_ratio(50.1, 150)


@at_ease
@given(st.floats(60, 220), st.floats(0.05, 0.6), st.floats(30, 180))
def test_the_belt_grips_as_summed_up_over_small_pieces_of_its_wrap(wrap, friction, groove):
    """Each piece of wrap adds friction times its pressure, wedged by the groove: integrated, not solved."""
    pieces = 20_000
    step = np.radians(wrap) / pieces
    summed = (1 + friction * step / np.sin(np.radians(groove) / 2)) ** pieces
    assert tension_ratio(wrap, friction=friction, groove_deg=groove) == pytest.approx(summed, rel=2e-2)


@at_ease
@given(st.floats(10, 1000), st.floats(60, 220))
def test_no_belt_carries_more_than_its_pull_and_more_wrap_never_carries_less(pull, wrap):
    belt = {"pulley_mm": 60, "friction": 0.3, "groove_deg": 40}
    torque = slip_torque_nm(pull, wrap_deg=wrap, **belt)
    assert 0 < torque < pull * 0.030
    assert slip_torque_nm(pull, wrap_deg=wrap + 10, **belt) > torque


def test_arc_factors_are_the_tables_and_too_little_wrap_is_refused():
    assert arc_factor(np.array([120, 150, 180, 200])) == pytest.approx([0.82, 0.92, 1.0, 1.0])
    with pytest.raises(RangeError, match="farther apart"):
        arc_factor(100)


def test_every_belt_of_the_table_can_be_reckoned_with():
    for row in tables.read("belts"):
        found = tension_ratio(
            float(row["least_wrap_deg"]), friction=float(row["friction"]), groove_deg=float(row["groove_deg"])
        )
        assert 1.5 < found < 20, row["belt"]
        assert 10 <= float(row["highest_m_s"]) <= 60
