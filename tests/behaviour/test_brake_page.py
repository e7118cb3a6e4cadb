"""Page 06: design and run side by side, the limits by their names, and kind words without a brake."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from simulate.brake_log import ANGLE, BrakedTruth, write_braked_log
from simulate.coast_log import Truth

from machinelab.spindle.brake import stop
from machinelab.spindle.brake_design import resistor_for_current_ohm
from machinelab.workbook import brake_advice
from machinelab.workbook.brake_choice import resistors_table
from machinelab.workbook.brake_numbers import brake_numbers
from machinelab.workbook.brake_tables import (
    BELT,
    COMMUTATOR,
    CONTACT,
    PULSE,
    belt_limit_a,
    current_limits,
    heat_table,
    hot_stop,
    nearest,
    stages_table,
    top_stop,
)
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import empty, load
from machinelab.workbook.machine_logs import BRAKED, COAST, DISC, METER_STEP, logs_for
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.page import WAITING, Said
from machinelab.workbook.pages.resistor_brake import NO_BRAKE, NO_RUN, ResistorBrakePage
from machinelab.workbook.panels.brake import Wanted, view_brake

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
PREDICTED = (
    "about",
    "working",
    "peak",
    "picture",
    "panel",
    "resistors",
    "limits",
    "binding",
    "heat",
    "contacts",
    "waits",
    "overlap",
    "stages",
)
MEASURED = ("run_picture", "understood", "designed_and_measured", "compared", "judged", "decision")


@pytest.fixture(scope="module")
def page():
    return ResistorBrakePage(load(DEMO))


@pytest.fixture
def numbers():
    return brake_numbers(load(DEMO), None)


def log_text(truth, seed=1):
    time_s, speed_rpm = write_braked_log(truth, seed)
    return "\n".join(f"{t:.3f} {n:.1f}" for t, n in zip(time_s, speed_rpm, strict=True))


def test_the_demos_late_contact_is_found_and_told_first(page):
    delay = page.found.fit.contact_delay_s
    assert delay.interval[0] <= 0.17 <= delay.interval[1]
    assert page.verdicts()["Delay of the brake contact"].word == "NOT MET"
    assert "not 0.03 s" in page.decision.text.splitlines()[0]
    assert "zener" in page.decision.text.splitlines()[0]


def test_turns_at_threading_speed_keep_the_limit_and_time_from_the_top_does_not(page):
    words = {what: one.word for what, one in page.verdicts().items()}
    assert words["Turns to standstill from 100 rpm"] == "MET"
    assert words["Time to standstill from 1400 rpm"] == "NOT MET"
    assert page.record_line()["upper"] == 2.5


def test_the_design_is_what_an_integration_of_the_machine_file_gives(page):
    drags = page.free_run.drags
    truth = BrakedTruth(
        Truth(page.found.fit.tested_rpm, *drags.values()), 0.864, 1.2, 12.0, 2.0, 0.045, contact_delay_s=0.03
    )
    time_s, state = truth.stop(page.found.fit.tested_rpm)
    assert page.found.designed.time_s == pytest.approx(time_s, rel=1e-6)
    assert page.found.designed.turns == pytest.approx(state[ANGLE] / (2 * np.pi), rel=1e-6)
    speeds, _ = truth.run()
    after = np.array([0.1, 0.5, 2.0])
    assert page.found.designed_rpm(after) == pytest.approx(speeds(after + truth.free.start_s), rel=1e-5)


def test_the_run_tells_the_inertia_that_made_it(page):
    assert page.found.inertia_kg_m2.value == pytest.approx(0.045, rel=5e-3)
    assert list(brake_advice.circuit_off(page.found)) == []


def test_a_heavier_spindle_than_in_the_file_is_noticed(page):
    heavy = BrakedTruth(Truth(1196.0, 3.1, 0.021, 9e-5, start_s=5.0), 0.864, 1.2, 12.0, 2.0, 0.06, 0.03)
    other = ResistorBrakePage(page.machine)
    other.entry.take(log_text(heavy))
    found = other.analyse(other.entry.readings)
    assert "bites 33% less" in next(brake_advice.circuit_off(found))
    assert not found.contact_is_late


def test_a_new_log_in_the_box_replaces_picture_words_and_verdicts(page):
    fresh = ResistorBrakePage(page.machine)
    bench = fresh.bench
    before = bench.picture.value
    assert before
    quick = BrakedTruth(Truth(900.0, 3.1, 0.021, 9e-5, start_s=5.0), 0.864, 1.2, 12.0, 2.0, 0.045, 0.02)
    bench.entry.take(log_text(quick))
    assert bench.picture.value != before
    assert fresh.found.fit.tested_rpm == pytest.approx(900, abs=2)
    bench.entry.take("0 100\n1 200\n2 300\n3 400\n4 500\n5 600\n6 700\n7 800\n8 900")
    assert "steady speed" in bench.notice.value


def test_a_log_of_a_display_is_reckoned_with_its_lag(page):
    fresh = ResistorBrakePage(page.machine)
    truth = BrakedTruth(Truth(1196.0, 3.1, 0.021, 9e-5, start_s=6.0), 0.864, 1.2, 12.0, 2.0, 0.045, 0.03)
    speed_rpm, _ = truth.run()
    fine_s = np.arange(0, 16, 0.005)
    true = speed_rpm(fine_s)
    shown = np.empty_like(true)
    shown[0] = true[0]
    for place in range(1, fine_s.size):
        shown[place] = shown[place - 1] + (true[place] - shown[place - 1]) * 0.005 / 0.8
    rows = np.cumsum(0.1 * (1 + 0.3 * np.random.default_rng(2).uniform(-1, 1, 155)))
    held = np.round(np.interp(0.07 + 0.25 * np.floor((rows - 0.07) / 0.25), fine_s, shown))
    fresh.entry.take("\n".join(f"{t:.2f} {n:.0f}" for t, n in zip(rows, held, strict=True)))
    found = fresh.analyse(fresh.entry.readings)
    assert "lag of 0.8 s" in found.fit.notes[-1]
    assert found.fit.brake_time_constant_s.value == pytest.approx(0.7957, rel=0.05)


def test_encoder_counts_are_a_log_too(page):
    fresh = ResistorBrakePage(page.machine)
    truth = BrakedTruth(Truth(1000.0, 3.1, 0.021, 9e-5, start_s=5.0), 0.864, 1.2, 12.0, 2.0, 0.045, 0.1)
    _, turns = truth.run()
    time_s = np.arange(0, 10, 0.02)
    counts = np.floor(2700 * (turns(time_s) - turns(time_s[:1])))
    rows = "\n".join(f"{t:.2f} {n:.0f}" for t, n in zip(time_s, counts, strict=True))
    fresh.entry.take(f"time_s count\n{rows}")
    found = fresh.analyse(fresh.entry.readings)
    assert found.fit.contact_delay_s.value == pytest.approx(0.1, abs=0.03)


def test_the_nearest_limit_is_the_least_and_unknown_ones_do_not_count(numbers):
    limits = current_limits(numbers)
    assert nearest(numbers).limit_a == min(limits.values())
    assert nearest(numbers).concern == PULSE
    metric = brake_numbers(load(METRIC), None)
    assert np.isnan(current_limits(metric)[PULSE])
    assert np.isnan(current_limits(metric)[CONTACT])
    assert nearest(metric).concern == COMMUTATOR


def test_the_heat_table_adds_up_to_the_energy_of_rotation(numbers):
    shown = heat_table(numbers, 100.0)
    for place, rpm in enumerate((1400, 100)):
        total = sum(float(words.split()[0]) for words in shown.iloc[:4, place])
        assert total == pytest.approx(0.045 * (rpm * np.pi / 30) ** 2 / 2, rel=5e-3)
    assert "W" in shown.loc["winding's mean power, on top of the work's"].iloc[0]


def test_a_brake_just_at_the_belts_limit_pulls_the_belt_with_the_torque_at_which_it_slips(numbers):
    """By the law of the run itself: the resistor that draws this current, and what it does to the spindle."""
    limit_a = belt_limit_a(numbers)
    circuit = {name: value for name, value in numbers.circuit.items() if name != "resistor_ohm"}
    at_limit = {name: value for name, value in circuit.items() if name != "inertia_kg_m2"}
    ohm = float(resistor_for_current_ohm(limit_a, start_speed_rpm=numbers.top_rpm, **at_limit))
    hardest = stop(numbers.top_rpm, resistor_ohm=ohm, **circuit, **numbers.drags)
    driven = 0.045 - 0.0009 * 3**2
    assert hardest.peak_current_a == pytest.approx(limit_a)
    assert hardest.peak_deceleration_rad_s2 * driven / 3 == pytest.approx(4.0, rel=1e-6)


def test_the_resistor_in_the_table_keeps_the_turns_that_are_wanted(numbers):
    """By an integration of the whole stop, the contact's delay in it."""
    shown = resistors_table(numbers, 3.0)["for at most 3 turns"]
    ohm = float(shown["300 rpm"].split()[0])
    truth = BrakedTruth(
        Truth(300.0, numbers.drags["coulomb_rad_s2"], 0.0, 0.0), 0.864, 1.2, ohm, 2.0, 0.045, 0.03
    )
    _, state = truth.stop(300.0)
    assert state[ANGLE] / (2 * np.pi) == pytest.approx(3.0, rel=0.02)
    assert "TOO MUCH" in shown["1400 rpm"]


