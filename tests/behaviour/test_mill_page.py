"""Page 15: what the head drives, which way to tap it, which spindle the meter shows, how long it runs on."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from simulate.mill_readings import HeadTruth, run_lines, sweep_lines

from machinelab.errors import MachinelabError
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.mill import HeadLean
from machinelab.workbook.machine import empty, load
from machinelab.workbook.mill_cut import mill_cut, mill_head
from machinelab.workbook.mill_tests import judge_tram, side_of
from machinelab.workbook.pages.mill import NOT_COUNTED, NOT_SWEPT, NOT_TIMED, MillPage
from machinelab.workbook.pages.page import WAITING
from machinelab.workbook.panels.mill import USUAL_CUT

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
TRUTH = HeadTruth()


@pytest.fixture
def page():
    return MillPage(load(DEMO))


@pytest.fixture
def plain_head(tmp_path):
    """A machine of which only the head's highest speed is known."""
    (tmp_path / "machine.toml").write_text('[mill_head]\nhighest_speed = "1800 rpm"\n', encoding="utf-8")
    return MillPage(load(tmp_path))


def rows(text):
    return np.array([[float(figure) for figure in line.split()] for line in text.splitlines()])


def swept(truth, seed):
    return judge_tram(
        rows(sweep_lines(truth, seed)),
        radius_mm=90,
        reading_sd_mm=0.0006,
        limit_ppm=100.0,
        tap_from_pivot_mm=250,
    )


def test_the_demos_head_leans_as_it_was_put_in_and_is_sent_the_right_way(page):
    found = page.sweep.found
    assert found.lean_right_mm_m.interval[0] <= TRUTH.lean_right_mm_m <= found.lean_right_mm_m.interval[1]
    assert found.lean_back_mm_m.interval[0] <= TRUTH.lean_back_mm_m <= found.lean_back_mm_m.interval[1]
    assert page.verdict().word == "NOT MET"
    assert "its top to the front right: tap it to the back left" in page.sweep.headline
    line = page.record_line()
    assert (line["unit"], line["upper"]) == ("ppm", 100.0)
    assert "top leans to the" in line["conditions"]


@pytest.mark.parametrize(
    ("right", "back", "side", "other"),
    [
        (0.3, 0.0, "right", "left"),
        (-0.3, 0.0, "left", "right"),
        (0.0, 0.3, "back", "front"),
        (0.0, -0.3, "front", "back"),
        (-0.3, 0.3, "back left", "front right"),
    ],
)
def test_the_way_to_tap_is_away_from_where_the_table_stands_nearer(right, back, side, other):
    """A spindle whose top leans to the right sweeps a plane that dips there, and the dial reads more."""
    found = swept(HeadTruth(lean_right_mm_m=right, lean_back_mm_m=back), 4)
    assert (found.side, found.other_side) == (side, other)
    assert f"tap its top to the {other}" in found.cure


def test_tapping_as_told_takes_the_lean_away():
    """Half of the swing at the dial, and the same lean at the place of the tap."""
    found = swept(HeadTruth(lean_right_mm_m=0.3, lean_back_mm_m=0.0, uneven_mm=0.0, division_mm=1e-6), 1)
    assert found.falls_by_mm == pytest.approx(0.3 * 0.09, abs=2e-4)
    assert found.falls_by_mm == pytest.approx(found.found.total_mm / 2, abs=6e-4)
    assert found.tap_mm == pytest.approx(0.3 * 0.25, abs=1e-3)


def test_the_sides_are_named_from_right_over_back():
    assert [side_of(angle) for angle in (0, 90, 180, 270, 359, 46)] == [
        *("right", "back", "left", "front", "right", "back right")
    ]


def test_a_square_head_is_left_alone_and_a_leaning_one_is_not_over_many_seeds():
    square = HeadTruth(lean_right_mm_m=0.0, lean_back_mm_m=0.0)
    assert np.mean([swept(square, seed).verdict().word == "MET" for seed in range(100)]) >= 0.95
    leaning = HeadTruth(lean_right_mm_m=0.25, lean_back_mm_m=0.0)
    assert np.mean([swept(leaning, seed).side == "right" for seed in range(100)]) >= 0.95


def test_a_head_within_the_dials_doubt_is_not_tapped():
    found = swept(HeadTruth(lean_right_mm_m=0.001, lean_back_mm_m=0.0, uneven_mm=0.0), 2)
    assert "No lean is proven" in found.headline
    assert "Leave the head" in found.cure
    assert isinstance(HeadLean.draw(found), Picture)


def test_another_sweep_changes_picture_words_and_verdict(page):
    bench = page.bench()
    before = bench.picture.value
    page.sweep_entry.box.value = sweep_lines(HeadTruth(lean_right_mm_m=-0.01, lean_back_mm_m=0.0), 7)
    assert bench.picture.value != before
    assert page.verdict().word == "MET"


