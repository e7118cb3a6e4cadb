"""Page 10: speeds that the trade knows, own stops that count from then on, kind words without a brake."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from simulate.own_stops import MEDIAN_S, SPEED_RPM, as_typed, stops_past_mark

from machinelab.threads.shoulder_groove import standard_groove_mm
from machinelab.workbook import shoulder_advice
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import empty, load, save
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.own_stops import COUNTS, MILLIMETRES, TURNS, own_stops
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.page import WAITING, Said
from machinelab.workbook.pages.resistor_brake import ResistorBrakePage
from machinelab.workbook.pages.threading import NO_STOPS, ThreadingPage
from machinelab.workbook.panels.shoulder import as_set, view_shoulder
from machinelab.workbook.readings import Readings
from machinelab.workbook.record import Record
from machinelab.workbook.shoulder_machine import COUNT, HAND, OWN, numbers_with_a_usual_hand, shoulder_numbers
from machinelab.workbook.shoulder_numbers import GROOVE, groove_limit_rpm, groove_of, highest_speed
from machinelab.workbook.shoulder_pass import emergency_table
from machinelab.workbook.shoulder_proof import needed_groove
from machinelab.workbook.shoulder_sheet import sheet_rows
from machinelab.workbook.shoulder_tables import changes, gains_table, standard_table

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
PREDICTED = ("choice", "about", "working", "groove_working", "picture", "panel", "standard", "standard_words")
PREDICTED += (
    "events",
    "heat",
    "emergency",
    "bench",
    "compared",
    "judged",
    "gains",
    "slopes",
    "ways",
    "sheet",
)
PITCH_1_5 = ThreadToCut.model_construct(pitch_mm=1.5, starts=1, hand="right")


@pytest.fixture(scope="module")
def page():
    return ThreadingPage(load(DEMO))


@pytest.fixture(scope="module")
def usual():
    return numbers_with_a_usual_hand(load(DEMO))


@pytest.fixture
def copy(tmp_path):
    """The demo machine in a folder that may be written to."""
    folder = tmp_path / "own"
    shutil.copytree(DEMO, folder)
    return folder


def answer(page, name):
    found = getattr(page, name)
    return found() if callable(found) else found


def settings(numbers, **changed):
    return as_set(numbers, speed_rpm=120.0, groove_mm=3.5) | changed


def test_about_100_rpm_is_comfortable_and_500_far_too_fast_for_a_normal_groove(usual):
    """The trade's own figures for small lathes with a brake: common practice, no source."""
    normal = float(standard_groove_mm(1.5))
    assert groove_limit_rpm(usual, PITCH_1_5, normal) > 100
    needed = needed_groove(usual, lead_mm=1.5, speed_rpm=500)
    assert needed.interval[0] > 3 * normal
    comfortable = needed_groove(usual, lead_mm=1.5, speed_rpm=100)
    assert comfortable.interval[1] < normal


def test_the_headline_is_nearly_one_number_for_the_machine(usual):
    table = standard_table(usual)
    from_one_mm = table.iloc[2:]
    speeds, counted = (
        [int(text) for text in from_one_mm[column]] for column in ("rpm", "rpm by a count, regular")
    )
    assert max(speeds) < 1.5 * min(speeds)
    assert all(by_count > by_hand for by_count, by_hand in zip(counted, speeds, strict=True))
    told = shoulder_advice.one_number(usual)
    assert f"{min(speeds)} to {max(speeds)} rpm" in told


def test_brake_and_friction_come_from_the_logs_and_the_contact_is_the_late_one(usual):
    assert usual.stopping.contact_delay_s == pytest.approx(0.17, abs=0.01)
    assert usual.stopping.coulomb_rad_s2 == pytest.approx(3.1, rel=0.02)
    assert "free run of step 05" in usual.where_from[0]
    assert "0.17 s after the drive" in usual.where_from[1]


def test_without_logs_the_design_and_a_usual_spindle_stand_in(copy):
    shutil.rmtree(copy / "logs")
    found = numbers_with_a_usual_hand(load(copy))
    assert found.stopping.contact_delay_s == 0.03
    assert "common practice" in found.where_from[0]
    assert "as designed" in found.where_from[1]


