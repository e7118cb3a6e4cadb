"""The launcher's commands: what is passed on, what is refused, and what a wrong Python is told."""

import sys

import pytest

from machinelab import __main__ as launcher


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


def test_a_failing_part_ends_the_run_with_its_status(monkeypatch, started):
    monkeypatch.setattr(launcher, "_run", lambda *command, cwd=None: 3)
    assert launcher.main(["test", "quick"]) == 3


def test_an_option_that_no_test_knows_is_refused(started):
    with pytest.raises(SystemExit):
        launcher.main(["test", "--fast"])
    assert started == []


def test_an_old_python_is_told_in_one_sentence(monkeypatch, capsys):
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    assert launcher.main(["open"]) == 1
    assert "needs Python 3.11 or newer; this is Python 3.9" in capsys.readouterr().err
