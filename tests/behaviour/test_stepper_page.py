"""Page 08: what it says of the demo, of a quite different machine, and of one not known at all."""

import math
import shutil
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import load
from machinelab.workbook.machine.file import parse
from machinelab.workbook.pages.page import WAITING
from machinelab.workbook.pages.stepper import NOT_MEASURED, StepperPage
from machinelab.workbook.panels.stepper import view_as_built
from machinelab.workbook.stepper_advice import changes, what_to_change
from machinelab.workbook.stepper_built import CONTROLLER, DRIVER, stepper_built
from machinelab.workbook.stepper_numbers import (
    CHANNEL,
    COUNTER,
    FELL_OUT,
    STEPPER,
    TORQUE,
    ThreadWork,
    bands_to_avoid,
    fastest_with_nm,
    fixed_limits_rpm,
    highest_speed,
    thread_works,
)

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": HOUSE / "notebooks/machines/demo",
    "metric": HOUSE / "tests/machines/metric",
    "empty": HOUSE / "tests/machines/empty",
}
CELLS = (
    "current",
    "pulses",
    "load",
    "torque",
    "assumed",
    "table",
    "speeds",
    "picture",
    "bands_picture",
    "panel",
    "mind",
    "measured",
    "verdict",
    "agreement",
    "compared",
    "options",
    "decision",
)
STRING = {"pull_n": "8 N", "across_mm": "60 mm", "doubt_n": "0.5 N"}
HEARD = {"rough_mm_min": "50 mm/min", "doubt_mm_min": "5 mm/min", "fastest_mm_min": "600 mm/min"}


def own_copy(name, tmp_path):
    folder = tmp_path / name
    shutil.copytree(MACHINES[name], folder)
    (folder / "readings.toml").unlink(missing_ok=True)
    return load(folder)


def changed(*swaps):
    """The demo machine with some lines of its file changed."""
    text = (MACHINES["demo"] / "machine.toml").read_text()
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    return parse(text)


def fill(sheet, readings):
    for name, text in readings.items():
        sheet.rows[name].type_in(text)


@pytest.fixture
def page(tmp_path):
    return StepperPage(own_copy("demo", tmp_path))


@pytest.mark.parametrize("name", ["demo", "metric"])
def test_every_cell_has_an_answer(name, tmp_path):
    page = StepperPage(own_copy(name, tmp_path))
    for cell in CELLS:
        assert getattr(page, cell)() is not WAITING, cell
    assert isinstance(page.picture(), Picture)
    assert page.post().text()


def test_with_an_empty_machine_every_cell_waits_and_the_head_says_for_what(tmp_path):
    page = StepperPage(own_copy("empty", tmp_path))
    assert {getattr(page, cell)() for cell in CELLS} == {WAITING}
    assert page.string is page.screwdriver is page.listening is None
    assert page.record_line() is None
    assert page.post() is None
    assert "Holding torque" in page._repr_markdown_()


def test_each_limit_of_a_thread_is_the_one_worked_by_hand():
    """8 tpi screw, 4000 pulses a turn of it, 2700 counts a turn of the spindle; thread of one millimetre."""
    machine = load("demo")
    thread = next(one for one in machine.threads if one.designation == "M10x1")
    limits = highest_speed(machine, thread).limits_rpm
    pulses_a_turn = 1 / 3.175 * 4000
    assert limits[CONTROLLER] == pytest.approx(60 * 80_000 / pulses_a_turn)
    assert limits[DRIVER] == pytest.approx(60 * 100_000 / pulses_a_turn)
    assert limits[CHANNEL] == pytest.approx(60 * 100_000 * 4 / 2700)
    assert limits[COUNTER] == pytest.approx(60 * 200_000 / 2700)
    assert limits[STEPPER] == pytest.approx(1500 / (2.5 / 3.175))
    assert highest_speed(machine, thread).limit == "the highest you allow"


@pytest.mark.parametrize(
    ("line", "slow", "limit"),
    [
        ('highest_pulse_rate = "80 kHz"', 'highest_pulse_rate = "4 kHz"', CONTROLLER),
        ('highest_pulse_rate = "100 kHz"', 'highest_pulse_rate = "3 kHz"', DRIVER),
        ('highest_channel_rate = "100 kHz"', 'highest_channel_rate = "500 Hz"', CHANNEL),
        ('highest_edge_rate = "200 kHz"', 'highest_edge_rate = "2 kHz"', COUNTER),
        ('highest_speed = "1500 rpm"', 'highest_speed = "60 rpm"', STEPPER),
        ('driver_supply = "48 V"', 'driver_supply = "12 V"', TORQUE),
        ('highest_speed = "1400 rpm"', 'highest_speed = "30 rpm"', "the highest you allow"),
    ],
)
def test_the_limit_that_binds_is_named(line, slow, limit):
    machine = changed((line, slow), ('lowest_speed = "60 rpm"', 'lowest_speed = "20 rpm"'))
    coarse = next(thread for thread in machine.threads if thread.designation == "Tr14x3")
    found = highest_speed(machine, coarse)
    assert found.limit == limit
    assert found.speed_rpm == min(found.limits_rpm.values())
    assert limit in str(found)


