"""Depth, infeed, virtual pitch diameter and tap drill against printed figures and against bare geometry."""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from machinelab.errors import RangeError
from machinelab.leadscrew.lead_accuracy import pitch_diameter_equivalent_mm
from machinelab.threads.engagement import engagement_share, normal_engagement_mm, tap_drill_mm
from machinelab.threads.flanks import (
    allowed_lead_error_ppm,
    flank_effect_mm,
    lead_effect_mm,
    virtual_nut_pitch_diameter_mm,
    virtual_pitch_diameter_mm,
)
from machinelab.threads.infeed import (
    compound_travel_mm,
    full_form_depth_mm,
    minor_diameter_mm,
    start_shift_mm,
    thread_depth_mm,
)
from machinelab.threads.infeed_schedule import (
    equal_area_depths_mm,
    groove_section_mm2,
    infeed_schedule,
    passes_for_first_cut,
    passes_for_force,
)

DATA = Path(__file__).parent / "data" / "thread_measuring.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
SHARP_HEIGHT = np.sqrt(3) / 2
# Metric, Whitworth, trapezoidal, Acme: included angle, and blank less pitch diameter for a pitch of 1.
BASIC = [(60, 0.6495191), (55, 0.6403274), (30, 0.5), (29, 0.5)]


def test_depth_of_one_thread_with_four_tips():
    """Sharp, flats of an eighth and a quarter of the pitch, radius of a sixth of the height; ISO 68-1."""
    tips = [{}, {"tip_flat_mm": 1 / 8}, {"tip_flat_mm": 1 / 4}, {"tip_radius_mm": SHARP_HEIGHT / 6}]
    found = [thread_depth_mm(10, 10 - 0.75 * SHARP_HEIGHT, pitch_mm=1, **tip) for tip in tips]
    assert found == pytest.approx(ROWS["A-depth"]["expected"], abs=1e-6)


@pytest.mark.parametrize(("angle", "less"), BASIC)
@pytest.mark.parametrize("tip", [{}, {"tip_flat_mm": 0.1}, {"tip_radius_mm": 0.08}], ids=str)
def test_at_that_depth_the_groove_is_half_a_pitch_wide_at_the_pitch_line(angle, less, tip):
    """By the tool's outline: at the pitch diameter groove and ridge are equally wide, in every form."""
    depth = thread_depth_mm(10, 10 - less, pitch_mm=1, included_angle_deg=angle, **tip)
    half = np.radians(angle / 2)
    above_tip = depth - less / 2
    flat, radius = tip.get("tip_flat_mm", 0), tip.get("tip_radius_mm", 0)
    wide = flat + 2 * np.tan(half) * (above_tip + radius * (1 / np.sin(half) - 1))
    assert wide == pytest.approx(0.5, abs=1e-7)


def test_a_thicker_blank_is_cut_deeper_by_half_of_what_it_is_thicker():
    deeper = thread_depth_mm(10.1, 9.026, pitch_mm=1.5) - thread_depth_mm(10.0, 9.026, pitch_mm=1.5)
    assert deeper == pytest.approx(0.05)


def test_a_blunt_tip_is_refused_and_a_core_cannot_vanish():
    with pytest.raises(RangeError, match="too blunt"):
        thread_depth_mm(6, 5.35, pitch_mm=1, tip_radius_mm=0.9)
    with pytest.raises(RangeError, match="thick"):
        minor_diameter_mm(2, 1.1)
    with pytest.raises(RangeError, match="nothing is left"):
        full_form_depth_mm(8, 8.2)


def test_a_full_form_tool_goes_to_the_root_of_the_standard():
    """ISO 68-1 with its root rounding: d3 = d - 1.2268693 P, depth 0.6134 P."""
    assert full_form_depth_mm(10, 10 - 1.2268693) == pytest.approx(0.6134, abs=5e-5)
    assert minor_diameter_mm(10, 0.61343465) == pytest.approx(10 - 1.2268693, abs=1e-6)


def test_equal_areas_with_a_sharp_tool_and_with_a_flat_one():
    sharp, flat = ROWS["A-infeed"], ROWS["A-infeed-flat"]
    found = equal_area_depths_mm(sharp["inputs"]["h"], infeed_passes=8)
    assert found == pytest.approx(sharp["expected"], abs=5.1e-5)
    found = equal_area_depths_mm(flat["inputs"]["h"], infeed_passes=8, tip_flat_mm=flat["inputs"]["flat"])
    assert found == pytest.approx(flat["expected"], abs=5.1e-5)


