"""What must hold for every cut: it scales as its chip does, thin chips ask more, a torque carries its cut."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.work.cutting import threading, turning
from machinelab.work.cutting_capacity import deepest_cut_mm, largest_drill_mm
from machinelab.work.cutting_force import cutting_material, materials, specific_force_n_mm2, tool_force_factor
from machinelab.work.cutting_speeds import cutting_speed, cutting_speed_m_min, speed_for_cutting_rpm
from machinelab.work.finish import expected_roughness
from machinelab.work.rotating_tools import drilling, milling

# SciPy is loaded at the first call, which must not count as slow.
at_ease = settings(deadline=None)
kc = st.floats(500, 4000)
mc = st.floats(0.15, 0.35)
chips = st.floats(0.01, 1.0)


@at_ease
@given(kc, mc, chips)
def test_thin_chips_ask_more_for_each_square_millimetre_but_less_in_all(force, exponent, chip):
    law = {"specific_force_1_n_mm2": force, "chip_exponent": exponent, "force_factor": 1}
    thin, thick = specific_force_n_mm2(chip, **law), specific_force_n_mm2(1.5 * chip, **law)
    assert thin > thick
    assert thin * chip < thick * 1.5 * chip
    assert specific_force_n_mm2(1.0, **law) == pytest.approx(force)


def test_force_grows_1_8_times_from_half_a_millimetre_to_a_twentieth():
    """Derived: ten to the power 0.25."""
    found = specific_force_n_mm2(
        np.array([0.05, 0.5]), specific_force_1_n_mm2=1000, chip_exponent=0.25, force_factor=1
    )
    assert found[0] / found[1] == pytest.approx(1.778, abs=1e-3)


@at_ease
@given(kc, mc, st.floats(0.02, 0.5), st.floats(5, 200), st.floats(0.1, 50), st.floats(30, 90))
def test_the_deepest_cut_takes_just_the_torque(force, exponent, feed, diameter, torque, angle):
    law = {
        "feed_mm": feed,
        "diameter_mm": diameter,
        "specific_force_1_n_mm2": force,
        "chip_exponent": exponent,
        "approach_angle_deg": angle,
    }
    depth = deepest_cut_mm(torque, **law)
    assert turning(depth_mm=depth, speed_rpm=100, **law).torque_nm == pytest.approx(torque)


@at_ease
@given(kc, mc, st.floats(0.02, 0.3), st.floats(0.5, 100))
def test_the_largest_drill_takes_just_the_torque(force, exponent, feed, torque):
    law = {"feed_mm": feed, "specific_force_1_n_mm2": force, "chip_exponent": exponent, "force_factor": 1.2}
    across = largest_drill_mm(torque, **law)
    assert drilling(diameter_mm=across, speed_rpm=100, **law).torque_nm == pytest.approx(torque)


@at_ease
@given(kc, mc, st.floats(0.02, 0.3), st.floats(2, 30), st.floats(0.1, 0.9))
def test_pilot_and_reaming_out_together_cut_the_same_chips_as_the_solid(force, exponent, feed, across, share):
    law = {"feed_mm": feed, "speed_rpm": 100, "specific_force_1_n_mm2": force, "chip_exponent": exponent}
    solid = drilling(diameter_mm=across, **law).torque_nm
    pilot = drilling(diameter_mm=share * across, **law).torque_nm
    opened = drilling(diameter_mm=across, pilot_mm=share * across, **law).torque_nm
    assert pilot + opened == pytest.approx(solid)


@at_ease
@given(st.floats(0.05, 1), st.floats(5, 100))
def test_power_is_force_times_cutting_speed(depth, diameter):
    cut = turning(
        depth_mm=depth,
        feed_mm=0.1,
        diameter_mm=diameter,
        speed_rpm=300,
        specific_force_1_n_mm2=1500,
        chip_exponent=0.22,
    )
    metres = cutting_speed_m_min(300, diameter_mm=diameter)
    assert cut.power_w == pytest.approx(cut.force_n * metres / 60)
    assert cut.torque_with_doubt.interval == pytest.approx((0.75 * cut.torque_nm, 1.25 * cut.torque_nm))


@at_ease
@given(st.integers(1, 20))
def test_more_passes_ease_each_pass_of_a_thread(passes):
    thread = {
        "pitch_mm": Fraction(3, 2),
        "thread_depth_mm": 0.92,
        "diameter_mm": 20,
        "included_angle_deg": 60,
        "speed_rpm": 100,
        "specific_force_1_n_mm2": 1500,
        "chip_exponent": 0.22,
    }
    assert (
        threading(thread_passes=passes + 1, **thread).torque_nm
        < threading(thread_passes=passes, **thread).torque_nm
    )


def test_a_slot_takes_more_than_a_shallow_side_cut_and_a_cut_wider_than_the_cutter_is_refused():
    cutter = {
        "depth_mm": 2,
        "feed_per_tooth_mm": 0.03,
        "cutter_teeth": 2,
        "diameter_mm": 8,
        "speed_rpm": 1000,
        "specific_force_1_n_mm2": 1500,
        "chip_exponent": 0.22,
    }
    assert milling(width_mm=8, **cutter).torque_nm > milling(width_mm=1, **cutter).torque_nm
    with pytest.raises(RangeError, match="more than the cutter"):
        milling(width_mm=9, **cutter)
    with pytest.raises(RangeError, match="pilot"):
        drilling(
            diameter_mm=8,
            pilot_mm=8,
            feed_mm=0.1,
            speed_rpm=500,
            specific_force_1_n_mm2=1500,
            chip_exponent=0.22,
        )


@at_ease
@given(st.floats(1, 500), st.floats(1, 400))
def test_spindle_speed_and_cutting_speed_turn_over(metres, diameter):
    speed = speed_for_cutting_rpm(metres, diameter_mm=diameter)
    assert cutting_speed_m_min(speed, diameter_mm=diameter) == pytest.approx(metres)


def test_a_keen_tool_asks_less_and_a_worn_one_more():
    assert tool_force_factor(0, wear_factor=1.0) == 1
    assert tool_force_factor(20, wear_factor=1.0) == pytest.approx(0.8)
    assert tool_force_factor(0, wear_factor=1.3) == pytest.approx(1.3)


def test_every_material_of_the_table_has_a_force_and_a_missing_exponent_stays_missing():
    without = [name for name in materials() if np.isnan(cutting_material(name).chip_exponent)]
    assert without == ["hardened steel"]
    assert [cutting_material(name).material for name in materials()] == list(materials())
    assert all(500 < cutting_material(name).specific_force_1_n_mm2 < 5000 for name in materials())
    hard = cutting_material("hardened steel")
    missing = specific_force_n_mm2(
        0.1,
        specific_force_1_n_mm2=hard.specific_force_1_n_mm2,
        chip_exponent=hard.chip_exponent,
        force_factor=1,
    )
    assert np.isnan(missing)


@pytest.mark.parametrize(
    "row", tables.read("cutting_speeds"), ids=lambda row: f"{row['material']}-{row['tool']}"
)
def test_cutting_speeds_rise_from_low_over_typical_to_high(row):
    for share in tables.read("cutting_operations"):
        found = cutting_speed(row["material"], tool=row["tool"], operation=share["operation"])
        assert 0 < found.low_m_min <= found.typical_m_min <= found.high_m_min
        assert found.source


def test_a_built_up_edge_spoils_the_least_of_a_finish_below_50_m_min_and_not_from_there():
    found = expected_roughness(1.6, cutting_speed_m_min=[49.9, 50.0, np.nan])
    np.testing.assert_allclose(found.least_roughness_um, [1.5 * 1.6, 1.6, np.nan])
    np.testing.assert_allclose(found.most_roughness_um, [3 * 1.6, 3 * 1.6, np.nan])


def test_names_that_no_table_knows_are_answered_with_those_it_knows():
    with pytest.raises(RangeError, match=r"^The table knows no 'unobtainium'. It knows: .*mild steel"):
        cutting_material("unobtainium")
    for ask in (cutting_material, cutting_speed):
        with pytest.raises(RangeError, match=f"'{'x' * 40}'. It knows"):
            ask("x" * 41)
    with pytest.raises(RangeError, match=r"^The table knows no material 'cheese'. It knows: .*brass"):
        cutting_speed("cheese")
    with pytest.raises(RangeError, match=r"knows no tool for mild steel 'flint'. It knows: .*carbide"):
        cutting_speed("mild steel", tool="flint")
    with pytest.raises(RangeError, match=r"knows no operation 'gnawing'. It knows: .*drilling"):
        cutting_speed("mild steel", operation="gnawing")
