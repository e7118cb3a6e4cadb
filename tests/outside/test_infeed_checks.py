"""Depth, infeed, virtual pitch diameter and tap drill against printed figures and against bare geometry."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import (
    EXAMPLE,
    MEMORY,
    NO_SOURCE,
    PRACTICE,
    STANDARD,
    Source,
    by_hand,
    run_here,
    source_of,
)
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

ROOM = "threads"
ROOT = Source(STANDARD, "ISO 68-1 with its root rounding: d3 = d - 1.2268693 P", MEMORY)
ADDED = run_here("the tool's width added up over its depth by scipy's quad", "error of the sum")

DATA = Path(__file__).parent / "data" / "thread_measuring.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
SHARP_HEIGHT = np.sqrt(3) / 2
# Metric, Whitworth, trapezoidal, Acme: included angle, and blank less pitch diameter for a pitch of 1.
BASIC = [(60, 0.6495191), (55, 0.6403274), (30, 0.5), (29, 0.5)]


def test_depth_of_one_thread_with_four_tips(compare):
    """Sharp, flats of an eighth and a quarter of the pitch, radius of a sixth of the height; ISO 68-1."""
    tips = [{}, {"tip_flat_mm": 1 / 8}, {"tip_flat_mm": 1 / 4}, {"tip_radius_mm": SHARP_HEIGHT / 6}]
    found = [thread_depth_mm(10, 10 - 0.75 * SHARP_HEIGHT, pitch_mm=1, **tip) for tip in tips]
    compare(
        "depth of a thread, pitch 1",
        found,
        ROWS["A-depth"]["expected"],
        source_of(ROWS["A-depth"]),
        abs=1e-6,
        unit="mm",
        each=("sharp tip", "flat of an eighth", "flat of a quarter", "rounded tip"),
    )


@pytest.mark.parametrize(("angle", "less"), BASIC)
@pytest.mark.parametrize("tip", [{}, {"tip_flat_mm": 0.1}, {"tip_radius_mm": 0.08}], ids=str)
def test_at_that_depth_the_groove_is_half_a_pitch_wide_at_the_pitch_line(compare, angle, less, tip):
    """By the tool's outline: at the pitch diameter groove and ridge are equally wide, in every form."""
    depth = thread_depth_mm(10, 10 - less, pitch_mm=1, included_angle_deg=angle, **tip)
    half = np.radians(angle / 2)
    above_tip = depth - less / 2
    flat, radius = tip.get("tip_flat_mm", 0), tip.get("tip_radius_mm", 0)
    wide = flat + 2 * np.tan(half) * (above_tip + radius * (1 / np.sin(half) - 1))
    compare(
        f"width of the groove at the pitch line, {angle} degrees",
        wide,
        0.5,
        run_here("outline of the tool", "constants printed to seven figures"),
        abs=1e-7,
        unit="pitch",
        table="groove and ridge equally wide",
    )


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


def test_a_full_form_tool_goes_to_the_root_of_the_standard(compare):
    """ISO 68-1 with its root rounding: d3 = d - 1.2268693 P, depth 0.6134 P."""
    compare(
        "depth of a full-form tool, pitch 1",
        full_form_depth_mm(10, 10 - 1.2268693),
        0.6134,
        ROOT,
        abs=5e-5,
        unit="mm",
    )
    compare(
        "minor diameter of a full-form tool, pitch 1",
        minor_diameter_mm(10, 0.61343465),
        10 - 1.2268693,
        ROOT,
        abs=1e-6,
        unit="mm",
        why="the depth put in is rounded",
    )


def test_equal_areas_with_a_sharp_tool_and_with_a_flat_one(compare):
    sharp, flat = ROWS["A-infeed"], ROWS["A-infeed-flat"]
    found = equal_area_depths_mm(sharp["inputs"]["h"], infeed_passes=8)
    compare(
        "infeed of equal areas, sharp tool",
        found,
        sharp["expected"],
        source_of(ROWS["A-infeed"]),
        abs=5.1e-5,
        unit="mm",
    )
    found = equal_area_depths_mm(flat["inputs"]["h"], infeed_passes=8, tip_flat_mm=flat["inputs"]["flat"])
    compare(
        "infeed of equal areas, flat tool",
        found,
        flat["expected"],
        source_of(ROWS["A-infeed-flat"]),
        abs=5.1e-5,
        unit="mm",
    )


