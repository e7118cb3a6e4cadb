"""Page 09: what it sets for a job on the demo, on a quite different machine, and on one not known at all."""

import math
import shutil
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab.errors import RangeError
from machinelab.work.cutting_speeds import cutting_speed_m_min
from machinelab.workbook.carriage_feed import carriage_feed
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.job import JobFeeds, JobSpeeds
from machinelab.workbook.job import Job, materials, operations, tools
from machinelab.workbook.job_machine import job_machine
from machinelab.workbook.job_plan import SLOWEST, TOOL, JobPlan
from machinelab.workbook.job_trial import feed_trial
from machinelab.workbook.machine import load
from machinelab.workbook.machine.file import parse
from machinelab.workbook.pages.feeds_and_speeds import NO_JOB, FeedsAndSpeedsPage
from machinelab.workbook.pages.page import WAITING
from machinelab.workbook.panels.job import feed_panel, speed_panel

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": HOUSE / "notebooks/machines/demo",
    "metric": HOUSE / "tests/machines/metric",
    "empty": HOUSE / "tests/machines/empty",
}
CELLS = (
    "speed_working",
    "speeds",
    "sources",
    "speed_picture",
    "speed_what_if",
    "other_work",
    "feed_working",
    "finish_working",
    "feed_picture",
    "feed_what_if",
    "carriage",
    "measured",
    "compared",
    "agreement",
    "verdict",
    "decision",
)
LIGHT = "high-speed steel on a light lathe"
KNOB = {
    "follows": "the feed has its own knob",
    "turns": "250 turns",
    "turns_doubt": "2 turns",
    "travel": "25.4 mm",
    "travel_doubt": "0.1 mm",
}


def own_copy(name, tmp_path):
    folder = tmp_path / name
    shutil.copytree(MACHINES[name], folder)
    (folder / "readings.toml").unlink(missing_ok=True)
    return load(folder)


def job(**changed):
    usual = {
        "material": "mild steel",
        "operation": "turning",
        "tool": LIGHT,
        "diameter_mm": 25.0,
        "depth_mm": 0.5,
        "feed_mm": Fraction(1, 10),
        "nose_radius_mm": 0.4,
        "roughness_um": 3.2,
    }
    return Job(**(usual | changed))


@pytest.fixture
def page(tmp_path):
    return FeedsAndSpeedsPage(own_copy("demo", tmp_path))


@pytest.fixture
def lathe():
    return job_machine(load(MACHINES["demo"]))


def fill(sheet, readings):
    for name, text in readings.items():
        row = sheet.rows[name]
        row.choose(text) if hasattr(row, "choose") else row.type_in(text)


@pytest.mark.parametrize("name", ["demo", "metric"])
def test_every_cell_of_page_09_has_an_answer(name, tmp_path):
    page = FeedsAndSpeedsPage(own_copy(name, tmp_path))
    for cell in CELLS:
        answer = getattr(page, cell)()
        assert answer is not WAITING, cell
        assert answer is not NO_JOB, cell
    assert isinstance(page.speed_picture(), Picture)
    assert isinstance(page.feed_picture(), Picture)


def test_with_an_empty_machine_every_cell_of_page_09_waits(tmp_path):
    page = FeedsAndSpeedsPage(own_copy("empty", tmp_path))
    assert {getattr(page, cell)() for cell in CELLS} == {WAITING}
    assert page.job is page.feed_sheet is page.surface_sheet is WAITING
    assert page.record_line() is None
    assert page.post() is None


def test_a_job_that_is_not_complete_is_asked_for(page):
    page.job.rows["diameter"].type_in("")
    assert page.speeds() is NO_JOB
    assert page.decision() is NO_JOB
    assert page.record_line() is None
    assert page.post() is None


def test_the_speed_is_the_tools_where_the_machine_has_it(lathe):
    plan = JobPlan(job(), lathe)
    assert plan.set_by == TOOL
    assert cutting_speed_m_min(plan.speed_rpm, diameter_mm=25.0) == pytest.approx(28)


def test_thin_work_is_turned_at_the_highest_speed_allowed_and_wide_work_at_the_slowest(lathe):
    thin, wide = JobPlan(job(diameter_mm=3.0), lathe), JobPlan(job(diameter_mm=250.0), lathe)
    assert (thin.speed_rpm, thin.set_by) == (1400, "the highest you allow")
    assert (wide.speed_rpm, wide.set_by) == (60, SLOWEST)
    assert wide.too_fast_for_the_tool
    assert "slow enough" in wide.headline


