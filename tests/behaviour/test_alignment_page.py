"""Page 12: a twisted bed told from a skewed headstock, signs that send the right way, run-out."""

from pathlib import Path

import numpy as np
import pytest

from machinelab.accuracy.alignment import in_the_chuck, level_across
from machinelab.workbook.alignment_results import collars_in_chuck, judge_alignment, judge_runout
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.alignment import NO_RUNOUT, NOT_TESTED, AlignmentPage
from machinelab.workbook.panels.alignment import view_collars

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
SEEDS = range(200)


@pytest.fixture
def page():
    return AlignmentPage(load(DEMO))


def test_the_demos_three_causes_are_told_and_cured_in_their_order(page):
    causes = page.alignment.causes
    assert causes.ask_next == ()
    assert causes.headstock_mm_m.interval[0] <= 0.05 <= causes.headstock_mm_m.interval[1]
    assert causes.bed_twist_mm_m2.interval[0] <= 0.16 <= causes.bed_twist_mm_m2.interval[1]
    assert causes.tailstock_mm.interval[0] <= 0.03 <= causes.tailstock_mm.interval[1]
    text = page.decision.text
    assert text.index("bed is twisted") < text.index("Swing the far end") < text.index("Set the tailstock")
    assert isinstance(page.alignment_picture, Picture)


def test_without_the_level_nobody_is_blamed_for_the_taper(page):
    page.level_sheet.rows["far_ppm"].type_in("")
    page.centres_sheet.rows["far_mm"].type_in("")
    assert page.alignment.causes.headstock_mm_m is None
    assert "lay a level" in page.decision.text
    assert "Swing" not in page.decision.text


def test_a_thicker_far_end_sends_the_axis_towards_the_tool_and_a_thinner_one_away(page):
    page.level_sheet.rows["far_ppm"].type_in("0.02 mm in 1000 mm")
    page.chuck_sheet.rows["far_mm"].type_in("28.480 mm")
    assert "towards the tool" in page.alignment.cures[0]
    page.chuck_sheet.rows["far_mm"].type_in("28.380 mm")
    assert "away from the tool" in page.alignment.cures[0]


def test_bending_is_taken_off_before_the_machine_is_blamed():
    stiff = collars_in_chuck(far_mm=25.03, near_mm=25, distance_mm=150, bar_mm=50, force_n=20, doubt_mm=0.004)
    thin = collars_in_chuck(far_mm=25.03, near_mm=25, distance_mm=150, bar_mm=25, force_n=20, doubt_mm=0.004)
    assert thin.bent_mm == pytest.approx(0.01139, abs=2e-5)
    assert thin.taper_mm < stiff.taper_mm < 0.03


def test_tests_that_contradict_each_other_are_told(page):
    one = in_the_chuck(0.03, 0.002, collar_distance_mm=150, centre_height_mm=100)
    other = in_the_chuck(-0.03, 0.002, collar_distance_mm=150, centre_height_mm=100)
    found = judge_alignment([one, other], foot_base_mm=120)
    assert "contradict" in found.details


@pytest.mark.parametrize("twisted", [True, False], ids=["twisted bed", "skewed headstock"])
def test_a_twisted_bed_and_a_skewed_headstock_are_told_apart_over_many_seeds(twisted):
    """Invented: 0.3 mm/m in each metre of twist, or a headstock 0.12 mm/m out; a micrometer good to 4 um."""
    twist, skew, height = (0.3, 0.0, 160.0) if twisted else (0.0, 0.12, 160.0)
    right, sure_of_wrong = 0, 0
    for seed in SEEDS:
        generator = np.random.default_rng(seed)
        taper = (2 * skew + 2 * height / 1000 * twist) * 0.15 + generator.normal(0, 0.0028)
        level = twist * 0.45 + generator.normal(0, 0.007)
        result = judge_alignment(
            [
                in_the_chuck(taper, 0.0028, collar_distance_mm=150, centre_height_mm=height),
                level_across(level, 0.007, station_distance_mm=450),
            ],
            foot_base_mm=120,
        )
        first = result.cures[0] if result.cures else ""
        right += ("twisted" in first) == twisted and bool(first)
        sure_of_wrong += bool(first) and ("twisted" in first) != twisted
    assert right / len(SEEDS) >= 0.9
    assert sure_of_wrong / len(SEEDS) <= 0.05