@pytest.mark.parametrize(
    ("changed", "wanted", "words"),
    [
        ({"contact_delay_s": 0.2}, 3.0, "gone before the contact closes"),
        ({"armature_resistance_ohm": 12.0}, 3.0, "not even the motor short-circuited"),
        ({}, 500.0, "no brake is needed"),
    ],
)
def test_turns_that_no_resistor_gives_or_that_need_none_are_told(numbers, changed, wanted, words):
    assert words in resistors_table(replace(numbers, **changed), wanted).loc["1400 rpm"].iloc[-1]


def test_without_wanted_turns_an_ordinary_run_out_is_taken(numbers):
    assert "for at most 3 turns" in resistors_table(numbers, None).columns


def test_no_source_in_a_table_is_cut_off(monkeypatch):
    monkeypatch.setenv("MACHINELAB_MACHINE", str(DEMO))
    shown = ResistorBrakePage.open().limits()._repr_html_()
    assert "the data sheet's pulse curve comes first" in shown
    assert "...</td>" not in shown


def test_a_belt_that_slips_first_is_the_nearest_limit_and_teeth_never_slip(numbers):
    assert nearest(replace(numbers, slip_torque_nm=2.0)).concern == BELT
    assert np.isnan(current_limits(replace(numbers, slip_torque_nm=np.nan))[BELT])
    assert BELT not in current_limits(brake_numbers(load(METRIC), None))