def test_at_the_speed_set_by_torque_the_stepper_has_just_the_torque_in_hand_that_is_wanted(page):
    view = page.worst
    assert view.highest.limit == TORQUE
    there = replace(view, speed_rpm=view.highest.speed_rpm)
    assert there.margin == pytest.approx(2.0, rel=1e-6)
    slower, faster = (replace(view, speed_rpm=share * view.highest.speed_rpm) for share in (0.9, 1.1))
    assert slower.margin > 2 > faster.margin


def test_what_the_file_does_not_say_is_no_limit(tmp_path):
    nothing = own_copy("empty", tmp_path)
    thread = load("demo").threads[0]
    found = highest_speed(nothing, thread)
    assert math.isnan(found.speed_rpm)
    assert (found.limit, str(found), dict(found.limits_rpm)) == ("", "not known", {})
    rates_only = changed(('holding_torque = "2.2 N m"', ""))
    assert TORQUE not in highest_speed(rates_only, thread).limits_rpm
    assert CONTROLLER in highest_speed(rates_only, thread).limits_rpm
    assert set(highest_speed(rates_only, thread.model_copy(update={"pitch_mm": None})).limits_rpm) == set(
        fixed_limits_rpm(rates_only)
    )


def test_a_measured_idle_torque_takes_the_place_of_the_reckoned_one():
    machine = load("demo")
    coarse = machine.threads[-1]
    light, heavy = (highest_speed(machine, coarse, idle_torque_nm=torque) for torque in (0.05, 1.0))
    assert heavy.limits_rpm[TORQUE] < highest_speed(machine, coarse).limits_rpm[TORQUE]
    assert light.limits_rpm[TORQUE] > highest_speed(machine, coarse).limits_rpm[TORQUE]


def test_a_stepper_that_never_has_the_torque_may_not_turn_at_all():
    numbers = stepper_built(load("demo"))
    assert fastest_with_nm(numbers, 100.0) == 0.0
    assert fastest_with_nm(numbers, 0.0) > 1e4


def test_peak_or_rms_is_asked_first_and_makes_the_difference_of_the_root_of_two(page):
    table = page.current()
    assert list(table["torque at low speed"]) == ["71 % of the plate", "100 % of the plate"]
    assert list(table.iloc[:, 2]) == ["as the machine file has it", ""]
    rms = stepper_built(changed(('driver_current_is = "peak"', 'driver_current_is = "rms"')))
    assert rms.phase_current_a == pytest.approx(2**0.5 * page.numbers.phase_current_a)
    open_question = changed(('driver_current_is = "peak"', 'driver_current_is = "not known"'))
    assert "**peak**" in StepperPage(open_question).assumed().text


def test_bands_are_the_resonance_turned_into_spindle_speeds(page):
    """Resonance in full steps a second over 200 steps, 5/2 turns and 1/3.175 of a turn for a millimetre."""
    numbers = page.numbers
    work = ThreadWork("one millimetre", Fraction(1), 100.0)
    centre = 60 * numbers.resonance_hz / 200 / (2.5 / 3.175)
    second, first, *_ = bands_to_avoid(numbers, work)
    assert (first.band.lowest_rpm, first.band.highest_rpm) == pytest.approx((0.8 * centre, 1.2 * centre))
    assert second.band.highest_rpm == pytest.approx(0.6 * centre)
    assert "shakes" in str(first)


def test_without_inertias_no_band_is_claimed():
    page = StepperPage(changed(('rotor_inertia = "0.48 kg cm^2"', "")))
    assert page.speeds()["shakes at"].tolist() == page.speeds()["may hunt at"].tolist() == ["not known"] * 4
    assert "not known" in page.compared().to_string()
    fill(page.listening, HEARD)
    assert "nothing was reckoned" in page.agreement().text
    assert " to " in page.speeds().loc["M10x1", "shakes at"]
    assert page.speeds().loc["M10x1", "may hunt at"] == "nowhere"
    assert "each second in" not in page.mind().text