def test_equal_areas_for_a_thread_of_12_mm(compare):
    row = ROWS["D20"]
    depth = row["inputs"]["P"] * row["inputs"]["factor"]
    compare(
        "infeed of equal areas, six cuts",
        equal_area_depths_mm(depth, infeed_passes=6),
        row["expected"],
        source_of(ROWS["D20"]),
        abs=0.001,
        unit="mm",
    )


@pytest.mark.parametrize("tip", [{}, {"tip_flat_mm": 0.1}, {"tip_radius_mm": 0.15}], ids=str)
@pytest.mark.parametrize("angle", [60, 55, 30])
@pytest.mark.parametrize("depth", [0.02, 0.3, 0.8])
def test_the_section_is_the_tools_width_added_up_over_its_depth(compare, tip, angle, depth):
    half, radius, flat = np.radians(angle / 2), tip.get("tip_radius_mm", 0), tip.get("tip_flat_mm", 0)

    def width(at):
        if at < radius * (1 - np.sin(half)):
            return flat + 2 * np.sqrt(2 * radius * at - at**2)
        return flat + 2 * np.tan(half) * (at + radius * (1 / np.sin(half) - 1))

    corner = min(radius * (1 - np.sin(half)), depth)
    summed = quad(width, 0, corner)[0] + quad(width, corner, depth)[0]
    found = groove_section_mm2(depth, included_angle_deg=angle, **tip)
    compare(
        f"section of the groove, {angle} degrees, {depth} mm deep",
        found,
        summed,
        ADDED,
        rel=1e-7,
        unit="mm2",
        table="section of the groove",
    )


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


def test_cuts_from_the_first_one_and_from_the_force(compare):
    """A sharp tool: the square of depth over first cut, the next whole number up; a whole square stays."""
    compare(
        "cuts for 0.92 mm with a first one of 0.25",
        passes_for_first_cut(0.92, first_cut_mm=0.25),
        14,
        by_hand("square of depth over first cut, rounded up"),
    )
    compare(
        "cuts for 0.9 mm with a first one of 0.3",
        passes_for_first_cut(0.9, first_cut_mm=0.3),
        9,
        by_hand("square of depth over first cut, rounded up"),
    )
    assert passes_for_first_cut(0.2, first_cut_mm=0.5) == 1
    section = groove_section_mm2(0.92)
    cuts = passes_for_force(section, specific_force_n_mm2=2000, force_n=150)
    assert section * 2000 / cuts <= 150 < section * 2000 / (cuts - 1)


def test_travel_of_the_compound_slide(compare):
    found = [compound_travel_mm(1, compound_angle_deg=angle) for angle in (29.5, 30)]
    compare(
        "travel of the compound for 1 mm of depth",
        found,
        ROWS["A-compound"]["expected"],
        source_of(ROWS["A-compound"]),
        abs=7e-6,
        unit="mm",
        each=("29.5 degrees", "30 degrees"),
    )
    compare(
        "shift of the start at 30 degrees",
        start_shift_mm(1, compound_angle_deg=30),
        1 / np.sqrt(3),
        by_hand("tan 30 degrees"),
        rel=1e-6,
        unit="mm",
    )
    with pytest.raises(RangeError, match="trailing flank"):
        compound_travel_mm(1, compound_angle_deg=29.5, included_angle_deg=30)


def test_what_lead_costs_in_pitch_diameter(compare):
    found = [lead_effect_mm(1, angle) for angle in (60, 55, 30)]
    compare(
        "pitch diameter for an error of lead of 1",
        found,
        ROWS["A-leadPD"]["expected"],
        source_of(ROWS["A-leadPD"]),
        abs=6e-6,
        each=("60 degrees", "55 degrees", "30 degrees"),
    )
    row = ROWS["A-leadPD-26tpi"]
    departures = (1 - 25.4 / 26) * np.array(row["inputs"]["le"])
    compare(
        "pitch diameter lost by a metric die on 26 tpi",
        lead_effect_mm(departures),
        row["expected"],
        source_of(row),
        abs=1e-4,
        unit="mm",
    )
    a56 = ROWS["A56"]
    departure = a56["inputs"]["ppm"] / 1e6 * a56["inputs"]["Le_mm"]
    compare(
        "pitch diameter lost by 133 ppm over 18 mm",
        1000 * lead_effect_mm(departure),
        a56["expected"],
        source_of(a56),
        abs=1e-4,
        unit="um",
    )