@pytest.mark.parametrize(
    ("box", "text"), [("radius", "45 mm"), ("pivot", "500 mm"), ("cutter", "80 mm"), ("step_over", "60 mm")]
)
def test_each_box_of_the_sweep_changes_what_is_told(page, box, text):
    before = page.sweep.headline + page.sweep.cure + page.face().text
    page.boxes[box].type_in(text)
    assert page.sweep.headline + page.sweep.cure + page.face().text != before


def test_a_coarse_dial_proves_less(page):
    before = page.sweep.uncertainty_mm_m
    page.boxes["division"].type_in("0.05 mm")
    assert page.sweep.uncertainty_mm_m > 2 * before
    assert page.verdict().word == "NOT PROVEN"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("0 0.01 2", "has 3 figures"),
        ("0 0,01", "comma"),
        ("0 0.01\n90 0.02", "do not go round"),
        ("0 0\n10 0.01\n20 0.02\n30 0.01", "do not go round"),
    ],
)
def test_a_slip_in_the_sweep_is_told_beside_the_box(page, typed, words):
    bench = page.bench()
    page.sweep_entry.box.value = typed
    assert words in bench.notice.value + page.sweep_entry.notice.value


def test_the_meter_is_found_to_show_the_mill_spindle_or_not(page):
    assert "shows the mill spindle" in page.meter_told().text
    page.meter_sheet.rows["shown_rpm"].type_in("1124 rpm")
    assert "does not show the mill spindle" in page.meter_told().text
    assert "marks a turn are the lathe's" in page.decision().text
    page.meter_sheet.rows["turns"].type_in("281 turns")
    assert "does not show" not in page.meter_told().text
    page.meter_sheet.rows["time_s"].type_in("")
    assert page.meter_told() is NOT_COUNTED


def test_the_demos_run_down_is_found_and_cautions_for_a_box_that_waits_for_nothing(page):
    assert page.stop.stop_s == pytest.approx(TRUTH.stop_s, abs=max(page.stop.uncertainty_s, 0.1))
    assert "Caution: the control box waits for nothing" in page.stop_told().text
    assert page.stop_verdict().word == "RECORDED"
    assert "agrees" in page.clock_and_log().text
    assert isinstance(page.run_picture(), Picture)


@pytest.mark.parametrize(
    ("timer", "word", "words"),
    [("5 s", "NOT MET", "waits only 5 s"), ("20 s", "MET", "longer than that")],
)
def test_the_timer_is_judged_by_the_run_down(page, timer, word, words):
    page.boxes["timer"].type_in(timer)
    assert page.stop_verdict().word == word
    assert words in page.stop_told().text


def test_without_a_log_the_clock_will_do(page):
    page.run = None
    assert "by the clock" in page.stop.told
    page.run_sheet.rows["stop_s"].type_in("12 s")
    assert page.stop.stop_s == 12
    page.run_sheet.rows["doubt_s"].type_in("1 s")
    assert page.stop.uncertainty_s == 1
    page.run_sheet.rows["from_rpm"].type_in("")
    assert page.stop_told() is NOT_TIMED


def test_another_log_changes_the_run_down(page):
    bench = page.run_bench()
    before = bench.picture.value
    page.run_entry.box.value = run_lines(HeadTruth(coulomb_rad_s2=6.0), 3)
    assert bench.picture.value != before
    assert page.stop.stop_s == pytest.approx(HeadTruth(coulomb_rad_s2=6.0).stop_s, rel=0.03)
    page.run_entry.box.value = "1 2\nno log at all"
    assert "alert" in bench.notice.value + page.run_entry.notice.value


def test_the_drive_is_reckoned_from_the_plate_and_the_measured_constants(page):
    """Within rated current the torque is at most the constant times current, gearing and 95 % of the belt."""
    head = page.head
    most = 0.27 * 4 * 90 / 48 * 0.95
    assert 0.8 * most < head.torque_nm(head.highest_rpm) < most
    assert head.torque_nm(head.lowest_rpm) < head.torque_nm(head.highest_rpm)


def test_a_head_of_which_little_is_known_says_what_is_missing(plain_head):
    assert "torque is not known" in plain_head.drive_told().text
    assert "cannot be said to drive" in plain_head.cut.headline
    assert plain_head.cut.drives is None
    assert isinstance(plain_head.picture(), Picture)
    assert "nan" not in plain_head.decision().text.lower()
    assert plain_head.verdict() is NOT_SWEPT
    assert plain_head.record_line() is None
    plain_head.run_sheet.rows["from_rpm"].type_in("1800 rpm")
    plain_head.run_sheet.rows["stop_s"].type_in("9 s")
    plain_head.run_sheet.rows["doubt_s"].type_in("0.5 s")
    assert plain_head.record_line()["unit"] == "s"
    assert "Say how long the standstill timer waits" in plain_head.stop_told().text