def test_a_plain_diode_costs_the_turns_of_its_wait(page):
    waits = page.waits()
    diode = waits.loc["small relay with a plain diode across its coil"]
    assert float(diode["turns at 1400 rpm"]) == pytest.approx(1400 / 60 * 0.2, rel=0.02)
    assert "10.8 A at 130 V" in page.overlap().text


def test_a_bleed_resistor_that_takes_too_long_is_told_with_one_that_does_not():
    """0.56 s a kilohm at worst for the demo's capacitors: 1.2 C, 1.05 R, 1.1 V down to 60 V."""
    quick, slow = load(DEMO), load(METRIC)
    worst_s = 1.05 * 6.8e3 * 1.2 * 470e-6 * np.log(1.1 * 170 / 60)
    assert f"after {worst_s:.2g} s at worst" in next(brake_advice.capacitors(quick))
    assert "notice beside the lid" not in next(brake_advice.capacitors(quick))
    assert "fit at most 6.7 kohm" in next(brake_advice.capacitors(slow))
    assert list(brake_advice.capacitors(empty())) == []


def test_a_hot_brake_takes_longer_and_two_stages_less_than_one(numbers):
    assert hot_stop(numbers).turns > top_stop(numbers).turns
    times = [float(words.split()[0]) for words in stages_table(numbers)["time"] if words]
    assert times[0] == max(times)


def test_the_proposed_resistor_spares_the_motor():
    numbers = brake_numbers(load(METRIC), None)
    assert not numbers.fitted
    peak = stop(numbers.top_rpm, **numbers.circuit, **numbers.drags).peak_current_a
    assert peak <= nearest(numbers).limit_a
    assert peak > 0.8 * nearest(numbers).limit_a