def test_equal_areas_for_a_thread_of_12_mm():
    row = ROWS["D20"]
    depth = row["inputs"]["P"] * row["inputs"]["factor"]
    assert equal_area_depths_mm(depth, infeed_passes=6) == pytest.approx(row["expected"], abs=0.001)


@pytest.mark.parametrize("tip", [{}, {"tip_flat_mm": 0.1}, {"tip_radius_mm": 0.15}], ids=str)
@pytest.mark.parametrize("angle", [60, 55, 30])
@pytest.mark.parametrize("depth", [0.02, 0.3, 0.8])
def test_the_section_is_the_tools_width_added_up_over_its_depth(tip, angle, depth):
    half, radius, flat = np.radians(angle / 2), tip.get("tip_radius_mm", 0), tip.get("tip_flat_mm", 0)

    def width(at):
        if at < radius * (1 - np.sin(half)):
            return flat + 2 * np.sqrt(2 * radius * at - at**2)
        return flat + 2 * np.tan(half) * (at + radius * (1 / np.sin(half) - 1))

    corner = min(radius * (1 - np.sin(half)), depth)
    summed = quad(width, 0, corner)[0] + quad(width, corner, depth)[0]
    found = groove_section_mm2(depth, included_angle_deg=angle, **tip)
    assert found == pytest.approx(summed, rel=1e-7)


@pytest.mark.parametrize("tip", [{}, {"tip_flat_mm": 0.2}, {"tip_radius_mm": 0.2}], ids=str)
def test_every_cut_takes_the_same_until_the_floor_and_none_is_finer_after(tip):
    plan = infeed_schedule(0.92, infeed_passes=16, last_cut_mm=0.035, spring_passes=2, **tip)
    assert plan.depths_mm[-1] == pytest.approx(0.92)
    assert min(plan.cuts_mm) >= 0.035 - 1e-12
    assert sum(plan.cuts_mm) == pytest.approx(0.92)
    assert sum(plan.sections_mm2) == pytest.approx(groove_section_mm2(0.92, **tip))
    assert plan.sections_mm2[:4] == pytest.approx([plan.sections_mm2[0]] * 4)
    assert plan.thread_passes == len(plan.cuts_mm) + 2
    free = infeed_schedule(0.92, infeed_passes=16, **tip)
    assert free.sections_mm2 == pytest.approx([groove_section_mm2(0.92, **tip) / 16] * 16)


def test_a_floor_above_the_whole_depth_is_refused_and_a_large_one_leaves_one_cut():
    with pytest.raises(RangeError, match="finest cut"):
        infeed_schedule(0.5, infeed_passes=4, last_cut_mm=0.6)
    assert infeed_schedule(0.5, infeed_passes=4, last_cut_mm=0.4).cuts_mm == pytest.approx([0.5])


def test_cuts_from_the_first_one_and_from_the_force():
    """A sharp tool: the square of depth over first cut, the next whole number up; a whole square stays."""
    assert passes_for_first_cut(0.92, first_cut_mm=0.25) == 14
    assert passes_for_first_cut(0.9, first_cut_mm=0.3) == 9
    assert passes_for_first_cut(0.2, first_cut_mm=0.5) == 1
    section = groove_section_mm2(0.92)
    cuts = passes_for_force(section, specific_force_n_mm2=2000, force_n=150)
    assert section * 2000 / cuts <= 150 < section * 2000 / (cuts - 1)


def test_travel_of_the_compound_slide():
    found = [compound_travel_mm(1, compound_angle_deg=angle) for angle in (29.5, 30)]
    assert found == pytest.approx(ROWS["A-compound"]["expected"], abs=7e-6)
    assert start_shift_mm(1, compound_angle_deg=30) == pytest.approx(1 / np.sqrt(3))
    with pytest.raises(RangeError, match="trailing flank"):
        compound_travel_mm(1, compound_angle_deg=29.5, included_angle_deg=30)


