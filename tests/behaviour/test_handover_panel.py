"""Machines that come and go at the press of a button, and a notebook that becomes a page at one."""

import base64
import io
import re
import shutil
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from machinelab.workbook import machine as machines
from machinelab.workbook.pages.start import StartPage
from machinelab.workbook.panels import handover as panel
from machinelab.workbook.panels.page_button import PageButton

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
MACHINE = (DEMO / "machine.toml").read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def workbook(tmp_path, monkeypatch):
    """A folder of notebooks with the demo and a person's own machine, which is chosen."""
    monkeypatch.delenv("MACHINELAB_MACHINE", raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    for name in ("demo", "old-lathe"):
        shutil.copytree(DEMO, tmp_path / "machines" / name)
    monkeypatch.chdir(tmp_path)
    machines.choose("old-lathe")
    return tmp_path


@pytest.fixture
def page():
    return StartPage.open()


def a_zip(*entries):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as whole:
        for name, content in entries:
            whole.writestr(name, content)
    return stream.getvalue()


def sent(content, name="friend.zip"):
    """What the browser hands over for a file that was chosen."""
    return {
        "name": name,
        "type": "application/zip",
        "size": len(content),
        "content": memoryview(content),
        "last_modified": datetime(2024, 1, 1, tzinfo=UTC),
    }


def choose(page, content, *, name="", called="friend.zip"):
    page.handover.file.value = (sent(content, called),)
    page.handover.name.value = name
    return page.handover


def files_below(folder):
    return sorted(folder.rglob("*"))


@pytest.mark.parametrize(("typed", "there"), [("", "lathe"), (" from-a-friend ", "from-a-friend")])
def test_a_machine_that_was_sent_is_opened_chosen_and_listed(page, typed, there):
    box = choose(page, a_zip(("lathe/machine.toml", MACHINE)), name=typed)
    assert "friend.zip, " in box.opening.value
    box.open.click()
    assert machines.load().folder.name == there
    assert page.machine.folder.name == there
    assert page.choice.list.value == there
    assert f"{there} is there now. {there} is chosen." in box.opening.value
    assert box.file.value == ()
    assert box.name.value == ""


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (b"no zip", "", "cannot be opened"),
        (a_zip(("lathe/machine.toml", MACHINE), ("../climb.toml", "")), "", "does not belong"),
        (a_zip(("lathe/machine.toml", MACHINE), ("lathe/run.py", "")), "", "no machine has"),
        (a_zip(("lathe/machine.toml", MACHINE)), "Old Lathe", "will not do"),
        (a_zip(("lathe/machine.toml", MACHINE)), "old-lathe", "already"),
        (a_zip(("lathe/<b>machine</b>.exe", MACHINE)), "", "&lt;b&gt;"),
    ],
    # A zip holds the time of day, and two workers must call a case by one name.
    ids=["no zip", "outside", "a program", "a bad name", "a name that is taken", "markup in a name"],
)
def test_what_cannot_be_opened_is_told_beside_it_and_nothing_changes(page, workbook, content, name, words):
    before = files_below(workbook)
    box = choose(page, content, name=name)
    box.open.click()
    assert words in box.notice.value
    assert "Please look" in box.notice.value
    assert "<b>machine" not in box.notice.value
    assert files_below(workbook) == before
    assert machines.load().folder.name == "old-lathe"
    assert box.name.value == name, "what was typed stays to be put right"


def test_a_refusal_goes_when_another_zip_is_chosen(page):
    box = choose(page, b"no zip")
    box.open.click()
    choose(page, a_zip(("lathe/machine.toml", MACHINE)), called="<i>.zip")
    assert "Please look" not in box.notice.value
    assert "&lt;i&gt;.zip" in box.opening.value


def test_without_a_zip_one_is_asked_for(page):
    page.handover.open.click()
    assert "Choose one first" in page.handover.notice.value


