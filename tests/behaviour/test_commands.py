"""The launcher's commands: what is passed on, what is refused, what stands in the way is told in words."""

import ast
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from machinelab import __main__ as launcher

PACKAGE = Path(launcher.__file__).with_name("__init__.py")
OLDEST_THAT_CAN_BE_ASKED_FOR = (3, 7)


@pytest.fixture
def started(monkeypatch):
    """Every command that would be run, instead of running it."""
    commands = []
    monkeypatch.setattr(launcher, "_run", lambda *command, cwd=None: commands.append(command) or 0)
    monkeypatch.setattr(
        launcher, "_python_with", lambda packages, extra: f"python with {extra or 'nothing more'}"
    )
    return commands


def test_open_starts_the_lab_at_the_start_page_and_passes_options_on(started):
    assert launcher.main(["open", "--no-browser"]) == 0
    (command,) = started
    assert command[1:4] == ("-m", "jupyter", "lab")
    assert command[4].endswith("00_start_here.ipynb")
    assert command[-1] == "--no-browser"


def test_no_command_opens_the_workbook(started):
    assert launcher.main([]) == 0
    assert "lab" in started[0]


def test_all_tests_check_the_style_and_run_the_notebooks_and_the_measurements(started):
    assert launcher.main(["test"]) == 0
    told = [" ".join(command) for command in started]
    assert "ruff check" in told[0]
    assert any("--nbval-lax" in command for command in told)
    assert any("-m bench" in command for command in told)


def test_the_outside_checks_are_written_by_the_file_that_runs_them(started):
    assert launcher.main(["checks", "tests/outside/test_exact_units.py"]) == 0
    ((_, maker, asked),) = started
    assert Path(maker).is_file()
    assert Path(asked).is_absolute()


def test_a_failing_part_ends_the_run_with_its_status(monkeypatch, started):
    monkeypatch.setattr(launcher, "_run", lambda *command, cwd=None: 3)
    assert launcher.main(["test", "quick"]) == 3


def test_an_option_that_no_test_knows_is_refused(started):
    with pytest.raises(SystemExit):
        launcher.main(["test", "--fast"])
    assert started == []


def read_by(version, monkeypatch):
    """Run the file that every Python reads first, as if this were that version."""
    monkeypatch.setattr(sys, "version_info", version)
    exec(compile(PACKAGE.read_text(encoding="utf-8"), "machinelab", "exec"), {"__name__": "machinelab"})


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 8, 18), (3, 10, 13)])
def test_an_old_python_is_told_in_one_sentence(version, monkeypatch):
    with pytest.raises(SystemExit) as told:
        read_by(version, monkeypatch)
    assert told.value.code == (
        f"machinelab needs Python 3.11 or newer; this is Python {version[0]}.{version[1]}."
    )


def test_a_new_python_is_told_nothing(monkeypatch):
    read_by((3, 11, 0), monkeypatch)
    read_by((4, 0, 0), monkeypatch)


def test_an_old_python_can_read_as_far_as_that_sentence():
    text = PACKAGE.read_text(encoding="utf-8")
    assert text.isascii()
    tree = ast.parse(text, feature_version=OLDEST_THAT_CAN_BE_ASKED_FOR)
    # What came later than that and is not noticed by the parser: formatted strings, notes on types.
    newer = (ast.JoinedStr, ast.AnnAssign, ast.FunctionDef, ast.ImportFrom, ast.NamedExpr, ast.Match)
    assert [node for node in ast.walk(tree) if isinstance(node, newer)] == []


@pytest.fixture
def house(tmp_path, monkeypatch):
    """A house with nothing set up, at a path with a space and umlauts."""
    folder = tmp_path / "Werkstatt für Räder"
    folder.mkdir()
    for name in ("pyproject.toml", "constraints.txt"):
        (folder / name).write_text(f"# {name}\n")
    monkeypatch.setattr(launcher, "HOUSE", folder)
    monkeypatch.setattr(launcher, "ENVIRONMENT", folder / ".venv")
    # The Python of the tests lives in an environment; the one that a newcomer types does not.
    monkeypatch.setattr(sys, "prefix", sys.base_prefix)
    monkeypatch.delenv("CONDA_PREFIX", raising=False)
    monkeypatch.setattr(launcher.venv, "create", lambda folder, **_: folder.mkdir(exist_ok=True))
    return folder


def pip_says(house, monkeypatch, words, status):
    """Answer for the Python of the house's own environment: it runs, it has pip, and pip says this."""
    (house / ".venv").mkdir()

    def answer(command, **_):
        installing = "install" in command
        return subprocess.CompletedProcess(command, status if installing else 0, words if installing else b"")

    monkeypatch.setattr(launcher.subprocess, "run", answer)


def told(capsys):
    """What was said to the person, without the line that says that a set-up has begun."""
    lines = capsys.readouterr().err.splitlines()
    assert not any("Traceback" in line for line in lines)
    return "\n".join(lines)