def test_what_lead_costs_in_pitch_diameter():
    found = [lead_effect_mm(1, angle) for angle in (60, 55, 30)]
    assert found == pytest.approx(ROWS["A-leadPD"]["expected"], abs=6e-6)
    row = ROWS["A-leadPD-26tpi"]
    departures = (1 - 25.4 / 26) * np.array(row["inputs"]["le"])
    assert lead_effect_mm(departures) == pytest.approx(row["expected"], abs=1e-4)
    a56 = ROWS["A56"]
    departure = a56["inputs"]["ppm"] / 1e6 * a56["inputs"]["Le_mm"]
    assert 1000 * lead_effect_mm(departure) == pytest.approx(a56["expected"], abs=1e-4)


def test_the_leadscrews_page_and_the_thread_tell_the_same():
    assert lead_effect_mm(133e-6 * 18, 55) == pytest.approx(pitch_diameter_equivalent_mm(133, 18, 55))


def test_allowed_lead_errors_use_up_a_fifth_of_the_tolerance():
    """M6 over 6 mm, M10x1.5 over 10, M20x2.5 over 20, with the 6g tolerances of ISO 965-1's table."""
    tolerances, lengths = np.array([112, 132, 170]), np.array([6, 10, 20])
    found = allowed_lead_error_ppm(tolerances, tolerance_share=0.2, engagement_mm=lengths)
    assert np.round(found).tolist() == [2155, 1524, 981]
    assert 1000 * lead_effect_mm(found / 1e6 * lengths) == pytest.approx(tolerances / 5)


def test_flank_errors_cost_what_textbooks_print():
    """0.073 um a minute and millimetre of pitch, times 3 at the crest and 2 at the root, for each flank."""
    for reach, times in ((3 / 8, 3), (1 / 4, 2)):
        found = flank_effect_mm(
            1 / 60, 1 / 60, leading_reach_mm=reach * SHARP_HEIGHT, following_reach_mm=reach * SHARP_HEIGHT
        )
        assert 1000 * found == pytest.approx(2 * 0.073 * times, rel=5e-3)


def test_a_screw_feels_thicker_and_a_nut_tighter_whatever_the_sign():
    for departure in (0.01, -0.01):
        effect = lead_effect_mm(departure)
        assert virtual_pitch_diameter_mm(9.0, lead_effect_mm=effect) == pytest.approx(9.0173, abs=1e-4)
        assert virtual_nut_pitch_diameter_mm(9.0, lead_effect_mm=effect) == pytest.approx(8.9827, abs=1e-4)


def test_a_perfect_nut_of_the_virtual_pitch_diameter_just_goes_over_a_stretched_screw():
    """By the grooves themselves: no ridge of the nut enters a flank, and one a hair smaller does."""
    pitch, error, turns, tan = 1.0, 0.004, 6, np.tan(np.radians(30))
    at_screw = np.arange(turns) * (pitch + error)
    at_nut = np.arange(turns) * pitch + (turns - 1) * error / 2

    def least_air(nut_larger_mm):
        # Room on either side of a ridge in its groove, by how much the nut's pitch diameter is larger.
        return (nut_larger_mm / 2 * tan - np.abs(at_nut - at_screw)).min()

    larger = lead_effect_mm((turns - 1) * error)
    assert least_air(larger) == pytest.approx(0, abs=1e-12)
    assert least_air(larger - 1e-6) < 0


def test_the_normal_group_of_engagement():
    expected = ROWS["A-N"]["expected"]
    found = normal_engagement_mm(ROWS["A-N"]["inputs"]["P"], step_from_mm=ROWS["A-N"]["inputs"]["d"])
    assert (found.shortest_mm, found.longest_mm) == pytest.approx(expected[:2], abs=0.006)
    assert round(found.shortest_mm) == expected[2]
    assert found.longest_mm < expected[3]


def test_usual_tap_drills():
    """Workshop rule: diameter less pitch; it leaves 77 % of three quarters of the triangle."""
    for diameter, pitch in ((6, 1), (8, 1.25), (10, 1.5), (12, 1.75)):
        height = 0.75 * SHARP_HEIGHT * pitch
        share = engagement_share(diameter, thread_height_mm=height, hole_mm=diameter - pitch)
        assert share == pytest.approx(0.77, abs=0.001)
        drill = tap_drill_mm(diameter, thread_height_mm=height, engagement_share=share)
        assert drill == pytest.approx(diameter - pitch)
