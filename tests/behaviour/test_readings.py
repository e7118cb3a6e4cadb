"""Guesses and readings: kept word for word, never in the demo, never over a file that cannot be read."""

import shutil
from pathlib import Path

import pytest

from machinelab.units import Field
from machinelab.workbook.machine import load
from machinelab.workbook.pages.gearing import GearingPage
from machinelab.workbook.panels.guess import Guess
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed, shown_back
from machinelab.workbook.readings import Readings

MACHINES = Path(__file__).resolve().parents[1] / "machines"
TRAVEL = Field(
    name="Travel", kind="length", above_zero=True, high="3 m", example="100 mm", help="Of the carriage."
)
TURNS = Field(name="Turns", kind="turns", above_zero=True, example="100 turns")


@pytest.fixture
def folder(tmp_path):
    own = tmp_path / "own"
    shutil.copytree(MACHINES / "metric", own)
    return own


def test_what_was_typed_is_there_next_time(folder):
    Readings(folder).keep("07", "turns", "100 turns")
    assert Readings(folder).of("07") == {"turns": "100 turns"}


def test_an_emptied_box_is_taken_out(folder):
    Readings(folder).keep("07", "turns", "100 turns")
    Readings(folder).keep("07", "turns", "")
    assert Readings(folder).of("07") == {}


def test_a_persons_own_remarks_in_the_file_stay(folder):
    (folder / "readings.toml").write_text('# my remark\n[step-07]\nturns = "50"  # cold oil\n')
    Readings(folder).keep("07", "travel_mm", "50 mm")
    written = (folder / "readings.toml").read_text()
    assert "# my remark" in written
    assert "# cold oil" in written
    assert Readings(folder).of("07") == {"turns": "50", "travel_mm": "50 mm"}


def test_a_file_that_cannot_be_read_is_told_and_left_alone(folder):
    broken = "[step-07\nturns = 50"
    (folder / "readings.toml").write_text(broken)
    page = GearingPage(load(folder))
    assert "cannot be read" in page.problem
    page.guess.type_in("1 mm")
    assert (folder / "readings.toml").read_text() == broken


def test_a_file_that_is_no_text_is_told(folder):
    (folder / "readings.toml").write_bytes(b"\xff\xfe\x00[")
    assert "cannot be read" in Readings(folder).problem


def test_nothing_is_written_into_the_demo():
    demo = load("demo")
    before = (demo.folder / "readings.toml").read_bytes()
    readings = Readings(demo.folder)
    readings.keep("07", "turns", "7 turns")
    assert readings.of("07")["turns"] == "7 turns"
    assert (demo.folder / "readings.toml").read_bytes() == before


def test_a_machine_that_is_nowhere_on_disk_keeps_for_the_visit():
    readings = Readings(None)
    readings.keep("04", "guess", "2400 edges")
    assert readings.of("04") == {"guess": "2400 edges"}


def test_a_guess_is_kept_as_typed_and_given_as_a_number():
    kept = []
    guess = Guess(TRAVEL, keep=kept.append)
    assert guess.value is None
    assert guess.shown == "none"
    guess.type_in("1/2 in")
    assert guess.value == 12.7
    assert kept == ["1/2 in"]
    assert Guess(TRAVEL, text=kept[0]).value == 12.7


def test_a_guess_that_cannot_be_read_counts_as_none_and_is_answered():
    guess = Guess(TRAVEL)
    guess.type_in("a lot")
    assert guess.value is None
    assert "Please look" in guess.typed.notice.value


def test_a_reading_is_shown_back_with_every_figure_that_was_typed():
    assert shown_back(Typed(TRAVEL, "100.003 mm").reading) == "100.003 mm · 3.9371 in"


@pytest.fixture
def sheet():
    return Sheet(
        {"travel_mm": Typed(TRAVEL), "turns": Typed(TURNS)},
        work_out=lambda *, travel_mm, turns: travel_mm / turns,
        tell=lambda lead: [f"{float(lead)} mm a turn"],
        keep=lambda name, text: None,
    )


def test_a_sheet_says_what_is_still_to_fill_in(sheet):
    assert "Still to fill in: Travel, Turns." in sheet.told.value
    sheet.rows["turns"].type_in("10 turns")
    assert "Still to fill in: Travel." in sheet.told.value
    assert sheet.result is None


def test_a_full_sheet_tells_its_result_at_once(sheet):
    sheet.rows["turns"].type_in("10 turns")
    sheet.rows["travel_mm"].type_in("15 mm")
    assert sheet.result * 2 == 3
    assert "1.5 mm a turn" in sheet.told.value


def test_a_slip_takes_the_result_back_until_it_is_mended(sheet):
    sheet.rows["turns"].type_in("10 turns")
    sheet.rows["travel_mm"].type_in("15 mm")
    sheet.rows["travel_mm"].type_in("15")
    assert sheet.result is None
    assert "Please look" in sheet.rows["travel_mm"].notice.value