def test_a_sent_machine_whose_file_cannot_be_used_is_told_as_such(page):
    choose(page, a_zip(("lathe/machine.toml", "[leadscrew]\nlead = '8'\n"))).open.click()
    assert machines.chosen().name == "lathe"
    assert "8 mm or 8 tpi" in page.choice.about.value


def test_the_chosen_machine_is_packed_beside_the_machines_and_can_be_opened_again(page, workbook):
    page.handover.pack.click()
    told = page.handover.packing.value
    assert "old-lathe.zip" in told
    assert f"beside your machines, in {workbook.name}/machines" in told
    (data,) = re.findall(r'href="data:application/zip;base64,([^"]+)"', told)
    assert base64.b64decode(data) == (workbook / "machines" / "old-lathe.zip").read_bytes()
    choose(page, base64.b64decode(data), name="second").open.click()
    assert machines.load("second").values() == machines.load("old-lathe").values()


def test_the_demo_is_packed_among_the_temporary_files(page, workbook):
    machines.choose("demo")
    before = files_below(workbook / "machines")
    page.handover.pack.click()
    assert "among the temporary files" in page.handover.packing.value
    assert files_below(workbook / "machines") == before
    assert len(list((workbook / "temporary").rglob("demo.zip"))) == 1


def test_what_stays_at_home_is_named_and_a_large_zip_has_no_link(page, workbook, monkeypatch):
    (workbook / "machines" / "old-lathe" / "programme.exe").write_bytes(b"MZ")
    monkeypatch.setattr(panel, "LARGEST_LINK", 100)
    page.handover.pack.click()
    assert "Left out: programme.exe" in page.handover.packing.value
    assert "href" not in page.handover.packing.value


def test_what_stands_in_the_way_of_packing_is_told_and_clears(page, workbook):
    photo = workbook / "machines" / "old-lathe" / "nose.jpg"
    photo.write_bytes(b"no picture")
    page.handover.pack.click()
    assert "no picture" in page.handover.pack_notice.value
    photo.unlink()
    page.handover.pack.click()
    assert "Please look" not in page.handover.pack_notice.value


def test_a_disk_that_takes_no_zip_is_told(page, monkeypatch):
    def full(**_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    page.handover.pack.click()
    assert "cannot be written: No space left on device" in page.handover.pack_notice.value


def test_opening_the_page_writes_nothing(workbook):
    before = files_below(workbook)
    StartPage.open()
    assert files_below(workbook) == before


def write_notebook(folder, source, name="05_coast_down.ipynb"):
    nbformat.write(new_notebook(cells=[new_code_cell(source)]), folder / name)


@pytest.mark.slow
def test_the_button_makes_the_page_of_the_step_that_was_chosen(workbook):
    write_notebook(workbook, "# Two and two\nprint('five')", "06_resistor_brake.ipynb")
    write_notebook(workbook, "# Two and two\n2 + 2")
    button = PageButton()
    assert button.step.options == {"05 coast-down": "05", "06 resistor brake": "06"}
    button.step.choose("06 resistor brake")
    made = button.task.run_to_end()
    assert made.file == workbook / "machines" / "old-lathe" / "out" / "06_resistor_brake.html"
    assert "five" in made.html
    assert "Written: 06_resistor_brake.html, in old-lathe/out." in button.answer.value
    (data,) = re.findall(r'href="data:text/html;base64,([^"]+)"', button.answer.value)
    assert base64.b64decode(data).decode() == made.html


@pytest.mark.slow
def test_a_notebook_that_does_not_run_is_told_beside_the_button(workbook):
    write_notebook(workbook, "# A cell that fails\n1 / 0")
    button = PageButton()
    button.task.run_to_end()
    assert "stopped at “A cell that fails”" in button.task.told.value
    assert not button.task.start.disabled


def test_the_start_page_comes_last_in_the_list_and_without_notebooks_nothing_is_offered(workbook):
    assert "no notebook" in PageButton().answer.value
    for name in ("00_start_here.ipynb", "05_coast_down.ipynb"):
        write_notebook(workbook, "1", name)
    assert list(PageButton().step.options) == ["05 coast-down", "00 start here"]
