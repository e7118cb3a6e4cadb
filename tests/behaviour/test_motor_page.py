"""Page 03: what it says of the demo, of a quite different machine, and of one not known at all."""

import math
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest
from simulate.motor_bench import ARMATURE_OHM, BACK_EMF, BRUSH_V, friction_nm, tables

from machinelab.errors import LogError
from machinelab.spindle.motor_limits import DRIVE, HEAT, continuous_envelope
from machinelab.workbook.belt_check import belt_table
from machinelab.workbook.drive_numbers import drive_numbers
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import load
from machinelab.workbook.machine.file import parse
from machinelab.workbook.motor_tests import TESTS, motor_tests
from machinelab.workbook.pages.motor_and_pulleys import NOT_MEASURED, READ_OFF_RPM, MotorAndPulleysPage
from machinelab.workbook.pages.page import WAITING
from machinelab.workbook.typed_table import read_columns
from machinelab.workbook.work_asked import cut_carried_mm, drill_carried_mm, threads_asked, usual_cuts

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": HOUSE / "notebooks/machines/demo",
    "metric": HOUSE / "tests/machines/metric",
    "empty": HOUSE / "tests/machines/empty",
}
WAITING_CELLS = (
    "heat",
    "working",
    "assumed",
    "picture",
    "panel",
    "belt",
    "knob",
    "constants",
    "compared",
    "ratios",
    "decision",
    "mind",
)


def own_copy(name, tmp_path):
    folder = tmp_path / name
    shutil.copytree(MACHINES[name], folder)
    (folder / "readings.toml").unlink(missing_ok=True)
    return load(folder)


def changed(**lines):
    """The demo machine with some lines of its motor changed, or taken out when None."""
    text = (MACHINES["demo"] / "machine.toml").read_text()
    for key, new in lines.items():
        old = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
        text = text.replace(old, "" if new is None else f'{key} = "{new}"', 1)
    return parse(text)


@pytest.fixture
def page(tmp_path):
    return MotorAndPulleysPage(own_copy("demo", tmp_path))


@pytest.fixture
def measured(page):
    for name, text in tables().items():
        page.bench.type_in(name, text)
    return page


@pytest.mark.parametrize("name", ["demo", "metric"])
def test_every_cell_has_an_answer(name, tmp_path):
    page = MotorAndPulleysPage(own_copy(name, tmp_path))
    for cell in WAITING_CELLS:
        assert getattr(page, cell)() is not WAITING, cell
    assert isinstance(page.picture(), Picture)
    assert page.post().text()


def test_with_an_empty_machine_every_cell_waits_but_the_bench_does_not(tmp_path):
    page = MotorAndPulleysPage(own_copy("empty", tmp_path))
    assert {getattr(page, cell)() for cell in WAITING_CELLS} == {WAITING}
    assert page.post() is None
    assert page.record_line() is None
    page.bench.type_in("light", tables()["light"])
    assert "hold the shaft still first" in page.tested.text
    page.bench.type_in("locked", tables()["locked"])
    page.bench.type_in("generator", tables()["generator"])
    assert page.verdict().word == "MET"
    assert "armature_resistance" in page.to_write.text


def test_before_anything_is_measured_the_page_says_so(page):
    assert page.tested == page.verdict() == page.to_write == page.bench_picture == NOT_MEASURED
    assert page.record_line() is None
    assert "not measured yet" in page.compared().to_string()


def test_the_readings_kept_with_the_demo_are_the_simulated_ones():
    kept = tomllib.loads((MACHINES["demo"] / "readings.toml").read_text())["step-03"]
    assert {name: kept[name].strip() for name in TESTS} == tables()


def test_the_bench_finds_the_constants_that_the_readings_were_made_with(measured):
    found = measured.found
    for estimate, truth in ((found.back_emf, BACK_EMF), (found.brush_drop, BRUSH_V)):
        assert estimate.interval[0] <= truth <= estimate.interval[1]
    assert found.resistance.interval[0] <= ARMATURE_OHM <= found.resistance.interval[1]
    mean_friction = np.mean([friction_nm(rpm) for rpm in (500, 1000, 1500, 2000, 3000, 4000)])
    assert found.light.no_load_torque_nm == pytest.approx(mean_friction, rel=0.01)
    assert found.ohmmeter.film_dominated
    assert found.running.condition_number < 30
    assert not found.problems


