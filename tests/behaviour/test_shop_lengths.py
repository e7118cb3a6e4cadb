"""Lengths in the unit of the shop: an inch machine's tables and card speak inches, others millimetres."""

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machinelab.estimate import Estimate
from machinelab.units import number
from machinelab.workbook.card.machine_rows import card_of
from machinelab.workbook.figures.job import JobSpeeds
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.alignment import AlignmentPage
from machinelab.workbook.pages.feeds_and_speeds import FeedsAndSpeedsPage
from machinelab.workbook.pages.marks import MarksPage
from machinelab.workbook.pages.mill import MillPage
from machinelab.workbook.pages.motor_and_pulleys import MotorAndPulleysPage
from machinelab.workbook.pages.scratch import ScratchPage
from machinelab.workbook.pages.slender import SlenderPage
from machinelab.workbook.shop_lengths import INCHES, MILLIMETRES, shop_lengths
from machinelab.workbook.thread_plan import thread_plan
from machinelab.workbook.verdict import verdict

ROOT = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": ROOT / "notebooks" / "machines" / "demo",
    "metric": ROOT / "tests" / "machines" / "metric",
    "inch": ROOT / "tests" / "machines" / "inch",
}


@pytest.mark.parametrize(("name", "unit"), [("demo", "mm"), ("metric", "mm"), ("inch", "in")])
def test_the_unit_is_that_in_which_most_lengths_were_typed(name, unit):
    assert shop_lengths(load(MACHINES[name])).unit == unit


def test_a_machine_of_which_nothing_is_known_has_millimetres():
    assert shop_lengths(empty()) is MILLIMETRES


@pytest.mark.parametrize(
    ("millimetres", "places", "metric", "inch"),
    [(25.4, 3, "25.400 mm", "1.0000 in"), (0.2, 2, "0.20 mm", "0.008 in"), (3.175, 1, "3.2 mm", "0.125 in")],
)
def test_inches_are_never_coarser_than_thousandths(millimetres, places, metric, inch):
    assert MILLIMETRES.told(millimetres, places) == metric
    assert INCHES.told(millimetres, places) == inch


def test_the_card_of_an_inch_machine_is_set_by_its_dials():
    machine = load(MACHINES["inch"])
    row = card_of(machine).rows[0]
    depths = thread_plan(machine, machine.threads[0]).schedule.depths_mm
    assert row.groove_words == "0.125 in"
    assert row.depth_words == f"{depths[-1] / 25.4:.3f} in"
    assert all(f"{depth / 25.4:.3f}" in row.cuts_words for depth in depths)
    assert "mm" not in " ".join((row.groove_words, row.run_out_words, *row.remarks))


def test_speeds_and_roughness_go_with_the_lengths():
    assert (MILLIMETRES.rim.told(30.48), INCHES.rim.told(30.48)) == ("30 m/min", "100 ft/min")
    assert (MILLIMETRES.travel(50.8), INCHES.travel(50.8)) == ("51 mm/min", "2.0 in/min")
    assert (MILLIMETRES.fine(3.175), INCHES.fine(3.175), INCHES.fine(0.0254)) == ("3.2", "125", "1")


@pytest.mark.parametrize(("name", "unit"), [("demo", "mm"), ("inch", "in")])
def test_scales_show_the_unit_of_the_shop_and_nothing_is_moved(name, unit):
    machine = load(MACHINES[name])
    page = FeedsAndSpeedsPage(machine)
    chart = JobSpeeds()
    chart.update(page.plan)
    axis = chart.plot.xaxis
    assert axis.get_label_text() == f"diameter that is cut, {unit}"
    shown = [float(axis.get_major_formatter()(place)) for place in axis.get_majorticklocs()]
    unit_mm = shop_lengths(machine).unit_mm
    assert shown == pytest.approx([place / unit_mm for place in axis.get_majorticklocs()], rel=1e-3)
    assert chart.point.get_xdata()[0] == pytest.approx(float(page.plan.job.diameter_mm))


@pytest.mark.parametrize(("name", "unit", "other"), [("demo", "mm", "in"), ("inch", "in", "mm")])
def test_the_drive_is_chosen_in_the_unit_of_the_shop(name, unit, other):
    page = MotorAndPulleysPage(load(MACHINES[name]))
    ratios, belt = page.ratios(), page.belt()
    turning = next(row for row in ratios.index if row.startswith("turning"))
    assert f" {unit} a turn" in turning
    assert all(cell.endswith(f" {unit} deep") for cell in ratios.loc[turning])
    assert belt.loc["smaller pulley", "found"].endswith(f" {unit}")
    assert f" {other} " not in f"{turning} {belt.loc['distance that its length asks'].str.cat(sep=' ')} "


@pytest.mark.parametrize(
    ("lengths", "said"), [(MILLIMETRES, "0.030 mm in 300 mm"), (INCHES, "1.2 thou in 12 in")]
)
def test_a_slope_is_told_as_the_forms_take_it(lengths, said):
    assert lengths.slope(-100) == said
    assert number(said, "ppm") == pytest.approx(100)


def test_small_errors_and_leans_have_their_own_units():
    assert (MILLIMETRES.small.told(0.0127), INCHES.small.told(0.0127)) == ("12.7 µm", "0.50 thou")
    # A thousandth in a foot is a twelfth of a millimetre in a metre; over a further foot of bed it doubles.
    assert (MILLIMETRES.lean.told(0.25), INCHES.lean.told(0.25)) == ("0.250 mm/m", "3.00 thou in 12 in")
    assert INCHES.lean.signed(-1 / 12) == "-1.00 thou in 12 in"
    assert INCHES.twist.told(1 / 12 / 0.3048) == "1.00 thou in 12 in for each foot"


