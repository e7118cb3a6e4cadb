"""Page 14: slender bars held in five ways, the chuck pushed, a bar turned, a tail that whips."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from simulate.slender_readings import SlenderTruth, diameter_lines, push_lines

from machinelab.errors import MachinelabError, RangeError
from machinelab.work.holding import HOLDINGS
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.slender import BarError
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.slender import NOT_PUSHED, NOT_TURNED, SlenderPage
from machinelab.workbook.pages.slender_readings import USUAL_WORK
from machinelab.workbook.panels.slender import tail_panel, view_tail
from machinelab.workbook.slender_tests import judge_push, judge_turned
from machinelab.workbook.slender_work import Grip, every_way, view_of

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
TRUTH = SlenderTruth()


@pytest.fixture
def page():
    return SlenderPage(load(DEMO))


def rows(text):
    return np.array([[float(figure) for figure in line.split()] for line in text.splitlines()])


def test_the_demos_chuck_is_found_as_it_was_put_in(page):
    turning, spring = page.pushed.found.chuck_turning_nmm_rad, page.pushed.found.chuck_spring_n_mm
    assert turning.interval[0] <= TRUTH.turning_nmm_rad <= turning.interval[1]
    assert spring.interval[0] <= TRUTH.spring_n_mm <= spring.interval[1]
    assert "not stiff" in page.pushed.headline
    assert isinstance(page.push_picture, Picture)


def test_the_demos_bar_breaks_its_limit_and_is_to_be_held_by_a_centre(page):
    assert page.verdict.word == "NOT MET"
    assert page.turned.agreement().agrees
    low, high = page.turned.force_n.interval
    assert low <= TRUTH.force_n <= high
    assert "Hold it by chuck and centre" in page.decision.text
    line = page.record_line()
    assert (line["unit"], line["upper"]) == ("mm", 0.02)
    assert "Held in every way" in page.post().text()


def test_another_chuck_and_another_bar_change_picture_words_and_verdict(page):
    bench, turned = page.push_bench, page.turned_bench
    before = bench.picture.value, turned.picture.value
    soft = replace(TRUTH, turning_nmm_rad=2e7)
    page.push_entry.box.value = push_lines(soft, 5)
    assert page.grip.turning_nmm_rad == pytest.approx(2e7, rel=0.2)
    page.turned_sheet.rows["length_mm"].type_in("60 mm")
    page.turned_entry.box.value = diameter_lines(replace(TRUTH, turning_nmm_rad=1e9), 6, length_mm=60)
    assert page.verdict.word == "MET"
    assert before[0] != bench.picture.value
    assert before[1] != turned.picture.value


def test_the_dial_and_the_pushed_bar_count(page):
    before = page.pushed.found.chuck_turning_nmm_rad
    page.division.type_in("0.01 mm")
    assert page.pushed.found.chuck_turning_nmm_rad.expanded_uncertainty > 2 * before.expanded_uncertainty
    page.pushed_bar.type_in("40 mm")
    assert page.pushed.found.chuck_turning_nmm_rad.value < before.value


@pytest.mark.parametrize("spread", [1.0, 3.0], ids=["a force as reckoned", "three times the force"])
def test_a_force_that_the_cut_does_not_explain_is_told_over_many_seeds(spread):
    grip = Grip(TRUTH.turning_nmm_rad, TRUTH.spring_n_mm)
    work = replace(USUAL_WORK, grip=grip)
    truth = replace(TRUTH, force_n=spread * work.force_n)
    told = [
        judge_turned(rows(diameter_lines(truth, seed)), work=work, uncertainty_mm=0.002).agreement().agrees
        for seed in range(40)
    ]
    assert np.mean(told) == (1.0 if spread == 1 else 0.0)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("40 50", "has 2 figures"),
        ("40 50 0,01", "comma"),
        ("40 50 0.01\n42 50 0.01\n44 50 0.01", "differ by a third"),
        ("40 0 0.01\n120 50 0.01\n120 60 0.01", "pushes_n"),
    ],
)
def test_a_slip_in_a_push_is_told_beside_the_box(page, typed, words):
    bench = page.push_bench
    page.push_entry.box.value = typed
    assert words in bench.notice.value + page.push_entry.notice.value


def test_a_bar_without_its_sheet_and_a_steady_rest_without_its_place_are_asked_for(page):
    page.turned_sheet.rows["holding"].choose("chuck and steady rest")
    assert "where the steady rest stood" in page.turned_sheet.notice.value
    assert page.turned is None
    with pytest.raises(RangeError, match="Fill in the sheet"):
        page.analyse_turned(np.array([[1.0, 2.0]]))
    page.turned_sheet.rows["steady_mm"].type_in("60 mm")
    assert page.turned is not None


def test_other_machines_get_kind_words():
    for machine in (load(METRIC), empty()):
        page = SlenderPage(machine)
        assert page.push_picture is NOT_PUSHED
        assert page.verdict is NOT_TURNED
        assert page.record_line() is None
        assert page.post() is None
        assert "Push the chuck first" in page.decision.text
        for picture in (page.picture, page.tail_picture):
            assert isinstance(picture, Picture)
        with pytest.raises(MachinelabError):
            page.analyse_push(None)
    assert "does not say" in str(SlenderPage(empty()).settings)
    assert len(SlenderPage(load(METRIC)).settings) == 5


def test_the_steady_rests_setting_is_told_and_follows_the_boxes(page):
    told = page.steady_told.text
    assert "8.00 mm from the axis" in told
    page.setting_sheet.rows["roller_mm"].type_in("19 mm")
    assert "17.50 mm from the axis" in page.steady_told.text
    page.setting_sheet.rows["offset_mm"].type_in("0.1 mm")
    assert "a taper of 0.080 mm" in page.steady_told.text
    page.setting_sheet.rows["steady_mm"].type_in("125 mm")
    assert "a taper of 0.160 mm" in page.steady_told.text
    page.setting_sheet.rows["cut_mm"].type_in("50 mm")
    assert "a taper of 0.080 mm" in page.steady_told.text


def answers(view):
    return (view.worst_mm, view.longest_mm, view.deepest_mm, view.critical_rpm, view.best_steady_mm)


@pytest.mark.parametrize(
    "name", ["diameter_mm", "length_mm", "steady_mm", "steady_n_mm", "depth_mm", "feed_mm", "typed_force_n"]
)
def test_each_control_changes_the_answer_from_end_to_end_and_the_picture_follows(page, name):
    panel = page.panel
    panel.controls["holding"].choose("chuck, steady rest and centre")
    control, seen = panel.controls[name], []
    for position in (0, min(6, len(control.sweep) - 1)):
        control.slide_to(position)
        seen.append((answers(panel.result), panel.picture.value))
    assert seen[0][0] != seen[1][0]
    assert seen[0][1] != seen[1][1]


@pytest.mark.parametrize(
    "name", ["diameter_mm", "length_mm", "steady_mm", "steady_n_mm", "depth_mm", "feed_mm", "allowed_mm"]
)
def test_both_ends_of_each_control_give_a_picture_or_words(page, name):
    panel = page.panel
    for holding in HOLDINGS:
        panel.controls["holding"].choose(holding)
        for position in (0, len(panel.controls[name].sweep) - 1):
            panel.controls[name].slide_to(position)
            assert panel.result is not None
            assert "nan" not in panel.meaning.value.lower()


def test_holding_material_and_limit_change_the_answer(page):
    panel = page.panel
    alone = answers(panel.result)
    panel.controls["material"].choose("aluminium")
    assert answers(panel.result)[0] != alone[0]
    panel.controls["holding"].choose("between centres")
    assert answers(panel.result)[0] < alone[0] / 2
    before = panel.result.longest_mm
    panel.controls["allowed_mm"].type_in("0.1 mm")
    assert panel.result.longest_mm > 1.3 * before


def test_a_steady_rest_off_the_bar_is_told_and_the_last_picture_stays(page):
    panel = page.panel
    panel.controls["holding"].choose("chuck and steady rest")
    before = panel.picture.value
    panel.controls["steady_mm"].type_in("500 mm")
    assert "between the ends" in panel.notice.value
    assert panel.picture.value == before


def test_the_best_place_of_the_steady_rest_is_better_than_its_neighbours():
    work = replace(USUAL_WORK, holding="chuck, steady rest and centre", length_mm=300.0)
    best = work.best_steady_mm
    worst = [view_of(replace(work, steady_mm=best + step), None).worst_mm for step in (-45, 0, 45)]
    assert worst[1] < min(worst[0], worst[2])


def test_more_support_never_bends_more():
    by_way = {view.work.holding: view.worst_mm for view in every_way(USUAL_WORK, None)}
    assert by_way["chuck only"] > by_way["chuck and steady rest"] > by_way["chuck, steady rest and centre"]
    assert by_way["chuck only"] > by_way["chuck and centre"] > by_way["chuck, steady rest and centre"]


def test_each_control_of_the_tail_changes_the_answer_at_both_ends():
    panel = tail_panel(bar_mm=12, speed_rpm=1000, tail_mm=400, bore_mm=20)
    for name, control in panel.controls.items():
        seen = []
        for position in (0, len(control.sweep) - 1):
            control.slide_to(position)
            seen.append((panel.result.share, panel.picture.value))
        assert seen[0] != seen[1], name
    here = view_tail(tail_mm=600, bar_mm=12, speed_rpm=1200, bore_mm=10)
    assert "too fast" in here.headline
    assert "does not go through" in here.sentence
    assert "nothing but friction" in view_tail(tail_mm=600, bar_mm=12, speed_rpm=1500).sentence


def test_the_caution_about_the_tail_agrees_with_the_page():
    """The caution names a 12 mm steel bar standing out 0.6 m: first critical speed near 1430 rpm."""
    assert view_tail(tail_mm=600, bar_mm=12, speed_rpm=100).whip_rpm == pytest.approx(1430, abs=10)
    assert "whips" in str(SlenderPage(empty()).cautions)


def test_a_warm_bar_is_told_to_push_on_its_centre(page):
    """11.5e-6 x 300 mm x 30 K is 0.10 mm: steel, computed."""
    page.turned_sheet.rows["length_mm"].type_in("300 mm")
    assert "grows 0.10" in page.decision.text
    page.turned_sheet.rows["material"].choose("aluminium")
    assert "grows 0.207 mm" in page.decision.text


def test_a_stiff_chuck_is_not_blamed():
    stiff = replace(TRUTH, turning_nmm_rad=1e12, spring_n_mm=1e9)
    found = judge_push(rows(push_lines(stiff, 3)), bar_mm=25.0, reading_sd_mm=0.0006)
    assert found.times < 1.15


@pytest.mark.parametrize("holding", HOLDINGS)
def test_the_picture_is_drawn_for_every_holding_with_words_for_those_who_cannot_see_it(holding):
    picture = BarError.draw(view_of(replace(USUAL_WORK, holding=holding), 1400.0))
    assert "the diameter comes out" in picture.alt