def test_what_was_measured_takes_the_place_of_the_machine_file(measured):
    train = measured.train
    assert train.armature_resistance_ohm == measured.found.resistance.value != 1.2
    assert train.no_load_torque_nm == measured.found.light.no_load_torque_nm
    filed = continuous_envelope(READ_OFF_RPM, measured.numbers.train).torque_nm
    assert continuous_envelope(READ_OFF_RPM, train).torque_nm > filed
    assert isinstance(measured.bench_picture, Picture)


@pytest.mark.parametrize("name", list(TESTS))
def test_each_box_of_the_bench_changes_what_is_said_and_can_be_emptied_again(page, name):
    before = page.bench.told.value
    page.bench.type_in(name, tables()[name])
    assert page.bench.told.value != before
    page.bench.type_in(name, "")
    assert page.bench.told.value == before


def test_what_was_typed_at_the_bench_is_there_again_next_time(page):
    page.bench.type_in("generator", tables()["generator"])
    again = MotorAndPulleysPage(load(page.machine.folder))
    assert again.found.generator.back_emf == page.found.generator.back_emf


def test_a_slip_in_a_box_is_answered_with_its_line_and_the_good_readings_stay(page):
    page.bench.type_in("generator", tables()["generator"])
    page.bench.type_in("generator", "1000 30,2")
    notice = page.bench.entries["generator"].notice.value
    assert "Line 1" in notice
    assert "point for decimals" in notice
    assert page.found.generator is not None


def test_tables_that_cannot_be_worked_out_are_told_and_spoil_nothing_else(page):
    page.bench.type_in("locked", "3.8 1.5 0\n3.9 1.5 60")
    page.bench.type_in("generator", tables()["generator"])
    assert "2 angles of the shaft" in page.tested.text
    assert page.found.back_emf is not None


def test_two_ways_that_disagree_are_not_met_and_told_why(page):
    page.bench.type_in("locked", tables()["locked"])
    page.bench.type_in("generator", tables()["generator"])
    weak = "\n".join(
        f"{rpm} {0.9 * BACK_EMF * rpm * np.pi / 30 + 2.4:.1f} 0.4" for rpm in (1000, 2000, 3000, 4000)
    )
    page.bench.type_in("light", weak)
    assert page.verdict().word == "NOT MET"
    assert "off neutral" in page.tested.text


def test_a_filled_bench_brings_a_line_for_the_record_and_a_post(measured):
    line = measured.record_line()
    assert abs(line["value"]) < 1
    assert (line["lower"], line["upper"], line["unit"]) == (-3.0, 3.0, "%")
    assert measured.record_box.line()["quantity"] == line["quantity"]
    assert "Turned by a drill" in measured.post().text()


def test_the_guess_stands_beside_the_figures(page):
    page.guess.type_in("50 lbf in")
    assert "50 lbf in" in page.compared().to_string()


def test_torque_as_shown_is_the_formula_worked_by_hand(page):
    """Motor at 300 rpm: cooling 0.35 + 0.65 (300/4000)^0.8, current by its root, 0.288 N m/A, 3:1, 95 %."""
    amperes = 6 * math.sqrt(0.35 + 0.65 * (300 / 4000) ** 0.8)
    torque = 3 * 0.95 * (0.288 * amperes - 0.08 * 6 * 0.288)
    assert page.working().result == pytest.approx(torque, rel=1e-12)
    assert page.view().here.torque_nm == pytest.approx(torque, rel=1e-12)


@pytest.mark.parametrize(
    ("control", "low", "high"),
    [
        ("motor_pulley", "40 mm", "80 mm"),
        ("spindle_pulley", "100 mm", "250 mm"),
        ("supply_v", "60 V", "160 V"),
        ("speed_rpm", "50 rpm", "1000 rpm"),
    ],
)
def test_each_control_of_the_panel_changes_picture_and_words(page, control, low, high):
    panel = page.panel()
    seen = set()
    for text in (low, high):
        panel.controls[control].type_in(text)
        seen.add((panel.picture.value, panel.chart.alt))
        assert "Please look" not in panel.notice.value
    assert len(seen) == 2