def test_the_leadscrews_page_and_the_thread_tell_the_same():
    assert lead_effect_mm(133e-6 * 18, 55) == pytest.approx(pitch_diameter_equivalent_mm(133, 18, 55))


def test_allowed_lead_errors_use_up_a_fifth_of_the_tolerance(compare):
    """M6 over 6 mm, M10x1.5 over 10, M20x2.5 over 20, with the 6g tolerances of ISO 965-1's table."""
    tolerances, lengths = np.array([112, 132, 170]), np.array([6, 10, 20])
    found = allowed_lead_error_ppm(tolerances, tolerance_share=0.2, engagement_mm=lengths)
    compare(
        "lead error that uses up a fifth of the tolerance",
        np.round(found).tolist(),
        [2155, 1524, 981],
        by_hand("a fifth of the 6g tolerances of ISO 965-1 over cot 30 degrees and the length"),
        unit="ppm",
    )
    assert 1000 * lead_effect_mm(found / 1e6 * lengths) == pytest.approx(tolerances / 5)


def test_flank_errors_cost_what_textbooks_print(compare):
    """0.073 um a minute and millimetre of pitch, times 3 at the crest and 2 at the root, for each flank."""
    for reach, times in ((3 / 8, 3), (1 / 4, 2)):
        found = flank_effect_mm(
            1 / 60, 1 / 60, leading_reach_mm=reach * SHARP_HEIGHT, following_reach_mm=reach * SHARP_HEIGHT
        )
        compare(
            f"pitch diameter for a minute of flank error, reach of {times}",
            1000 * found,
            2 * 0.073 * times,
            Source(
                EXAMPLE,
                "textbooks: 0.073 um a minute and millimetre of pitch",
                MEMORY,
                "the factor is printed to two figures",
            ),
            rel=5e-3,
            unit="um",
        )


def test_a_screw_feels_thicker_and_a_nut_tighter_whatever_the_sign(compare):
    for departure in (0.01, -0.01):
        effect = lead_effect_mm(departure)
        compare(
            "virtual pitch diameter of a screw with 0.01 mm of lead error",
            virtual_pitch_diameter_mm(9.0, lead_effect_mm=effect),
            9.0173,
            by_hand("9 + 0.01 cot 30 degrees"),
            abs=1e-4,
            unit="mm",
        )
        compare(
            "virtual pitch diameter of a nut with 0.01 mm of lead error",
            virtual_nut_pitch_diameter_mm(9.0, lead_effect_mm=effect),
            8.9827,
            by_hand("9 - 0.01 cot 30 degrees"),
            abs=1e-4,
            unit="mm",
        )


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


def test_the_normal_group_of_engagement(compare):
    expected = ROWS["A-N"]["expected"]
    found = normal_engagement_mm(ROWS["A-N"]["inputs"]["P"], step_from_mm=ROWS["A-N"]["inputs"]["d"])
    compare(
        "normal group of engagement",
        (found.shortest_mm, found.longest_mm),
        expected[:2],
        source_of(ROWS["A-N"]),
        abs=0.006,
        unit="mm",
        each=("shortest", "longest"),
    )
    assert round(found.shortest_mm) == expected[2]
    assert found.longest_mm < expected[3]


def test_usual_tap_drills(compare):
    """Workshop rule: diameter less pitch; it leaves 77 % of three quarters of the triangle."""
    for diameter, pitch in ((6, 1), (8, 1.25), (10, 1.5), (12, 1.75)):
        height = 0.75 * SHARP_HEIGHT * pitch
        share = engagement_share(diameter, thread_height_mm=height, hole_mm=diameter - pitch)
        compare(
            f"share of engagement of M{diameter} with a drill of diameter less pitch",
            share,
            0.77,
            Source(PRACTICE, "drill for a tap: diameter less pitch leaves 77 %", NO_SOURCE),
            abs=0.001,
        )
        drill = tap_drill_mm(diameter, thread_height_mm=height, engagement_share=share)
        assert drill == pytest.approx(diameter - pitch)