def test_typing_other_readings_moves_the_picture_and_the_advice(page):
    bench = page.bench
    before = bench.picture.value
    angles = np.arange(12) * 30
    page.runout_entry.box.value = "\n".join(f"{a} {0.05 * np.cos(np.radians(a - 240)):.4f}" for a in angles)
    assert bench.picture.value != before
    assert "Turn 240 degrees" in page.decision.text
    assert page.runout_verdict.word == "NOT MET"
    page.runout_entry.box.value = "0 0\n90 0.01\n180 0\n270 0.01"
    assert "would pass for it" in bench.notice.value
    assert page.runout_verdict is NO_RUNOUT


def test_three_corners_are_not_tapped_out():
    angles = np.arange(12) * 30.0
    noise = np.random.default_rng(5).normal(0, 0.0003, 12)
    lobed = 0.01 * np.cos(np.radians(3 * angles)) + 0.004 * np.cos(np.radians(angles)) + noise
    found = judge_runout(np.column_stack([angles, lobed]), reading_sd_mm=0.0006, limit_mm=0.015)
    assert "no tapping" in found.advice


def test_a_test_bar_tells_the_axis_without_its_own_runout(page):
    """An axis 0.1 mm/m away from the tool over 300 mm, read on a bar that runs out by 0.02 and 0.03 mm."""
    page.chuck_sheet.rows["far_mm"].type_in("")
    page.level_sheet.rows["far_ppm"].type_in("0.02 mm in 1000 mm")
    typed = {
        "near_mm": "0.020 mm",
        "near_turned_mm": "-0.020 mm",
        "far_mm": "0.000 mm",
        "far_turned_mm": "-0.060 mm",
        "distance_mm": "300 mm",
        "doubt_mm": "0.004 mm",
    }
    for name, text in typed.items():
        page.bar_sheet.rows[name].type_in(text)
    skew = page.alignment.causes.headstock_mm_m
    assert skew.value == pytest.approx(0.1, abs=1e-6)
    assert "towards the tool" in page.alignment.cures[0]


def test_a_face_is_half_as_hollow_as_the_dial_shows_and_may_not_stand_proud(page):
    """Derived: twice the dish on the far side; hollow up to 0.02 mm on 160 mm, never proud (excerpt)."""
    face = page.face_sheet.result
    assert face.hollow_mm == pytest.approx(0.014)
    assert face.allowed_mm == pytest.approx(0.0175)
    assert face.verdict().word == "MET"
    page.face_sheet.rows["far_side_mm"].type_in("-0.03 mm")
    assert page.face_sheet.result.verdict().word == "NOT MET"
    assert "proud" in page.decision.text
    page.face_sheet.rows["diameter_mm"].type_in("280 mm")
    assert "0.107 mm/m" in page.decision.text
    page.face_sheet.rows["doubt_mm"].type_in("0.1 mm")
    assert page.face_sheet.result.verdict().word == "NOT PROVEN"


def test_other_machines_get_kind_words():
    for machine in (load(METRIC), empty()):
        page = AlignmentPage(machine)
        assert page.alignment is None
        assert page.decision is NOT_TESTED
        assert page.record_line() is None
        assert isinstance(page.picture, Picture)


def test_the_record_takes_the_taper_and_else_the_runout(page):
    assert page.record_line()["unit"] == "ppm"
    page.chuck_sheet.rows["far_mm"].type_in("")
    assert page.record_line()["quantity"] == "run-out, total"


def test_each_control_of_the_panel_changes_the_answer():
    known = {"taper_share": 0.02 / 300, "foot_base_mm": 120.0}
    here = view_collars(bar_mm=25, distance_mm=150, force_n=20, **known)
    assert view_collars(bar_mm=40, distance_mm=150, force_n=20, **known).own_mm < here.own_mm
    assert view_collars(bar_mm=25, distance_mm=200, force_n=20, **known).own_mm > here.own_mm
    assert view_collars(bar_mm=25, distance_mm=150, force_n=40, **known).own_mm > here.own_mm
    assert view_collars(bar_mm=25, distance_mm=150, force_n=0, **known).own_mm == 0