def test_a_toothed_drive_is_moved_by_its_teeth_and_a_direct_one_by_any_pulleys(tmp_path):
    metric = MotorAndPulleysPage(own_copy("metric", tmp_path))
    assert metric.panel().controls["motor_pulley"].value == 20
    direct = MotorAndPulleysPage(
        changed(belt="none", motor_pulley=None, spindle_pulley=None, belt_length=None, centre_distance=None)
    )
    assert direct.view().train.motor_turns_per_spindle_turn == 1
    assert direct.belt().text.startswith("This drive has no belt")
    assert "1 to 1, as built" in direct.ratios().columns


def test_the_ratio_as_built_stands_in_the_table_and_a_larger_one_gives_more_and_turns_slower(page):
    table = page.ratios()
    assert "3 to 1, as built" in table.columns
    tops = [float(cell.split()[0]) for cell in table.loc["top speed"]]
    torques = [float(cell.split()[0]) for cell in table.loc["100 rpm, for hours"]]
    assert tops == sorted(tops, reverse=True)
    assert torques == sorted(torques)
    assert tops[1] == 1400
    inertia = [float(cell.split()[0]) for cell in table.loc["inertia at the spindle"]]
    # 9 kg cm2 of armature counts 3^2 times as built and 6^2 times in the last column.
    assert inertia[1] == pytest.approx(450)
    assert inertia[3] - inertia[1] == pytest.approx(9 * (36 - 9), abs=1)


def test_each_thread_has_its_row_with_the_torque_in_hand(page):
    table, asked = page.ratios(), threads_asked(page.machine)
    short = [float(cell.split()[0]) for cell in table.loc["100 rpm, for a short time"]]
    assert {f"carries {one.words}, 100 rpm" for one in asked} <= set(table.index)
    hardest = max(asked, key=lambda one: one.torque_nm)
    answers, times = zip(
        *(cell.removesuffix(" times").split(", ") for cell in table.loc[f"carries {hardest.words}, 100 rpm"]),
        strict=True,
    )
    assert answers == ("NO", "yes", "yes", "yes")
    wanted = [one / hardest.torque_nm for one in short]
    assert [float(one) for one in times] == pytest.approx(wanted, rel=0.05)


def test_the_most_power_is_the_same_with_every_ratio_and_comes_sooner_with_a_larger_one(page):
    table = page.ratios()
    powers, speeds = (
        [float(cell.split()[0]) for cell in table.loc[row]]
        for row in ("most power, for hours", "which comes at")
    )
    assert powers == pytest.approx([powers[0]] * 4, rel=2e-3)
    assert speeds == pytest.approx([speeds[0] * 2 / ratio for ratio in (2, 3, 4.5, 6)], rel=5e-3)
    assert f"Below {speeds[1]:.0f} rpm the depth of a cut is limited by torque" in page.decision().text


def test_a_hot_motor_takes_more_current_and_more_heat_for_the_same_torque(page):
    """Worked by hand: copper 0.393 % a degree over 80 degrees, ferrite 0.2 % over 60."""
    told = page.mind().text
    ohms, share = page.train.armature_resistance_ohm * 1.3144, 0.88
    assert f"the armature has {ohms:.3g} ohm and each ampere makes 12 % less torque" in told
    grown = 1.3144 / share**2
    assert f"takes {6 / share:.3g} A, makes {grown:.2g} times the heat" in told
    assert f"sags {grown:.2g} times as far" in told


def test_a_belt_that_slips_below_the_drives_limit_sets_the_torque():
    slipping = MotorAndPulleysPage(changed(slip_torque="1.5 N m"))
    assert slipping.ratios().loc["100 rpm, for a short time"].iloc[1] == "4.5 N m · 40 lbf in"
    assert "1.5 N m" in slipping.belt().loc["slips at, on the motor's pulley", "found"]
    unknown = MotorAndPulleysPage(changed(slip_torque=None))
    assert "a belt that does not slip" in unknown.assumed().text
    assert "slips at, on the motor's pulley" not in unknown.belt().index


def test_a_thread_that_is_too_much_is_named_and_the_ratio_that_carries_it(tmp_path):
    page = MotorAndPulleysPage(changed(drive_current="6 A"))
    assert "Not carried as built: Tr14x3" in page.decision().text
    assert "4.5 to 1" in page.decision().text
    assert "Every thread" in MotorAndPulleysPage(own_copy("demo", tmp_path)).decision().text