def test_a_speed_inside_a_band_is_told_everywhere(page):
    low = page.views[0].bands[1].band
    page.threading_speed.type_in(f"{(low.lowest_rpm + low.highest_rpm) / 2:.0f} rpm")
    assert "shakes" in page.headline
    assert "keep out of" in page.mind().text
    assert "cheapest cure" in page.decision().text
    assert "But here it shakes" in page.views[0].headline


def test_the_threading_speed_that_was_typed_is_the_one_that_is_judged(page):
    page.threading_speed.type_in("500 rpm")
    assert "too fast for: Tr14x3" in page.headline
    assert "too fast" in page.worst.headline
    assert page.table().loc["Tr14x3", "by the calculation"] in ("NOT MET", "NOT PROVEN")
    assert "above its corner" in page.decision().text
    again = StepperPage(load(page.machine.folder))
    assert again.speed_rpm == 500


def test_a_thread_that_stalls_at_any_speed_wants_current_and_gearing_not_volts():
    weak = StepperPage(changed(('driver_current = "4.2 A"', 'driver_current = "0.8 A"')))
    assert weak.worst.work.name == "Tr14x3"
    assert weak.worst.margin < 1
    assert "stalls" in weak.worst.headline
    assert math.isnan(weak.worst.lag_um) or weak.worst.lag_um > 0
    told = weak.decision().text
    assert "peak or rms" in told
    assert "turn more often" in told
    assert "volts buy nothing" in told
    assert weak.options().loc["as built", "spindle up to"] == "no speed"


def test_each_change_is_the_thread_on_the_changed_drive(page):
    tried = {change.words: change.view for change in changes(page.worst, fixed_limits_rpm(page.machine))}
    full = next(view for words, view in tried.items() if "A peak" in words)
    assert full.numbers.phase_current_a == pytest.approx(4.2 * 2**0.5)
    assert full.margin > page.worst.margin
    volts = next(view for words, view in tried.items() if " V for" in words)
    assert volts.numbers.driver_supply_v == round(32 * 3.2**0.5)
    assert volts.highest.speed_rpm > page.worst.highest.speed_rpm
    assert tried["3.75 turns of the stepper for one of the screw"].stepper_rpm == pytest.approx(
        1.5 * page.worst.stepper_rpm
    )
    assert "57 V for the driver raises" in page.decision().text


def test_halving_the_microsteps_is_offered_only_where_they_are_fine():
    fine = StepperPage(changed(("microsteps = 8", "microsteps = 32")))
    assert "16 microsteps" in fine.options().index
    slow = changed(("microsteps = 8", "microsteps = 256"), ('"80 kHz"', '"10 kHz"'))
    told = " ".join(what_to_change(StepperPage(slow).worst, StepperPage(slow)._changes()))
    assert "halve the microsteps" in told


def test_a_string_and_a_torque_screwdriver_give_the_same_torque_the_same_figures(page, tmp_path):
    fill(page.string, STRING)
    assert page.results.idle.torque_nm == pytest.approx(8 * 0.030)
    assert page.results.idle.uncertainty_nm == pytest.approx(0.5 * 0.030)
    other = StepperPage(own_copy("metric", tmp_path))
    fill(other.screwdriver, {"torque_nm": "0.24 N m", "doubt_nm": "0.015 N m"})
    assert other.results.idle == page.results.idle
    assert other.numbers.idle_torque_nm == pytest.approx(0.24)


def test_the_load_at_the_stepper_is_idle_and_cut_through_gearing_and_belt(page):
    fill(page.string, STRING)
    view = page.worst
    cut_nm = page.load().result
    assert view.load_nm == pytest.approx((0.24 + cut_nm) / (2.5 * 0.95))


def test_filled_sheets_bring_verdict_agreement_a_line_and_a_post(page):
    assert page.verdict() is page.measured() is page.agreement() is NOT_MEASURED
    assert page.record_line() is None
    fill(page.string, STRING)
    fill(page.listening, HEARD)
    assert page.verdict().word == "MET"
    assert "agrees" in page.agreement().text
    line = page.record_line()
    assert line["value"] == pytest.approx(page.worst.margin, abs=0.001)
    assert line["lower"] == 2
    assert page.record_box.line()["quantity"] == line["quantity"]
    assert "0.240 N m" in page.post().text()


def test_what_was_heard_takes_the_place_of_what_was_reckoned(page):
    fill(page.listening, HEARD)
    stepper_rpm = 50 / 3.175 * 2.5
    assert page.results.heard.rough_rpm == pytest.approx(stepper_rpm)
    assert page.numbers.resonance_hz == pytest.approx(stepper_rpm * 200 / 60)
    assert page.as_filed.resonance_hz != page.numbers.resonance_hz
    panel = page.panel()
    assert panel.result.bands == page.worst.bands
    panel.controls["motor_turns"].type_in("90:24")
    assert panel.result.numbers.resonance_hz == panel.result.numbers.reckoned_resonance_hz