def test_another_inertia_keeps_the_friction_in_newton_metres(numbers):
    heavy = numbers.with_inertia(0.09)
    assert heavy.drags["coulomb_rad_s2"] == pytest.approx(numbers.drags["coulomb_rad_s2"] / 2)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"resistor_ohm": 24.0}, "resistor"),
        ({"speed_rpm": 500.0}, "speed"),
        ({"inertia_kg_m2": 0.1}, "inertia"),
    ],
)
def test_each_input_of_the_view_changes_the_stop(numbers, changed, words):
    own = {"resistor_ohm": 12.0, "speed_rpm": 1400.0, "inertia_kg_m2": 0.045}
    one, other = (view_brake(numbers, Wanted(2.5, 3.0), **(own | more)) for more in ({}, changed))
    assert one.found.time_s != other.found.time_s, words
    assert one.headline != other.headline


def test_without_a_brake_the_page_says_what_one_would_change_and_asks_nothing():
    page = ResistorBrakePage(load(METRIC))
    assert page.still_needed is None
    assert "This machine has no brake. A resistor of" in page.about().text
    told = {name for name in PREDICTED if isinstance(getattr(page, name)(), Said)}
    assert told == {"about", "binding", "overlap"}
    assert all(getattr(page, name) is NO_BRAKE for name in MEASURED)
    assert page.bench is NO_BRAKE
    assert page.record_line() is None
    assert "metric bench lathe" in page.share_text.text


def test_a_machine_without_brake_and_without_motor_figures_is_asked_for_those(tmp_path):
    (tmp_path / "machine.toml").write_text("[brake]\nfitted = false\n")
    page = ResistorBrakePage(load(tmp_path))
    assert "armature_resistance" in page.still_needed.text
    assert "resistor = " not in page.still_needed.text.replace("armature_resistance = ", "")
    assert page.about() is WAITING


def test_an_empty_machine_waits_kindly_everywhere():
    page = ResistorBrakePage(empty())
    assert all(getattr(page, name)() is WAITING for name in PREDICTED)
    assert all(getattr(page, name) is NO_RUN for name in MEASURED)
    assert page.bench is NO_RUN
    assert page.post() is None
    assert "resistor" in page._repr_markdown_()


def test_a_brake_without_a_log_says_so(tmp_path):
    (tmp_path / "machine.toml").write_text((DEMO / "machine.toml").read_text())
    page = ResistorBrakePage(load(tmp_path))
    assert page.run_picture is NO_RUN
    assert isinstance(page.picture(), Picture)
    assert page.numbers.assumed[0].startswith("dry friction")
    assert "Designed and measured" not in page.share_text.text


def test_a_flanged_chuck_needs_no_word_about_unscrewing(tmp_path):
    text = (DEMO / "machine.toml").read_text().replace('nose = "screw-on"', 'nose = "flange"')
    (tmp_path / "machine.toml").write_text(text)
    assert "unscrews" not in ResistorBrakePage(load(tmp_path)).binding().text
    assert "unscrews" in ResistorBrakePage(load(DEMO)).binding().text


def test_a_very_hard_stop_of_a_screw_on_chuck_is_cautioned(tmp_path):
    text = (DEMO / "machine.toml").read_text().replace('resistor = "12 ohm"', 'resistor = "1 ohm"')
    (tmp_path / "machine.toml").write_text(text)
    page = ResistorBrakePage(load(tmp_path))
    assert "no stop shorter than 2 s" in page.binding().text
    assert "TOO MUCH" in set(page.limits()["so"])


def test_each_measurement_takes_the_log_that_is_named_for_it():
    machine = load(DEMO)
    assert [file.name for file in logs_for(BRAKED, machine)] == ["braked_run_down.csv"]
    assert [file.name for file in logs_for(METER_STEP, machine)] == ["meter_step.csv"]
    assert [file.name for file in logs_for(DISC, machine)] == ["disc_run_down.csv"]
    assert logs_for(COAST, machine)[0].name == "free_run_down.csv"
    assert CoastDownPage(machine).entry.readings.name == "free_run_down.csv"
    assert logs_for(COAST, empty()) == []


def test_a_log_whose_name_says_nothing_may_be_a_coast(tmp_path):
    (tmp_path / "logs").mkdir()
    for name in ("monday.csv", "brake.csv", "Coast 2.csv"):
        (tmp_path / "logs" / name).touch()
    machine = SimpleNamespace(folder=tmp_path)
    assert [file.name for file in logs_for(COAST, machine)] == ["Coast 2.csv", "monday.csv"]
    assert [file.name for file in logs_for(BRAKED, machine)] == ["brake.csv"]