def test_a_chuck_that_may_turn_less_caps_the_speed(lathe):
    chucked = replace(lathe, limits_rpm={**lathe.limits_rpm, "marked on the chuck": 900.0})
    plan = JobPlan(job(diameter_mm=5.0), chucked)
    assert (plan.speed_rpm, plan.set_by) == (900, "marked on the chuck")


def test_the_deepest_cut_that_is_told_is_just_carried(lathe):
    plan = JobPlan(job(), lathe)
    at_the_limit = JobPlan(job(depth_mm=plan.most_deep), lathe)
    assert at_the_limit.job.torque_nm == pytest.approx(plan.for_hours_nm)
    assert JobPlan(job(depth_mm=0.98 * plan.most_deep), lathe).carries == "the drive carries it for hours"
    assert "minutes" in JobPlan(job(depth_mm=1.02 * plan.most_deep), lathe).carries
    assert JobPlan(job(depth_mm=10.0), lathe).carries == "too heavy for the drive"


def test_the_largest_drill_that_is_told_is_just_carried(lathe):
    plan = JobPlan(job(operation="drilling", diameter_mm=8.0), lathe)
    bored = job(operation="drilling", diameter_mm=plan.most_deep)
    assert bored.torque_nm == pytest.approx(plan.for_hours_nm)
    assert job(operation="drilling").most_diameter_mm(bored.torque_nm) == pytest.approx(plan.most_deep)


@pytest.mark.parametrize("work", ["turning", "parting", "threading"])
def test_the_widest_work_of_a_torque_takes_just_that_torque(work):
    across = float(job(operation=work).most_diameter_mm(3.0))
    assert job(operation=work, diameter_mm=across).torque_nm == pytest.approx(3.0)


def test_what_nobody_can_tell_is_said_to_be_unknown(lathe):
    reamed = JobPlan(job(operation="reaming"), lathe)
    plastic = JobPlan(job(material="plastics"), lathe)
    for plan in (reamed, plastic):
        assert math.isnan(plan.job.torque_nm)
        assert plan.carries == "torque not known"
        assert "cannot be told" in plan.torque_told
        assert isinstance(JobSpeeds.draw(plan), Picture)
        assert isinstance(JobFeeds.draw(plan), Picture)


def test_a_drive_that_is_not_known_leaves_the_speed_and_says_so(tmp_path):
    text = (MACHINES["demo"] / "machine.toml").read_text().replace('back_emf = "0.288 V s/rad"', "")
    page = FeedsAndSpeedsPage(parse(text))
    assert page.plan.speed_rpm == pytest.approx(356.5, abs=0.5)
    assert page.plan.carries == "torque not known"
    assert "page 03" in page.sources().text
    assert isinstance(page.feed_picture(), Picture)


def test_a_feed_that_follows_the_spindle_is_exact_on_an_inch_screw(lathe):
    used, error = JobPlan(job(), lathe).ratio
    assert error == 0
    assert used * 2700 / 4000 * Fraction(127, 40) == Fraction(1, 10)


def test_the_finish_feed_keeps_the_wanted_finish_at_its_worst(lathe):
    plan = JobPlan(job(roughness_um=1.6), lathe)
    finer = JobPlan(job(roughness_um=1.6, feed_mm=plan.finish_feed_mm), lathe)
    assert float(finer.expected.most_roughness_um) == pytest.approx(1.6)
    assert "as fine as wanted" in JobPlan(job(roughness_um=1.6, feed_mm=0.08), lathe).finish_told
    assert "feed 0.082" in plan.finish_told


def test_feeds_too_coarse_and_too_fine_are_called_that(lathe):
    assert "0.8 of the nose" in JobPlan(job(feed_mm=Fraction(2, 5)), lathe).finish_told
    assert "rubs" in JobPlan(job(feed_mm=Fraction(1, 50)), lathe).finish_told
    assert "rubs" in JobPlan(job(roughness_um=0.1), lathe).finish_told