def test_an_interval_is_told_in_the_unit_of_the_shop_and_no_finer_than_its_doubt():
    found = Estimate.symmetric(0.254, 0.0508)
    assert MILLIMETRES.estimate(found, 3) == "0.25 (0.20 to 0.30) mm"
    assert INCHES.estimate(found, 3) == "0.010 (0.008 to 0.012) in"
    assert INCHES.lean.estimate(Estimate.symmetric(0.25, 1 / 6)) == "3 (1 to 5) thou in 12 in"
    assert INCHES.estimate(Estimate.symmetric(0.0, 0.00001), 3).startswith("0.0000 (0.0000 to")


def test_a_length_too_small_for_the_eye_is_told_without_powers_of_ten():
    assert INCHES.short(0.0015, 4) == "0.00005906 in"
    assert (MILLIMETRES.short(25.4), INCHES.short(25.4)) == ("25.4 mm", "1 in")


def test_a_verdict_is_told_in_the_unit_of_the_shop():
    asked = (0.0127, 0.0025, None, 0.02032)
    assert str(MILLIMETRES.verdict(*asked)) == (
        "MET: 0.0127 mm +/- 0.0025 (k=2) keeps the limit (at most 0.02032 mm) with 0.00512 mm to spare."
    )
    assert str(INCHES.verdict(*asked)) == (
        "MET: 0.00050 in +/- 0.00010 (k=2) keeps the limit (at most 0.0008 in) with 0.000202 in to spare."
    )
    assert INCHES.verdict(None, None, None, 0.0508).sentence.startswith("not measured yet; the limit is")
    assert INCHES.verdict(None, None, None, 0.0508).sentence.endswith("at most 0.002 in.")


lengths_mm = st.floats(0.0001, 10)


@given(lengths_mm, lengths_mm, st.none() | lengths_mm, st.none() | lengths_mm)
def test_a_shop_reads_the_verdict_that_the_record_has(value, doubt, one, other):
    low, high = (one, other) if None in (one, other) else sorted((one, other))
    recorded, told = verdict(value, doubt, low, high, unit="mm"), INCHES.verdict(value, doubt, low, high)
    assert (told.word, told.margin) == (recorded.word, recorded.margin)


def test_what_lies_on_the_very_limit_is_told_as_the_record_has_it():
    """In inches to six figures 1.0 and 0.2 mm together pass 1.2 mm; in millimetres they do not."""
    asked = (1.0, 0.2, None, 1.2)
    assert str(INCHES.verdict(*asked)) == str(verdict(*asked, unit="mm"))
    assert INCHES.verdict(*asked).word == "MET"


@pytest.fixture
def inch_shop(tmp_path):
    """An inch machine with readings on all the pages that judge its truth."""
    folder = tmp_path / "inch"
    shutil.copytree(MACHINES["inch"], folder)
    shutil.copy(MACHINES["demo"] / "readings.toml", folder)
    shutil.copytree(MACHINES["demo"] / "logs", folder / "logs")
    file = folder / "machine.toml"
    file.write_text(f"{file.read_text(encoding='utf-8')}\n{MILL_HEAD}", encoding="utf-8")
    return load(folder)


MILL_HEAD = """
[mill_head]
highest_speed = "2200 rpm"
lowest_speed = "150 rpm"
"""
# A stiffness stays in the unit of the force that was typed.
MILLIMETRE = re.compile(r"\bmm\b|(?<!N/)µm")


def test_an_inch_shop_reads_no_millimetre_in_what_its_lathe_does_to_work(inch_shop):
    lathe, bar = AlignmentPage(inch_shop), SlenderPage(inch_shop)
    said = [
        *(lathe.alignment.headline, lathe.runout.headline, lathe.runout.details, lathe.runout.advice),
        *(str(lathe.runout.verdict()), str(bar.turned.verdict())),
        *(lathe.causes.to_string(), lathe.panel.meaning.value, lathe.chuck_sheet.told.value),
        *(bar.view.headline, bar.view.details, bar.view.sentence, bar.pushed.headline, bar.turned.headline),
        *(
            bar.ways.to_string(),
            bar.steady_told.text,
            bar.tail_panel.meaning.value,
            *bar.setting_sheet.result.told,
        ),
    ]
    assert [words for words in said if MILLIMETRE.search(words)] == []
    # The figures stand in their inches: the run-out and the bar as they were computed.
    assert f"{lathe.runout.found.total_mm / 25.4:.4f} in" in lathe.runout.headline
    assert f"{bar.view.worst_mm / 25.4:.4f} in" in bar.view.headline


def test_an_inch_shop_reads_no_millimetre_in_marks_play_and_milling(inch_shop):
    marks, scratch, mill = MarksPage(inch_shop), ScratchPage(inch_shop), MillPage(inch_shop)
    said = [
        *(marks.found.details, marks.found.next_cut, marks.table().to_string(), marks.picture().alt),
        *(scratch.slop.headline, scratch.joints.to_string()),
        *(mill.sweep.headline, mill.sweep.details, mill.sweep.cure, mill.face().text),
        *(mill.lean().to_string(), mill.speeds().to_string(), mill.largest_cutter().text, mill.cut.sentence),
        *(mill.cut.headline, mill.compared().loc[["you allow", "swept"]].to_string()),
    ]
    assert [words for words in said if MILLIMETRE.search(words)] == []
    assert f"{marks.found.cuts[-1].spacing_mm / 25.4:.4f} in" in marks.found.details
