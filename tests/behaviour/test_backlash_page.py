"""Page 11: what the readings of a carriage come to, sick screws told apart, kind words without readings."""

from pathlib import Path

import numpy as np
import pytest
from simulate.axis_readings import AxisTruth, closely_spaced_lines, table_lines

from machinelab.errors import MachinelabError
from machinelab.workbook.axis_results import AxisLimits, evaluate_close, evaluate_table
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.backlash import NOT_MEASURED, BacklashPage
from machinelab.workbook.pages.page import WAITING
from machinelab.workbook.panels.backlash import view_take_up

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
LIMITS = AxisLimits(backlash_mm=0.15, lead_error_ppm=133.0)
SEEDS = range(200)


@pytest.fixture
def page():
    return BacklashPage(load(DEMO))


def rows(text):
    return np.array([[float(figure) for figure in line.split()] for line in text.splitlines()])


def evaluated(truth, seed):
    periodic = evaluate_close(rows(closely_spaced_lines(truth, seed + 10_000)), screw_lead_mm=3.175)
    return evaluate_table(
        rows(table_lines(truth, seed)),
        division_mm=truth.division_mm,
        limits=LIMITS,
        screw_lead_mm=3.175,
        periodic=periodic,
    )


def test_the_demos_play_is_found_and_kept_in_its_limit(page):
    assert page.found.evaluated.reversal_um == pytest.approx(120, abs=page.found.reversal_uncertainty_um)
    assert page.verdict().word == "MET"
    line = page.record_line()
    assert (line["unit"], line["upper"]) == ("mm", 0.15)
    assert isinstance(page.measured_picture(), Picture)
    assert "3.13 mm beyond the start" in page.decision().text


def test_another_table_changes_picture_words_and_verdict(page):
    bench = page.bench()
    before = bench.picture.value
    page.table_entry.box.value = table_lines(AxisTruth(play_mm=0.4), 3)
    assert bench.picture.value != before
    assert page.verdict().word == "NOT MET"
    assert "play in nut or thrust bearing" in page.decision().text
    assert page.play_mm == pytest.approx(0.4, abs=0.02)


def test_a_coarser_dial_widens_the_doubt(page):
    fine = page.found.reversal_uncertainty_um
    page.division.type_in("0.05 mm")
    assert page.found.reversal_uncertainty_um > 2 * fine
    assert page.verdict().word == "NOT PROVEN"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("20 0.01", "has 2 figures"),
        ("20 0,01 0.02", "comma"),
        ("20 0.01 0.02\n30 0.01 0.02", "too few"),
        ("20 0 0\n20 0 0\n30 0 0\n30 0 0\n40 0 0", "same number"),
    ],
)
def test_a_slip_in_the_table_is_told_beside_the_box(page, typed, words):
    bench = page.bench()
    page.table_entry.box.value = typed
    assert words in bench.notice.value + page.table_entry.notice.value


def test_without_readings_the_page_says_so_and_without_a_screw_it_waits():
    metric = BacklashPage(load(METRIC))
    assert metric.found is None
    assert metric.decision() is NOT_MEASURED
    assert metric.record_line() is None
    bare = BacklashPage(empty())
    assert bare.decision() is WAITING
    with pytest.raises(MachinelabError):
        metric.analyse(None)


def test_each_control_of_the_panel_changes_the_answer(page):
    leads = page.leads_mm
    first, last = next(iter(leads)), list(leads)[-1]
    here = view_take_up(thread=first, play_mm=0.1, spring_mm=0.01, leads_mm=leads)
    assert view_take_up(thread=last, play_mm=0.1, spring_mm=0.01, leads_mm=leads).begin_mm > here.begin_mm
    assert view_take_up(thread=first, play_mm=0.2, spring_mm=0.01, leads_mm=leads).begin_mm > here.begin_mm
    assert view_take_up(thread=first, play_mm=0.1, spring_mm=0.05, leads_mm=leads).begin_mm > here.begin_mm
    for play in (0.0, 2.0):
        assert np.isfinite(view_take_up(thread=first, play_mm=play, spring_mm=0.0, leads_mm=leads).begin_mm)


@pytest.mark.parametrize(
    ("truth", "cause"),
    [
        (AxisTruth(play_mm=0.35), "play in nut or thrust bearing"),
        (AxisTruth(play_mm=0.1, worn_mm=0.3), "a worn stretch of the screw"),
        (AxisTruth(play_mm=0.05, scatter_mm=0.04), "a slide that sticks or is loose"),
        (AxisTruth(play_mm=0.05, lead_error_ppm=400), "the screw's own lead"),
        (AxisTruth(play_mm=0.05, every_turn_mm=0.06), "an error of every turn of the screw"),
    ],
    ids=["worn nut", "worn stretch", "loose slide", "wrong lead", "thrust washer"],
)
def test_a_sick_axis_is_told_by_its_own_cause_in_nine_of_ten_trials(truth, cause):
    first = [next(iter(evaluated(truth, seed).findings), None) for seed in SEEDS]
    right = np.mean([one is not None and one.name == cause for one in first])
    assert right >= 0.9


def test_a_sound_axis_is_left_alone():
    sound = AxisTruth(play_mm=0.08, lead_error_ppm=30, every_turn_mm=0.002)
    assert np.mean([not evaluated(sound, seed).findings for seed in SEEDS]) >= 0.95
