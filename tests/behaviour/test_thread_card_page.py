"""Page 10's threads as they are cut and measured: the table, the finished thread, its record, the card."""

import shutil
from pathlib import Path

import pytest

from machinelab.threads.wires_on_helix import over_wires_on_helix_mm
from machinelab.workbook import machine as machines
from machinelab.workbook.pages.page import WAITING, Said
from machinelab.workbook.pages.threading import ThreadingPage
from machinelab.workbook.record import Record

DEMO = Path("notebooks/machines/demo")


@pytest.fixture(scope="module")
def page():
    return ThreadingPage(machines.load("demo"))


def filled_in(page, thread="M10x1", **typed):
    """The sheet with what a person types."""
    sheet = page.finished_sheet
    sheet.rows["thread"].choose(thread)
    usual = {
        "over_wires_mm": "10.14 mm",
        "reading_doubt_mm": "0.008 mm",
        "wire_mm": "0.58 mm",
        "wire_doubt_mm": "0.002 mm",
        "nut_mm": "8 mm",
    }
    for name, text in (usual | typed).items():
        sheet.rows[name].type_in(text)
    return page.finished


def test_the_table_has_every_thread_with_depth_cuts_and_wires(page):
    table = page.cutting()
    assert list(table.index) == [thread.designation for thread in page.machine.threads]
    assert table.loc["M10x1", "blank"] == "9.88 mm"
    assert "tip radius 0.1 mm" in table.loc["M10x1", "depth"]
    assert "usual 6g" in table.loc["M10x1", "over wires"]
    assert "basic size" in table.loc["26 tpi cycle", "over wires"]
    assert table.loc["Tr14x3", "hole in its nut"] == "11.00 mm"
    assert "known for every thread" in str(page.cutting_notes())


def test_what_a_list_lacks_is_named_thread_by_thread():
    other = ThreadingPage(machines.load("tests/machines/metric"))
    assert set(other.cutting()["depth"]) == {"not known"}
    assert str(other.cutting_notes()).count("say its designation") == 3


def test_a_machine_of_which_nothing_is_known_waits():
    empty = ThreadingPage(machines.empty())
    answers = (empty.cutting, empty.card_picture, empty.card_box, empty.finished_panel, empty.finished_words)
    assert {answer() for answer in answers} == {WAITING}
    assert empty.finished is None
    assert empty.finished_line() is None


def test_a_reading_in_the_middle_of_the_limits_is_met_and_one_above_is_not(page):
    assert filled_in(page).verdict.word == "MET"
    lower, upper = page.finished.limits_mm
    thread = {"wire_mm": 0.58, "pitch_mm": 1, "thread_lead_mm": 1}
    for pitch_diameter, word in ((upper + 0.03, "NOT MET"), (upper, "NOT PROVEN"), (lower - 0.03, "NOT MET")):
        reading = over_wires_on_helix_mm(pitch_diameter, **thread)
        assert filled_in(page, over_wires_mm=f"{reading:.4f} mm").verdict.word == word
    assert filled_in(page).verdict.word == "MET"


def test_a_longer_nut_leaves_less_of_the_tolerance(page):
    """133 ppm of the screw over 8 and over 80 mm, times 1.732."""
    short = filled_in(page).limits_mm
    long = filled_in(page, nut_mm="80 mm").limits_mm
    assert short[0] == long[0]
    assert short[1] - long[1] == pytest.approx(72 * 133.3e-6 * 1.732, abs=0.001)


def test_every_box_moves_the_result(page):
    before = filled_in(page)
    for name, text in (
        ("over_wires_mm", "10.15 mm"),
        ("reading_doubt_mm", "0.02 mm"),
        ("wire_mm", "0.59 mm"),
        ("wire_doubt_mm", "0.01 mm"),
        ("nut_mm", "30 mm"),
    ):
        assert filled_in(page, **{name: text}) != before, name
    assert filled_in(page, thread="M10x1") == before


def test_a_reading_of_another_thread_is_refused_in_words(page):
    assert filled_in(page, thread="Tr14x3") is None
    assert "do not fit Tr14x3" in page.finished_sheet.notice.value
    assert filled_in(page, over_wires_mm="12.1 mm") is None
    assert "which thread is chosen" in page.finished_sheet.notice.value
    assert "Fill in the sheet" in str(page.finished_words())
    filled_in(page)


def test_a_thread_that_wires_do_not_suit_says_why(tmp_path):
    shutil.copytree("tests/machines/metric", tmp_path / "metric")
    other = ThreadingPage(machines.load(tmp_path / "metric"))
    assert filled_in(other, thread="worm") is None
    assert "say its designation" in other.finished_sheet.notice.value


def test_the_finished_thread_goes_into_the_record(page, tmp_path):
    filled_in(page)
    folder = tmp_path / "mine"
    shutil.copytree(DEMO, folder)
    line = Record(folder).add(**page.finished_line())
    assert line.verdict == "MET"
    assert line.quantity == "pitch diameter over wires, M10x1"
    assert "usual 6g" in line.limit.where_from


def test_the_card_of_the_demo_is_written_outside_the_tree(page):
    before = sorted(DEMO.iterdir())
    box = page.card_box()
    box.write("A4")
    assert "threading_card_A4.pdf" in box.answer.value
    assert sorted(DEMO.iterdir()) == before
    assert not (DEMO / "out").exists()


def test_the_card_of_a_persons_own_machine_lies_in_its_folder(tmp_path):
    folder = tmp_path / "mine"
    shutil.copytree(DEMO, folder)
    box = ThreadingPage(machines.load(folder)).card_box()
    box.write("Letter")
    assert (folder / "out" / "threading_card_Letter.pdf").is_file()


def test_a_machine_without_a_folder_is_told_to_choose_one(page):
    text = (DEMO / "machine.toml").read_text(encoding="utf-8")
    homeless = ThreadingPage(machines.parse(text))
    assert isinstance(homeless.card_box(), Said)
    assert "start page" in str(homeless.finished_record_box())


def test_the_cards_picture_names_every_thread(page):
    alt = page.card_picture().alt
    for thread in page.machine.threads:
        assert thread.designation in alt


def test_depth_and_wires_are_worked_with_their_numbers_in_place(page):
    page.thread_choice.choose("M10x1")
    depth, wires = str(page.depth_working()), str(page.wires_working())
    assert "9.88 mm" in depth
    assert "0.639" in depth
    assert "10.142 mm" in wires
    assert "Source:" in depth
    assert page.infeed_picture().alt.startswith("M10x1 with a radius of 0.1 mm: 0.64 mm deep")
    assert page.infeed_panel().values["first_cut_mm"] == page.machine.threading.first_cut_mm
    page.thread_choice.choose("26 tpi cycle")
    assert str(page.depth_working()) != depth


def test_without_a_tool_its_tip_is_asked_for_in_place_of_a_picture():
    other = ThreadingPage(machines.load("tests/machines/metric"))
    for answer in (other.depth_working, other.wires_working, other.infeed_picture, other.infeed_panel):
        assert "page 01" in str(answer())
