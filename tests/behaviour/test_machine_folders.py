"""Choosing, making and keeping machines: the demo stays as it is, and the choice is remembered."""

import shutil
from pathlib import Path

import pytest

from machinelab.errors import MachineFileError
from machinelab.workbook import machine
from machinelab.workbook.machine import folders

HOUSE = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def workbook(tmp_path, monkeypatch):
    """A notebooks folder of its own, with the demo in it, and no machine named by the environment."""
    monkeypatch.delenv(folders.OVERRIDE, raising=False)
    shutil.copytree(
        HOUSE / "notebooks" / "machines" / "demo",
        tmp_path / "machines" / "demo",
        ignore=shutil.ignore_patterns("logs", "record.jsonl"),
    )
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_without_a_choice_the_demo_is_worked_on(workbook):
    assert machine.chosen() == workbook / "machines" / "demo"
    assert machine.load().folder == machine.chosen()
    assert machine.machines() == ("demo",)


def test_a_choice_is_remembered(workbook):
    machine.create("old-lathe")
    machine.choose("old-lathe")
    assert machine.chosen() == workbook / "machines" / "old-lathe"
    assert machine.load().name == "old-lathe"
    assert machine.machines() == ("demo", "old-lathe")


@pytest.mark.parametrize("given", ["other", "machines/other", None], ids=["name", "folder", "absolute"])
def test_the_environment_comes_before_the_choice(workbook, monkeypatch, given):
    machine.create("old-lathe")
    machine.create("other", like="demo")
    machine.choose("old-lathe")
    monkeypatch.setenv(folders.OVERRIDE, given or str(workbook / "machines" / "other"))
    assert machine.chosen() == workbook / "machines" / "other"


def test_a_chosen_machine_that_is_gone_is_told_and_not_replaced_by_another(workbook):
    machine.create("old-lathe")
    machine.choose("old-lathe")
    shutil.rmtree(workbook / "machines" / "old-lathe")
    with pytest.raises(MachineFileError, match=r"no machine old-lathe\. There are: demo"):
        machine.load()
    machine.choose("demo")
    assert machine.load().name.startswith("bicycle")


def test_a_torn_memory_of_the_choice_falls_back_to_the_demo(workbook):
    (workbook / "machines" / folders.REMEMBERED).write_bytes(b"\xff\xfe")
    assert machine.chosen().name == "demo"


def test_a_new_machine_is_empty_and_can_be_filled_in():
    folder = machine.create("old-lathe")
    assert machine.load(folder).values() == {}
    assert machine.save({"leadscrew.lead": "8 tpi"}, "old-lathe").leadscrew.lead_mm
    assert "# Lead of the leadscrew." in (folder / "machine.toml").read_text(encoding="utf-8")


def test_a_copy_has_the_lines_and_remarks_of_what_it_was_copied_from(workbook):
    folder = machine.create("my-lathe", like="demo")
    assert (folder / "machine.toml").read_bytes() == (workbook / "machines/demo/machine.toml").read_bytes()
    assert machine.save({"meter.lag": "1 s"}, folder).meter.lag_s == 1


def test_a_disk_that_fails_while_a_machine_is_made_leaves_its_name_free(workbook, monkeypatch):
    before = sorted(workbook.rglob("*"))

    def full(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr("machinelab.workbook.whole_file.os.fsync", full)
        with pytest.raises(MachineFileError, match="No space left"):
            machine.create("old-lathe", like="demo")
    assert sorted(workbook.rglob("*")) == before
    assert machine.create("old-lathe", like="demo").is_dir()


@pytest.mark.parametrize("of", ["here", "checkout"])
def test_the_demo_is_never_written(workbook, of):
    folder = (workbook if of == "here" else HOUSE / "notebooks") / "machines" / "demo"
    before = (folder / "machine.toml").read_bytes()
    with pytest.raises(MachineFileError, match="demo machine stays as it is"):
        machine.save({"meter.lag": "1 s"}, folder)
    with pytest.raises(MachineFileError, match="demo machine stays as it is"):
        machine.save({"meter.lag": "1 s"}, machine.load(folder))
    assert (folder / "machine.toml").read_bytes() == before
    assert folders.is_read_only(folder)


@pytest.mark.parametrize(
    "name",
    [
        "",
        "..",
        "a/b",
        "/tmp/x",
        ".chosen",
        "Old",
        "old lathe",
        "-old",
        "x" * 50,
        "con\n",
        "é",
        "demo",
        "con",
        "lpt1",
    ],
)
def test_a_name_that_will_not_do_or_is_taken_is_refused(workbook, name):
    before = sorted(workbook.rglob("*"))
    with pytest.raises(MachineFileError):
        machine.create(name)
    assert sorted(workbook.rglob("*")) == before


@pytest.mark.parametrize("name", ["nowhere", "", "\x00", "x" * 5000, "../.."])
def test_a_machine_that_is_not_there_cannot_be_loaded_or_chosen(name):
    with pytest.raises(MachineFileError):
        machine.load(name)
    with pytest.raises(MachineFileError):
        machine.choose(name)


def test_a_machine_that_is_not_on_disk_cannot_be_saved():
    with pytest.raises(MachineFileError, match="no folder yet"):
        machine.save({"meter.lag": "1 s"}, machine.empty())


def test_away_from_the_notebooks_the_machines_of_the_checkout_are_found(tmp_path, monkeypatch):
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert folders.machines_folder() == HOUSE / "notebooks" / "machines"
