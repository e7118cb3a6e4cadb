"""Lengths in the unit of the shop: an inch machine's tables and card speak inches, others millimetres."""

from pathlib import Path

import pytest

from machinelab.units import number
from machinelab.workbook.card.machine_rows import card_of
from machinelab.workbook.figures.job import JobSpeeds
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.feeds_and_speeds import FeedsAndSpeedsPage
from machinelab.workbook.pages.motor_and_pulleys import MotorAndPulleysPage
from machinelab.workbook.shop_lengths import INCHES, MILLIMETRES, shop_lengths
from machinelab.workbook.thread_plan import thread_plan

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
    assert (MILLIMETRES.rim(30.48), INCHES.rim(30.48)) == ("30 m/min", "100 ft/min")
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
