"""Questions that make a first description of a control box: every answer can be read, and each one counts."""

import shutil
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from machinelab.controls.explore import explore
from machinelab.workbook import machine
from machinelab.workbook.first_box import BRAKES, FEEDS, NO_BRAKE, PULLED_IN_BRAKES, Answers, first_box
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.control_box import ControlBoxPage
from machinelab.workbook.panel_file import parse_panel
from machinelab.workbook.panels.first_box import FirstBox

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"
YES_NO = (True, False)
PLAIN = Answers(mill_head=False, reverse=False)


def breaches(answers):
    return set(explore(parse_panel(first_box(answers))).breaches)


@pytest.mark.parametrize(
    "answers", [Answers(*some) for some in product(*[YES_NO] * 4, BRAKES, FEEDS)], ids=repr
)
def test_every_set_of_answers_makes_a_description_that_can_be_read(answers):
    assert parse_panel(first_box(answers)).motors


def test_the_plainest_box_with_latch_and_released_brake_breaks_nothing():
    assert breaches(PLAIN) == set()


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ({"start_button": False}, ("R3", "R4", "R7")),
        ({"feed": FEEDS[1]}, ("R2c", "R9")),
        ({"brake": PULLED_IN_BRAKES}, ("R2", "R2b")),
        ({"brake": NO_BRAKE}, ("R2",)),
        ({"mill_head": True}, ("R5",)),
        ({"reverse": True}, ("R6",)),
    ],
    ids=str,
)
def test_each_answer_shows_what_it_costs(change, broken):
    assert breaches(replace(PLAIN, **change)) >= set(broken)


def test_a_guard_without_a_switch_is_not_asked_about():
    assert "R8" in explore(parse_panel(first_box(replace(PLAIN, guard_switch=False)))).not_asked


def test_every_question_changes_the_description_and_what_is_told():
    form = FirstBox(keep=str)
    for question in form.questions.values():
        text, told = form.text.value, form.told.value
        for option in question.options:
            question.choose(option)
        assert form.text.value != text
        assert form.told.value != told
        question.choose(next(iter(question.options)))


def test_a_slip_typed_into_the_description_is_told_and_nothing_is_written():
    written = []
    form = FirstBox(keep=written.append)
    form.text.value = form.text.value.replace("KL_a and", "KL_a &")
    assert "Write the word" in form.told.value
    form.button.click()
    assert written == []
    assert "Write the word" in form.answer.value


def test_it_is_written_once_into_a_machine_of_ones_own_and_never_over_another(tmp_path):
    shutil.copy(DEMO / "machine.toml", tmp_path)
    form = ControlBoxPage(load(tmp_path)).first_box
    form.button.click()
    assert "Written as panel.toml" in form.answer.value
    assert ControlBoxPage(load(tmp_path)).box is not None
    before = (tmp_path / "panel.toml").read_text()
    form.questions["reverse"].choose("no")
    form.button.click()
    assert "already" in form.answer.value
    assert (tmp_path / "panel.toml").read_text() == before


@pytest.mark.parametrize("chosen", [empty, lambda: load(DEMO)])
def test_neither_the_demo_nor_a_machine_without_a_folder_is_written(chosen):
    before = (DEMO / "panel.toml").read_text()
    form = ControlBoxPage(chosen()).first_box
    form.button.click()
    assert "Choose or make a machine of your own" in form.answer.value
    assert (DEMO / "panel.toml").read_text() == before


def test_a_copy_of_a_machine_brings_its_control_box_along(tmp_path, monkeypatch):
    shutil.copytree(DEMO, tmp_path / "machines" / "demo")
    monkeypatch.chdir(tmp_path)
    folder = machine.create("my-lathe", like="demo")
    assert (folder / "panel.toml").read_bytes() == (DEMO / "panel.toml").read_bytes()


def test_a_disk_that_takes_no_description_is_told_and_nothing_is_left(tmp_path, monkeypatch):
    shutil.copy(DEMO / "machine.toml", tmp_path)
    form = ControlBoxPage(load(tmp_path)).first_box

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("machinelab.workbook.whole_file.os.fsync", full)
    form.write()
    assert "No space left on device" in form.answer.value
    assert [file.name for file in tmp_path.iterdir()] == ["machine.toml"]