def test_without_a_network_the_first_start_says_so_and_what_to_do(house, monkeypatch, capsys):
    pip_says(house, monkeypatch, b"WARNING: NewConnectionError: Failed to establish a new connection", 1)
    assert launcher.main(["open"]) == 1
    assert "no way to the network" in told(capsys)
    assert not (house / ".venv" / "machinelab-installed.txt").exists()


def test_what_pip_could_not_do_is_told_in_one_line_and_kept(house, monkeypatch, capsys):
    pip_says(house, monkeypatch, "ERROR: no wheel für pint".encode(), 1)
    assert launcher.main(["open"]) == 1
    said = told(capsys)
    assert len(said.splitlines()) == 1
    assert str(house / ".venv" / "what-pip-said.txt") in said
    assert "no wheel" in (house / ".venv" / "what-pip-said.txt").read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_written_in_is_told(house, monkeypatch, capsys):
    def refuse(folder, **_):
        raise PermissionError(13, "Permission denied", str(folder))

    monkeypatch.setattr(launcher.venv, "create", refuse)
    monkeypatch.setattr(launcher, "_has", lambda python, packages: False)
    assert launcher.main(["open"]) == 1
    assert f"cannot write in {house}: Permission denied" in told(capsys)


def test_a_python_without_pip_is_told_how_to_get_it(house, monkeypatch, capsys):
    monkeypatch.setattr(launcher.importlib.util, "find_spec", lambda name: None)
    assert launcher.main(["open"]) == 1
    assert "came without pip" in told(capsys)


def test_what_is_set_up_is_used_until_a_package_goes_missing(house, monkeypatch):
    commands, there = [], [True]
    monkeypatch.setattr(launcher, "_run", lambda *command, cwd=None: commands.append(command) or 0)
    monkeypatch.setattr(launcher, "_has", lambda python, packages: packages == ("pip",) or there[0])
    filled = []
    monkeypatch.setattr(launcher, "_fill", lambda python, extra: (house / ".venv").mkdir(exist_ok=True))
    assert launcher.main(["open"]) == 0
    monkeypatch.setattr(launcher, "_fill", lambda python, extra: filled.append(extra))
    assert launcher.main(["open"]) == 0
    assert filled == []
    there[0] = False
    assert launcher.main(["open"]) == 0
    assert filled == [""]
    assert {Path(command[0]).parent.parent for command in commands} == {house / ".venv"}


def test_an_environment_that_lacks_a_package_is_not_used_and_the_package_is_named(monkeypatch, capsys):
    find = launcher.importlib.util.find_spec
    monkeypatch.setenv("CONDA_PREFIX", sys.prefix)
    monkeypatch.setattr(
        launcher.importlib.util, "find_spec", lambda name: None if name == "pint" else find(name)
    )
    monkeypatch.setattr(launcher, "_own_environment", lambda packages, extra: "the house's own")
    assert launcher._python_with(("numpy", "pint"), extra="") == "the house's own"
    assert "this Python lacks pint." in capsys.readouterr().out


def test_a_command_runs_on_this_copy_of_the_house_whatever_was_set_up_before(tmp_path):
    seen = tmp_path / "seen.txt"
    asking = f"import machinelab, pathlib; pathlib.Path({str(seen)!r}).write_text(machinelab.__file__)"
    assert launcher._run(sys.executable, "-c", asking, cwd=tmp_path) == 0
    assert Path(seen.read_text()).parent.parent == launcher.HOUSE


POSIX = pytest.mark.skipif(os.name == "nt", reason="there a program is ended in another way")


@POSIX
@pytest.mark.parametrize(
    "end",
    [lambda pid: os.killpg(pid, signal.SIGINT), lambda pid: os.kill(pid, signal.SIGTERM)],
    ids=["by a key", "from outside"],
)
def test_an_end_is_left_to_the_command_which_tidies_up_before_it_ends(end, tmp_path):
    ready, tidied = tmp_path / "ready", tmp_path / "tidied"
    child = (
        "import pathlib, signal, time\n"
        # Whoever runs the tests in the background may have told all programs below not to heed the key.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "signal.signal(signal.SIGTERM, signal.default_int_handler)\n"
        f"try:\n    pathlib.Path({str(ready)!r}).touch()\n    time.sleep(20)\n"
        f"except KeyboardInterrupt:\n    time.sleep(0.5)\n    pathlib.Path({str(tidied)!r}).touch()\n"
    )
    asking = (
        f"import sys; from machinelab.__main__ import _run; sys.exit(_run(sys.executable, '-c', {child!r}))"
    )
    with subprocess.Popen([sys.executable, "-c", asking], start_new_session=True) as running:
        while not ready.exists():
            time.sleep(0.02)
        end(running.pid)
        assert running.wait(timeout=20) == 0
    assert tidied.exists()