def test_when_the_logs_are_gone_the_record_of_the_runs_stands_in(copy):
    machine = load(copy)
    measured = numbers_with_a_usual_hand(machine)
    for page in (CoastDownPage(machine), ResistorBrakePage(machine)):
        Record(copy).add(**page.record_line())
    shutil.rmtree(copy / "logs")
    found = numbers_with_a_usual_hand(load(copy))
    assert found.stopping.contact_delay_s == pytest.approx(measured.stopping.contact_delay_s, abs=0.005)
    assert found.stopping.brake_drag_per_s == pytest.approx(measured.stopping.brake_drag_per_s, rel=0.01)
    dry = found.stopping.coulomb_rad_s2
    assert measured.stopping.coulomb_rad_s2 < dry < 1.8 * measured.stopping.coulomb_rad_s2
    assert "record of step 05" in found.where_from[0]
    assert "as measured in step 06" in found.where_from[1]


def test_a_run_withdrawn_from_the_record_counts_no_more(copy):
    line = Record(copy).add(**ResistorBrakePage(load(copy)).record_line())
    Record(copy).void(line.id, "the belt slipped")
    shutil.rmtree(copy / "logs")
    assert "as designed" in numbers_with_a_usual_hand(load(copy)).where_from[1]


def test_what_the_machine_file_leaves_out_is_told(copy):
    lines = (copy / "machine.toml").read_text().splitlines(keepends=True)
    left_out = ("retract =", "clearance =", "tool_half_width =")
    (copy / "machine.toml").write_text("".join(line for line in lines if not line.startswith(left_out)))
    told = " ".join(numbers_with_a_usual_hand(load(copy)).where_from)
    for words in ("to draw the tool back", "air at the wall", "beside its point"):
        assert words in told


@pytest.mark.slow
def test_no_feasible_speed_is_said_with_what_would_do(copy):
    """A tool twice as wide beside its point leaves too little of the groove."""
    save({"threading.tool_half_width": "1 mm"}, copy)
    page = ThreadingPage(load(copy))
    row = next(one for one in page.rows if one.name == "M10x1")
    assert not row.speed.feasible
    assert row.speed.limit == GROOVE
    line = next(one for one in page.decision().text.splitlines() if "M10x1" in one)
    assert "No feasible speed" in line
    assert "a groove 1 mm wider" in line
    assert "stopped by a count" in line


def test_the_late_contact_is_told_first_and_the_screw_on_chuck_as_well(page):
    lines = page.decision().text.splitlines()
    assert "0.17 s" in lines[0]
    assert "not 0.03 s" in lines[0]
    assert "this chuck screws on" in lines[-3]
    assert "no faster than 400 rpm" in lines[-2]
    assert "before the spindle reverses" in lines[-1]


def test_the_lowest_of_all_limits_sets_the_speed(page):
    cup = highest_speed(page.machine, page.machine.threads[1], page.numbers)
    assert cup.feasible
    assert cup.speed_rpm <= min(cup.limits.values())
    assert cup.speed_rpm % 5 == 0
    wide = page.machine.threads[1].model_copy(update={"groove_mm": 90.0})
    other = highest_speed(page.machine, wide, page.numbers)
    assert other.limit != GROOVE
    assert other.speed_rpm <= other.limits[other.limit]


def test_a_band_below_the_speed_in_which_the_stepper_shakes_is_told(page):
    slow = [one.model_copy(update={"groove_mm": 2.7}) for one in page.machine.threads[:1]]
    row = sheet_rows(page.machine.model_copy(update={"threads": tuple(slow)}), page.numbers)[0]
    assert row.speed.feasible
    assert 60 <= row.speed.speed_rpm < 100
    assert "keep out of 42 to 63 rpm (shakes)" in row.line


def test_the_carriage_trails_by_far_less_than_a_full_step(page):
    """A full step of the demo is 3.175 mm over 200 steps and a gearing of 5/2: 6.35 um."""
    told = page.heat().loc["carriage behind the spindle in the cut"].iloc[0]
    assert 0 < float(told.split()[0]) < 6.35 / 5