def test_a_machine_without_threads_is_asked_for_them():
    text = (MACHINES["demo"] / "machine.toml").read_text()
    head, _, rest = text.partition("[[thread]]")
    page = MotorAndPulleysPage(parse(head + rest[rest.index("[target]") :]))
    assert "add them on page 01" in page.decision().text
    assert [one.words for one in page.asked] == [usual_cuts()[0].words]


def test_a_motor_that_could_turn_the_spindle_too_fast_is_said_to_waste_torque():
    assert (
        "a larger ratio costs nothing" in MotorAndPulleysPage(changed(spindle_pulley="80 mm")).decision().text
    )


def test_what_the_file_does_not_say_is_named_where_it_was_assumed():
    told = " ".join(drive_numbers(changed(brush_drop=None, drive_current=None, rated_speed=None)).assumed)
    assert "2 V lost at the brushes" in told
    assert "no current limit of the drive" in told
    assert "a rated speed of 4000 rpm" not in told
    assert "a rated speed of" in told
    assert "form factor of 1.4" in " ".join(drive_numbers(changed(drive="phase-controlled")).assumed)
    assert "as if the current were smooth" in " ".join(drive_numbers(changed(drive="not known")).assumed)


def test_a_phase_controlled_drive_costs_a_quarter_of_the_current_for_hours(tmp_path):
    smooth = MotorAndPulleysPage(own_copy("demo", tmp_path)).heat().result
    assert MotorAndPulleysPage(changed(drive="phase-controlled")).heat().result == pytest.approx(
        0.75 * smooth
    )


def test_overload_is_told_in_minutes_and_in_seconds(page):
    assert "minutes" in page.mind().text
    assert "seconds" in page.mind().text
    assert "18 A" in page.mind().text


def test_the_belt_asks_the_distance_that_its_length_gives(page):
    table = page.belt()
    assert table.loc["distance that its length asks", "found"].startswith("281.5 mm")
    assert table.loc["wrap on it", "found"] == "160°"
    assert "too short" in belt_table(changed(belt_length="300 mm")).to_string()


def test_the_heaviest_thread_is_the_coarse_one_and_cuts_that_a_torque_carries_come_back(page):
    asked = {one.words: one.torque_nm for one in threads_asked(page.machine)}
    assert max(asked, key=asked.get) == "Tr14x3"
    turning, drilling = usual_cuts()
    assert cut_carried_mm(turning.torque_nm) == pytest.approx(1.0)
    assert drill_carried_mm(drilling.torque_nm) == pytest.approx(10.0)


def test_the_limits_named_follow_the_drive(page):
    view = page.view()
    assert (str(view.here.binding), str(view.here_short.binding)) == (HEAT, DRIVE)
    assert HEAT in view.headline
    assert "Tr14x3" in view.details


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "No figures"),
        ("rpm volts", "No figures"),
        ("1000 30.1\n2000", "Line 2: '2000' has 1 figures"),
        ("1000 30.1 4", "has 3 figures"),
        ("1000 30,1", "point for decimals"),
        ("1000 30.1V", "without their units"),
        ("1000 1e999", "beyond a million"),
        ("1000 nan", "no number|beyond"),
        ("1 1\n" * 10_001, "10000 are the most"),
    ],
)
def test_tables_that_cannot_be_read_are_refused_in_words(typed, words):
    with pytest.raises(LogError, match=words):
        read_columns(typed, ("rpm", "volts"), "1000 30.2")


def test_headings_remarks_minus_signs_and_semicolons_are_taken_as_they_come():
    text = "speed; volts\n# cold\n\n1000; 30.2 # first\n\N{MINUS SIGN}2000 -60.1\r\n"
    assert read_columns(text.encode(), ("rpm", "volts"), "").tolist() == [[1000, 30.2], [-2000, -60.1]]


def test_bench_tables_of_any_typed_figures_end_in_words_never_in_a_traceback(page):
    train = page.numbers.train
    for rows in (
        np.zeros((8, 3)),
        np.full((8, 3), 1e6),
        np.full((8, 3), 1e-300),
        -np.ones((3, 3)),
        np.eye(8, 3),
    ):
        found = motor_tests({name: rows[:, : len(test.columns)] for name, test in TESTS.items()}, train)
        assert found.told()