def test_names_that_do_not_go_together_are_answered_in_words(page):
    fill(page.job, {"material": "plastics", "tool": "carbide"})
    assert page.plan is None
    assert "knows no tool for plastics" in page.job.notice.value
    panel = page_of_demo_panel()
    panel.controls["material"].choose("plastics")
    panel.controls["tool"].choose("carbide")
    assert "knows no tool for plastics" in panel.notice.value


def page_of_demo_panel():
    return speed_panel(JobPlan(job(), job_machine(load(MACHINES["demo"]))))


@pytest.mark.slow
@pytest.mark.parametrize("build", [speed_panel, feed_panel])
def test_every_control_changes_the_picture_at_both_of_its_ends(build, lathe):
    panel = build(JobPlan(job(), lathe))
    for name, control in panel.controls.items():
        seen = {panel.picture.value}
        if hasattr(control, "choose"):
            for option in control.options:
                control.choose(option)
                seen.add(panel.picture.value)
            control.choose(next(iter(control.options)))
        else:
            for position in (0, len(control.sweep) - 1):
                control.slide_to(position)
                seen.add(panel.picture.value)
            control.as_built()
        assert len(seen) > 2 or name == "depth_mm", name
        assert len(seen) > 1, name


@pytest.mark.slow
@pytest.mark.parametrize("work", operations())
def test_every_material_and_tool_that_go_together_can_be_drawn_for_every_work(work, lathe):
    speeds, feeds = JobSpeeds(), JobFeeds()
    for material in materials():
        for tool in tools():
            plan = JobPlan(job(material=material, tool=tool, operation=work), lathe)
            try:
                _ = plan.wanted
            except RangeError:
                continue
            speeds.update(plan)
            feeds.update(plan)
            assert plan.machine.lowest_rpm <= plan.speed_rpm <= plan.machine.top_rpm


def test_a_filled_sheet_brings_feed_agreement_and_a_line_for_the_record(page):
    assert page.record_line() is None
    fill(page.feed_sheet, KNOB)
    assert page.fed.feed_mm == pytest.approx(0.1016)
    assert "agrees" in page.agreement().text
    line = page.record_line()
    assert (line["quantity"], line["unit"]) == ("feed for each turn, set 0.1 mm", "mm")
    assert "0.1016" in page.post().text()


@pytest.mark.parametrize(
    ("felt", "word"), [("2.0 um", "MET"), ("3.0 um", "NOT PROVEN"), ("6.3 um", "NOT MET")]
)
def test_a_compared_surface_is_judged_against_the_finish_that_is_wanted(page, felt, word):
    fill(page.surface_sheet, {"surface": felt, "surface_doubt": "0.7 um"})
    assert page.verdict().word == word
    assert page.record_line()["upper"] == pytest.approx(3.2)
    assert page.record_line()["unit"] == "um"


def test_a_feed_in_the_wrong_unit_is_noticed():
    with pytest.raises(RangeError, match="mm in a minute"):
        feed_trial(
            0.1,
            follows=False,
            turns=Fraction(100),
            turns_doubt=Fraction(1),
            travel=Fraction(60),
            travel_doubt=Fraction(1, 10),
        )


def test_the_idle_carriage_is_told_only_of_a_stepper_that_is_known():
    machine = load(MACHINES["demo"])
    found = carriage_feed(machine, 60.0)
    assert found.rapid_mm_min == 600
    assert found.turned.standing_s > found.turned.take_up_s > 0
    text = (MACHINES["demo"] / "machine.toml").read_text()
    assert carriage_feed(parse(text.replace('inductance = "3.2 mH"', "")), 60.0) is None
    still = carriage_feed(parse(text.replace('rotor_inertia = "0.48 kg cm^2"', "")), 60.0)
    assert still.turned is None
    assert "cannot be told" in " ".join(still.lines)
    without_knob = carriage_feed(parse(text.replace('fastest = "600 mm/min"', "")), 60.0)
    assert without_knob.rapid_mm_min > 600


def test_a_job_is_kept_until_the_next_time(tmp_path):
    machine = own_copy("demo", tmp_path)
    first = FeedsAndSpeedsPage(machine)
    fill(first.job, {"material": "brass", "diameter": "1/2 in"})
    again = FeedsAndSpeedsPage(machine)
    assert again.plan.job.material == "brass"
    assert again.plan.job.diameter_mm == pytest.approx(12.7)