def test_the_cutting_speed_is_a_limit_as_well_and_the_groove_comes_long_before_it(page):
    """The trap of reckoning a threading speed from the surface speed alone."""
    for row in page.rows:
        assert row.speed.limits["the cutting speed of high-speed steel"] > 1.5 * row.speed.limits[GROOVE]


def test_a_tool_that_fills_its_groove_allows_no_speed(page):
    narrow = page.machine.threads[1].model_copy(update={"groove_mm": 0.7})
    found = highest_speed(page.machine, narrow, page.numbers)
    assert not found.feasible
    assert "has no room" in found.words


def test_a_groove_not_drawn_is_the_standards_or_the_widest_accepted():
    machine = load(DEMO)
    open_end = machine.threads[2].model_copy(update={"groove_mm": None})
    assert groove_of(machine, open_end).width_mm == 3.5
    coarse = open_end.model_copy(update={"pitch_mm": 3})
    assert groove_of(machine, coarse).width_mm == 4.0
    assert "accept" in groove_of(machine, coarse).where_from


def test_the_demos_own_stops_are_those_of_its_script_and_tell_the_hand_that_made_them(page):
    kept = Readings(DEMO).of("10")
    assert kept["stops"].strip() == as_typed(stops_past_mark())
    assert float(kept["stops_speed"].split()[0]) == SPEED_RPM
    assert page.stops.median_s == pytest.approx(MEDIAN_S, abs=0.05)
    assert page.numbers.stopped_by == OWN


@pytest.mark.slow
def test_own_stops_are_kept_and_used_from_then_on(copy):
    fresh = ThreadingPage(load(copy))
    before = fresh.highest.limits[GROOVE]
    slow = "\n".join(f"{turns + 0.4:.2f}" for turns in stops_past_mark())
    fresh.own_stops.type_in(slow)
    assert fresh.highest.limits[GROOVE] < before
    assert shoulder_numbers(load(copy)).reaction_s == pytest.approx(fresh.stops.median_s)
    fresh.own_stops.type_in("")
    assert shoulder_numbers(load(copy)).stopped_by == HAND
    assert fresh.own_words is NO_STOPS
    assert fresh.record_line() is None


def test_stops_in_turns_millimetres_and_counts_are_the_same_stops(usual):
    turns = stops_past_mark()
    given = {"speed_rpm": 80.0, "lead_mm": 1.5, "counts_per_turn": 2700, "stopping": usual.stopping}
    found = [
        own_stops(turns * scale, unit=unit, **given)
        for unit, scale in ((TURNS, 1), (MILLIMETRES, 1.5), (COUNTS, 2700))
    ]
    for one in found[1:]:
        assert one.reactions_s == pytest.approx(found[0].reactions_s, rel=1e-9)


def test_what_cannot_be_used_of_the_stops_is_said_beside_the_box(page):
    fresh = ThreadingPage(page.machine)
    fresh.own_stops.type_in("1.4\n1.5\n1.6")
    assert "10 at least" in fresh.own_stops.notice.value
    assert fresh.own_stops.shown is None
    fresh.own_stops.type_in("1,4\n1.5")
    assert "comma" in fresh.own_stops.entry.notice.value


def test_a_hand_that_tires_or_is_early_is_told(usual):
    drifting = np.concatenate([stops_past_mark()[:10], stops_past_mark()[:10] + 0.5])
    given = {"unit": TURNS, "lead_mm": 1.0, "counts_per_turn": 2700, "stopping": usual.stopping}
    told = " ".join(own_stops(drifting, speed_rpm=80.0, **given).told())
    assert "later than the first" in told
    early = " ".join(own_stops(stops_past_mark() - 0.9, speed_rpm=80.0, **given).told())
    assert "before the mark" in early


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("speed_rpm", 150.0),
        ("reaction_s", 0.5),
        ("contact_delay_s", 0.02),
        ("brake_time_constant_s", 0.3),
        ("groove_mm", 5.0),
    ],
)
def test_each_control_moves_the_passes_or_their_room(usual, name, value):
    one = view_shoulder(usual, "M10x1", 1.0, **settings(usual))
    other = view_shoulder(usual, "M10x1", 1.0, **settings(usual, **{name: value}))
    assert one.headline != other.headline
    assert one.crash_share != other.crash_share