def test_machines_without_a_mill_head_get_kind_words():
    for machine in (load(METRIC), empty()):
        page = MillPage(machine)
        assert page.picture() is WAITING
        assert page.decision() is WAITING
        assert page.record_line() is None
        assert page.post() is None
        with pytest.raises(MachinelabError):
            page.analyse_sweep(None)
        with pytest.raises(MachinelabError):
            page.analyse_run(None)


def test_a_machine_without_a_meter_is_told_to_count(tmp_path):
    shutil.copy(DEMO / "machine.toml", tmp_path)
    file = tmp_path / "machine.toml"
    text = file.read_text(encoding="utf-8")
    start, end = text.index("[meter]"), text.index("[brake]")
    file.write_text(f"{text[:start]}[meter]\nfitted = false\n\n{text[end:]}", encoding="utf-8")
    assert "no meter" in MillPage(load(tmp_path)).wait_told().text
    assert "4.2 s" in MillPage(load(DEMO)).wait_told().text


@pytest.mark.parametrize("name", ["diameter_mm", "teeth", "width_mm", "depth_mm", "chip_mm", "runout_mm"])
def test_each_control_changes_the_answer_at_both_ends_and_the_picture_or_words_follow(page, name):
    panel = page.panel()
    # A cutter that is wide enough for every width of the sweep, and a cut narrow enough for every cutter.
    panel.controls["diameter_mm"].type_in("25 mm")
    panel.controls["width_mm"].type_in("2 mm")
    control, seen = panel.controls[name], []
    for position in (0, len(control.sweep) - 1):
        control.slide_to(position)
        assert panel.notice.value.count("alert") == 0
        seen.append((panel.picture.value, panel.meaning.value))
    assert seen[0] != seen[1]


def test_material_and_tool_change_speed_and_torque(page):
    panel = page.panel()
    here = panel.result.speed_rpm, panel.result.asked_nm
    panel.controls["material"].choose("aluminium")
    assert panel.result.speed_rpm > here[0]
    assert panel.result.asked_nm < here[1]
    panel.controls["material"].choose("mild steel")
    panel.controls["tool"].choose("carbide")
    assert panel.result.speed_rpm == page.head.highest_rpm
    assert "costs time only" in panel.result.speed_told


def test_a_cut_wider_than_the_cutter_is_told_and_the_last_picture_stays(page):
    panel = page.panel()
    before = panel.picture.value
    panel.controls["width_mm"].type_in("12 mm")
    assert "cannot be wider" in panel.notice.value
    assert panel.picture.value == before


def test_a_heavy_cut_is_not_driven_and_the_deepest_one_just_is(page):
    head = page.head
    heavy = mill_cut(head=head, **{**USUAL_CUT, "width_mm": 10.0, "depth_mm": 20.0, "chip_mm": 0.06})
    assert heavy.drives is False
    assert "does not drive" in heavy.headline
    just = mill_cut(
        head=head, **{**USUAL_CUT, "width_mm": 10.0, "depth_mm": heavy.deepest_mm, "chip_mm": 0.06}
    )
    assert just.asked_nm == pytest.approx(just.available_nm)


def test_a_narrow_cut_may_be_fed_faster_unless_the_cutter_runs_out():
    """Radial thinning: at a tenth of the diameter the chip is 0.6 of the feed (2 sqrt(u (1 - u)))."""
    head = mill_head(load(DEMO))
    narrow = mill_cut(head=head, **{**USUAL_CUT, "width_mm": 1.0, "runout_mm": 0.0})
    assert narrow.tooth_feed_mm == pytest.approx(0.02 / 0.6)
    assert "thins the chip" in narrow.chip_told
    bent = mill_cut(head=head, **{**USUAL_CUT, "width_mm": 1.0, "runout_mm": 0.1})
    assert "one tooth does all the work" in bent.chip_told
    assert bent.heaviest_mm == pytest.approx(2 * bent.tooth_feed_mm)


def test_a_chip_that_rubs_and_a_cutter_too_large_are_told():
    head = mill_head(load(DEMO))
    assert "rub instead" in mill_cut(head=head, **{**USUAL_CUT, "chip_mm": 0.003}).chip_told
    large = mill_cut(head=head, **{**USUAL_CUT, "material": "tool steel", "diameter_mm": 80.0})
    assert "cannot turn so slowly" in large.speed_told
    assert "too fast for this cutter" in large.headline


def test_the_table_of_speeds_tells_what_the_head_cannot_turn(page):
    table = page.speeds()
    assert "wants" in table.loc["3 mm", "aluminium"]
    assert "too fast" in table.loc["50 mm", "grey iron"]
    assert "64 mm" in page.largest_cutter().text