def test_where_it_fell_out_of_step_half_of_it_is_a_limit_and_the_curve_is_doubted(page):
    fill(page.listening, HEARD)
    assert "held its step" in page.measured().text
    assert FELL_OUT not in page.worst.highest.limits_rpm
    page.listening.rows["fell_out"].choose("it fell out of step")
    assert "much too early" in page.measured().text
    stalled = page.results.heard.fastest_rpm
    for view in page.views:
        assert view.highest.limits_rpm[FELL_OUT] == pytest.approx(
            stalled / 2 / (view.stepper_rpm / view.speed_rpm)
        )
    page.threading_speed.type_in("400 rpm")
    assert "find out why it fell out of step" in page.decision().text


def test_speeds_that_were_mixed_up_are_asked_about(page):
    fill(page.listening, HEARD | {"fastest_mm_min": "20 mm/min"})
    assert page.results.heard is None
    assert "mixed up" in page.listening.notice.value


@pytest.mark.parametrize(
    ("sheet", "name", "text"),
    [
        ("string", "pull_n", "20 N"),
        ("string", "across_mm", "4 in"),
        ("string", "doubt_n", "2 N"),
        ("listening", "rough_mm_min", "70 mm/min"),
        ("listening", "doubt_mm_min", "20 mm/min"),
        ("listening", "fastest_mm_min", "300 mm/min"),
    ],
)
def test_each_reading_changes_what_is_said(page, sheet, name, text):
    fill(page.string, STRING)
    fill(page.listening, HEARD)
    before = getattr(page, sheet).told.value
    getattr(page, sheet).rows[name].type_in(text)
    assert getattr(page, sheet).told.value != before


def test_a_coarse_balance_leaves_the_margin_open(page):
    fill(page.string, STRING | {"pull_n": "20 N", "doubt_n": "18 N"})
    assert page.verdict().word == "NOT PROVEN"


def test_a_screw_that_gives_way_is_told_so(page, tmp_path):
    assert "holds by itself" in page.mind().text
    assert "does not hold by itself" in StepperPage(own_copy("metric", tmp_path)).mind().text


def test_a_heavy_pulley_on_the_screw_is_told_by_its_inertia(page):
    assert "holds the maker's rule of ten" in page.mind().text
    heavy = StepperPage(changed(('pulley_inertia = "2.5 kg cm^2"', 'pulley_inertia = "60 kg cm^2"')))
    # 60 kg cm2 behind 2.5 to 1 is 9.6, twenty times the rotor's 0.48.
    assert "**20** times" in heavy.mind().text or "**21** times" in heavy.mind().text


def test_the_power_feeds_fastest_is_held_against_the_stalling_speed(page):
    assert "well below half" in page.mind().text
    quick = StepperPage(changed(('fastest = "600 mm/min"', 'fastest = "6000 mm/min"')))
    assert "**more than** half" in quick.mind().text


def test_the_guess_stands_beside_the_figures(page):
    page.guess.type_in("7.5")
    assert "7.5" in page.compared().to_string()


def test_a_view_of_the_machine_as_built_has_the_machines_own_figures(page):
    works = thread_works(page.machine)
    view = view_as_built(page.as_filed, fixed_limits_rpm(page.machine), works[0], 100.0)
    assert view.numbers == page.as_filed
    assert view.pulses_hz == pytest.approx(100 / 60 * 4000 * 8 / 26)
    assert view.available_nm.max() == pytest.approx(view.numbers.standstill_nm - 0.05 * 2.2)
    assert (view.available_nm <= view.bound_nm + 1e-9).all()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("control", "low", "high"),
    [
        ("speed_rpm", "20 rpm", "900 rpm"),
        ("supply_v", "24 V", "90 V"),
        ("current_a", "1 A", "6 A"),
        ("microsteps", "2", "256"),
        ("motor_turns", "1", "6"),
    ],
)
def test_each_control_of_the_panel_changes_picture_and_words(page, control, low, high):
    panel = page.panel()
    seen = set()
    for text in (low, high):
        panel.controls[control].type_in(text)
        seen.add((panel.picture.value, panel.meaning.value, panel.chart.alt))
        assert "Please look" not in panel.notice.value
    assert len(seen) == 2


def test_another_thread_changes_picture_and_words(page):
    panel = page.panel()
    before = panel.picture.value, panel.chart.alt
    panel.controls["work"].choose("26 tpi cycle")
    assert (panel.picture.value, panel.chart.alt) != before
    assert "26 tpi cycle" in panel.chart.alt