def test_a_hand_that_moves_with_the_tool_gains_room_and_ends_short_as_often_as_late(page):
    aiming = page.numbers.with_the_tool()
    assert np.mean(aiming.reactions_s < 0) == pytest.approx(0.5, abs=0.03)
    own, other = (needed_groove(one, lead_mm=1.0, speed_rpm=80.0) for one in (page.numbers, aiming))
    assert other.interval[1] < own.interval[0]
    assert "some passes end short" in " ".join(page.gains().index)


def test_a_panel_without_a_brake_stops_by_friction_alone(usual):
    weak = view_shoulder(usual, "M10x1", 1.0, **settings(usual, brake_time_constant_s=50.0))
    assert weak.numbers.stopping.brake_drag_per_s == 0
    assert weak.highest_rpm < view_shoulder(usual, "M10x1", 1.0, **settings(usual)).highest_rpm


def test_the_change_that_gains_most_stands_first_and_each_change_helps(page):
    groove = page.highest.groove.width_mm
    table = gains_table(page.machine, page.numbers, page.thread, groove)
    speeds = [int(text) for text in table.iloc[:, 0]]
    assert speeds[1:] == sorted(speeds[1:], reverse=True)
    assert min(speeds[1:]) > speeds[0]
    assert "the brake contact mended" in " ".join(table.index)


def test_more_stops_leave_less_doubt_of_the_groove(page):
    more = replace(page.numbers, own_stops_s=page.numbers.own_stops_s * 8)
    few, many = (needed_groove(one, lead_mm=1.0, speed_rpm=100.0) for one in (page.numbers, more))
    assert many.expanded_uncertainty < few.expanded_uncertainty


def test_the_record_keeps_groove_limit_and_reaction(copy):
    own = ThreadingPage(load(copy))
    Record(copy).add(**own.record_line())
    line = Record(copy).lines()[-1]
    assert line.step == "10"
    assert line.limit.upper == own.highest.groove.width_mm
    assert line.measured.value == pytest.approx(own.needed.value)
    assert line.conditions["ended by"] == HAND
    assert "20 stops" in line.instrument.name


@pytest.mark.slow
def test_without_a_brake_the_page_says_what_that_means_and_what_a_brake_would_do():
    bare = ThreadingPage(load(METRIC))
    assert "no brake" in bare.about().text
    assert bare.usual.circuit is None
    assert bare.usual.stopped_by == COUNT
    assert any("resistor brake" in words for words, *_ in changes(bare.machine, bare.usual, 3.0))
    assert "by hand" in bare.decision().text
    assert "J" not in " ".join(bare.heat().iloc[:, 0])
    assert "screws on" not in " ".join(bare.ways()["mind"])


def test_cutting_away_from_the_shoulder_warns_of_a_chuck_that_screws_on(page):
    assert "can unscrew" in page.ways()["mind"].iloc[-1]


def test_an_emergency_stop_that_takes_the_screws_power_loses_the_thread():
    table = emergency_table()
    lost = [words.startswith("thread lost") for words in table["afterwards"]]
    assert lost == ["stepper driver and controller live" not in words for words in table.index]


def test_another_thread_is_chosen_kept_and_shown(copy):
    own = ThreadingPage(load(copy))
    own.thread_choice.choose("Tr14x3")
    assert own.lead_mm == 3.0
    assert "Tr14x3" in own.view().headline
    assert ThreadingPage(load(copy)).thread_name == "Tr14x3"


@pytest.mark.slow
def test_every_answer_is_there_for_the_demo_and_waits_on_an_empty_machine(page):
    nothing = ThreadingPage(empty())
    for name in PREDICTED:
        assert answer(page, name) is not None
        assert answer(nothing, name) is WAITING, name
    assert nothing.own_picture is WAITING
    assert nothing.own_words is WAITING
    assert nothing.record_line() is None
    assert nothing.post() is None
    assert isinstance(page.own_picture, Picture)
    assert isinstance(page.judged(), Said)


def test_the_post_shows_working_sheet_headline_and_advice(page):
    text = page.share_text.text
    for words in ("N_on", "DIN 76-1", "M10x1", "What to do", "(picture)", "stops of your own"):
        assert words in text
