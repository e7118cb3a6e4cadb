"""The control box's own times beside the run-down that was logged: too short is told, with what to type."""

from dataclasses import replace
from pathlib import Path

import pytest

from machinelab.estimate import Estimate
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.control_box import ControlBoxPage
from machinelab.workbook.panel_file import read_panel_file
from machinelab.workbook.run_down_check import LONG_ENOUGH, longest_run_down, run_down_rows, run_down_table

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"


@pytest.fixture
def box():
    return read_panel_file(DEMO)


def with_times(box, run_down_s, slow_drop_s):
    first, *others = box.motors
    timed, *relays = box.relays
    return replace(
        box,
        motors=(replace(first, run_down_s=run_down_s), *others),
        relays=(replace(timed, slow_drop_s=slow_drop_s), *relays),
    )


def test_the_demos_longest_run_down_is_that_of_page_05():
    found = longest_run_down(load(DEMO))
    assert found.value == pytest.approx(30, abs=0.5)
    assert longest_run_down(empty()) is None


@pytest.mark.parametrize(
    ("run_down_s", "timer_s", "words"),
    [
        ((20.0, 40.0), (35.0, 40.0), [LONG_ENOUGH, LONG_ENOUGH]),
        ((20.0, 25.0), (35.0, 40.0), ["TOO SHORT: at least 30.1 s", LONG_ENOUGH]),
        ((20.0, 40.0), (30.0, 60.0), [LONG_ENOUGH, "TOO SHORT: at least 30.1 s"]),
    ],
)
def test_a_time_below_the_longest_run_down_is_too_short(box, run_down_s, timer_s, words):
    """The upper end of the run-down's interval counts, and of a timer its lower end."""
    rows = run_down_rows(with_times(box, run_down_s, timer_s), Estimate(30.0, (29.9, 30.05)))
    assert [row.word for row in rows] == words


def test_a_run_down_that_is_not_typed_is_asked_for(box):
    (row,) = run_down_rows(box, Estimate(30.0, (29.9, 30.05)))
    assert row.typed_s is None
    assert row.word == "not typed: type at least 30.1 s"


def test_without_a_log_or_a_box_the_page_says_what_is_missing(box):
    assert "step 05" in run_down_table(box, empty())
    assert "waits for a description of the control box" in str(ControlBoxPage(empty()).run_down)
    page = ControlBoxPage(load(DEMO))
    assert "lathe" in page.run_down.index[0]
    assert "capacitors below 60 V" in page.electrics.index
