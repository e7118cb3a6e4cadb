"""The start page: which machine is worked on, how every step stands, and what comes next."""

import shutil
import tomllib
from pathlib import Path

import pytest

from machinelab.errors import RangeError
from machinelab.workbook import cautions, machine
from machinelab.workbook.machine.folders import OVERRIDE
from machinelab.workbook.machine.needs import STEPS
from machinelab.workbook.pages.start import StartPage
from machinelab.workbook.panels.machine_choice import CHOOSE_ONE, EMPTY_SHEET, MachineChoice
from machinelab.workbook.record import Record
from machinelab.workbook.record.history import measured_words
from machinelab.workbook.steps import DONE, recorded, standings, step, steps

HOUSE = Path(__file__).resolve().parents[2]
METRIC = HOUSE / "tests" / "machines" / "metric"


@pytest.fixture(autouse=True)
def workbook(tmp_path, monkeypatch):
    """A notebooks folder of its own, with the demo in it, and no machine named by the environment."""
    monkeypatch.delenv(OVERRIDE, raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    demo = tmp_path / "machines" / "demo"
    demo.mkdir(parents=True)
    shutil.copy(HOUSE / "notebooks" / "machines" / "demo" / "machine.toml", demo)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def own(workbook):
    """A person's own machine, chosen."""
    folder = machine.create("old-lathe", like="demo")
    machine.choose("old-lathe")
    return folder


def row_of(page, number):
    return next(
        line for line in str(page.steps()).splitlines() if line.startswith((f"| {number}", f"| [{number}"))
    )


def word_of(page, number):
    return row_of(page, number).split(" | ")[2].strip("*").replace("\N{NO-BREAK SPACE}", " ")


def test_the_steps_are_numbered_through_and_the_same_everywhere():
    numbers = [one.number for one in steps()]
    assert numbers == [f"{number:02d}" for number in range(17)]
    assert numbers == list(STEPS)
    assert numbers == list(cautions.STEPS)


def test_every_step_has_a_title_and_a_question_and_waits_only_for_earlier_ones():
    for one in steps():
        assert one.title
        assert one.question.endswith("?")
        assert all(number < one.number for number in one.before)


def test_every_notebook_of_the_workbook_is_a_step():
    numbers = {one.number for one in steps()}
    assert {notebook.name[:2] for notebook in (HOUSE / "notebooks").glob("*.ipynb")} <= numbers


def test_an_unknown_step_is_refused():
    with pytest.raises(RangeError, match="There is no step '17'"):
        step("17")


def test_the_table_holds_every_step_with_a_state(own):
    page = StartPage.open()
    assert "you are here" in row_of(page, "00")
    assert {word_of(page, f"{number:02d}") for number in range(1, 17)} == {"NOT DONE"}


def test_only_steps_whose_notebook_is_there_are_links(workbook):
    (workbook / "05_coast_down.ipynb").write_text("{}")
    page = StartPage.open()
    assert "[05 coast-down](05_coast_down.ipynb)" in row_of(page, "05")
    assert "06 resistor brake *(not written yet)*" in row_of(page, "06")


def test_the_state_of_a_step_comes_from_the_record(own):
    record = Record(own)
    record.add("05", "time to stop", value=5.2, uncertainty=0.1, unit="s", upper=2.5, where_from="own choice")
    record.add("01", "machine as built", verdict="RECORDED")
    record.add("12", "runout", value=0.01, uncertainty=0.002, unit="mm", upper=0.015, where_from="own choice")
    page = StartPage.open()
    assert [word_of(page, number) for number in ("01", "05", "12", "16")] == [
        "RECORDED",
        "NOT MET",
        "MET",
        "NOT DONE",
    ]


def test_the_last_result_of_a_step_stands_beside_its_state(own):
    record = Record(own)
    for value in (5.2, 4.9):
        record.add(
            *("05", "time | to stop"),
            value=value,
            uncertainty=0.1,
            unit="s",
            upper=6.0,
            where_from="own choice",
        )
    record.add("01", "machine as built", verdict="RECORDED")
    page = StartPage.open()
    day = record.lines()[-1].time[:10]
    assert f"time \\| to stop, {measured_words(record.lines()[1])}; {day} |" in row_of(page, "05")
    assert f"| machine as built; {day} |" in row_of(page, "01")
    assert "|  |" in row_of(page, "02")


def test_a_step_waits_for_the_steps_before_it_until_they_are_done(own):
    assert "steps 02, 03, 05" in row_of(StartPage.open(), "06")
    record = Record(own)
    record.add("05", "time to stop", value=5.2, uncertainty=0.1, unit="s", upper=2.5, where_from="own choice")
    # A spindle that runs on for too long is what the brake is for; it does not bar the way.
    assert "steps 02, 03" in row_of(StartPage.open(), "06")
    record.add("02", "emergency stop, dead test", verdict="NOT MET")
    assert "step 02" in row_of(StartPage.open(), "12"), "nothing follows a failed emergency stop"
    record.add("02", "emergency stop, dead test", verdict="MET")
    assert row_of(StartPage.open(), "12").endswith("|  |")


def test_a_step_waits_for_the_lines_that_the_machine_file_lacks():
    machine.choose(machine.create("new-lathe").name)
    page = StartPage.open()
    assert "the machine file: Highest speed you allow" in row_of(page, "05")
    machine.save({"spindle.highest_speed": "900 rpm"}, "new-lathe")
    assert "Highest speed" not in row_of(StartPage.open(), "05")


def test_a_step_that_is_done_waits_for_nothing(own):
    Record(own).add("10", "groove", value=2.0, uncertainty=0.1, unit="mm", upper=4.0, where_from="own choice")
    ten = next(
        one for one in standings(machine.load(), recorded(machine.load())[0]) if one.step.number == "10"
    )
    assert ten.done
    assert ten.waits_for == ""


def test_the_next_step_is_the_first_that_is_open_and_ready(own):
    assert "**Next:** 01 machine as built" in StartPage.open().next_step
    record = Record(own)
    record.add("01", "machine as built", verdict="RECORDED")
    assert "**Next:** 02 control box" in StartPage.open().next_step
    for one in steps()[1:]:
        record.add(one.number, "all of it", verdict="MET")
    assert "every step has been done" in StartPage.open().next_step


def test_a_record_that_cannot_be_read_is_told_and_the_page_still_opens(own):
    (own / "record.jsonl").write_text("no line of a record\n\n{}\n", encoding="utf-8")
    page = StartPage.open()
    assert "record" in str(page.steps()).split("**Next:**")[0].lower()
    assert word_of(page, "05") == "NOT DONE"


def test_a_machine_file_that_cannot_be_read_is_told_and_the_page_still_opens(own):
    (own / "machine.toml").write_text("[leadscrew]\nlead = '8'\n", encoding="utf-8")
    page = StartPage.open()
    assert "8 mm or 8 tpi" in str(page.steps())
    assert "8 mm or 8 tpi" in str(page.chosen)
    assert page.machine.values() == {}


def test_a_name_with_signs_in_it_does_not_act_as_markup(own):
    machine.save({"machine.name": "a|b *c* <i>"}, "old-lathe")
    head = str(StartPage.open().steps()).splitlines()[0]
    assert r"a\|b \*c\* &lt;i&gt;" in head


def test_opening_the_page_writes_nothing_for_anyone(workbook):
    before = sorted((workbook / "machines").rglob("*"))
    page = StartPage.open()
    page.show_steps()
    assert sorted((workbook / "machines").rglob("*")) == before


def test_choosing_another_machine_is_remembered_and_what_is_shown_follows(own, monkeypatch):
    class Handle:
        shown = ""

        def update(self, said):
            self.shown = str(said)

    handle, about = Handle(), Handle()
    handles = iter((about, handle))
    monkeypatch.setattr("machinelab.workbook.pages.start.display", lambda said, display_id: next(handles))
    machine.create("new-lathe")
    page = StartPage.open()
    page.show_chosen()
    page.show_steps()
    page.choice.choose("new-lathe")
    assert machine.load().folder.name == "new-lathe"
    assert page.machine.folder.name == "new-lathe"
    assert about.shown.startswith("new-lathe: ")
    assert "**Machine:** new-lathe" in handle.shown
    assert "Highest speed you allow" in handle.shown
    assert "new-lathe is chosen" in page.choice.notice.value


def test_the_list_begins_with_the_machine_chosen_and_offers_the_demo_as_invented(own):
    choice = MachineChoice()
    assert list(choice.list.options) == ["demo", "old-lathe"]
    assert choice.list.value == "old-lathe"
    choice.choose("demo")
    assert "invented, and read-only" in choice.about.value
    sections = {name: lines for name, lines in said_by_the_demo().items() if isinstance(lines, dict)}
    filled = sum(len(lines) - ("why" in lines) for lines in sections.values())
    possible = sum(line.section != "thread" for line in machine.fields())
    assert f"{filled} of {possible} lines filled in, 4 threads to cut" in choice.about.value


def said_by_the_demo() -> dict:
    return tomllib.loads((machine.load("demo").folder / "machine.toml").read_text(encoding="utf-8"))


def leaves(said) -> int:
    if not isinstance(said, dict | list):
        return 1
    return sum(map(leaves, said.values() if isinstance(said, dict) else said))


@pytest.mark.parametrize(
    ("start", "copied"), [(EMPTY_SHEET, False), ("a copy of demo", True), ("a copy of old-lathe", True)]
)
def test_a_machine_is_made_from_what_was_chosen_and_chosen_itself(own, start, copied):
    choice = MachineChoice()
    heard = []
    choice.on_change(lambda: heard.append(machine.chosen().name))
    choice.new.name.value = " new-lathe "
    choice.new.start.choose(start)
    choice.new.button.click()
    assert len(machine.load("new-lathe").values()) == (leaves(said_by_the_demo()) if copied else 0)
    assert machine.chosen().name == "new-lathe"
    assert choice.list.value == "new-lathe"
    assert choice.new.name.value == ""
    assert heard == ["new-lathe"]


@pytest.mark.parametrize("name", ["", "Old Lathe", "demo", "old-lathe", "../x", "<b>"])
def test_a_name_that_will_not_do_is_told_beside_its_box_and_nothing_changes(own, name):
    choice = MachineChoice()
    choice.new.name.value = name
    choice.new.make()
    assert "Please look" in choice.new.notice.value
    assert "<b>&" not in choice.new.notice.value
    assert machine.machines() == ("demo", "old-lathe")
    assert machine.chosen().name == "old-lathe"
    choice.new.name.value = "new-lathe"
    choice.new.make()
    assert "Please look" not in choice.new.notice.value


def test_a_machine_that_is_gone_is_told_and_another_can_be_chosen(own):
    shutil.rmtree(own)
    page = StartPage.open()
    assert "no machine old-lathe" in str(page.chosen)
    assert page.choice.list.value == CHOOSE_ONE
    page.choice.choose("demo")
    assert machine.chosen().name == "demo"
    assert page.machine.name.startswith("bicycle")


def test_a_machine_that_vanished_since_the_list_was_made_is_told_beside_it(own):
    machine.choose("demo")
    choice = MachineChoice()
    shutil.rmtree(own)
    choice.choose("old-lathe")
    assert "no machine old-lathe" in choice.notice.value
    assert machine.chosen().name == "demo"


def test_a_machine_named_by_the_environment_comes_first_and_the_list_says_so(own, monkeypatch):
    monkeypatch.setenv(OVERRIDE, str(METRIC))
    page = StartPage.open()
    assert page.machine.name.startswith("metric")
    assert page.choice.list.value == "metric"
    assert page.choice.list.disabled
    page.choice.new.name.value = "new-lathe"
    page.choice.new.make()
    assert f"{OVERRIDE} is set" in page.choice.notice.value
    assert page.machine.name.startswith("metric")


def test_the_words_for_done_are_those_without_an_open_end():
    assert set(DONE) == {"MET", "RECORDED"}


def test_a_folder_that_takes_nothing_is_told_beside_the_box(own, monkeypatch):
    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    choice = MachineChoice()
    monkeypatch.setattr("machinelab.workbook.machine.folders.write_whole", refuse)
    choice.new.name.value = "new-lathe"
    choice.new.make()
    assert "Nothing can be written in" in choice.new.notice.value
    choice.choose("demo")
    assert "Permission denied. Put the workbook where you may write" in choice.notice.value
    assert machine.chosen().name == "old-lathe"
