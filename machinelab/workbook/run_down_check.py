"""How long the chuck turns on after a stop, held against the times that the control box relies on."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from machinelab.controls.panel import Panel
from machinelab.estimate import Estimate
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine_runs import free_run
from machinelab.workbook.measured import with_interval

NO_RUN = "The run-down has not been logged yet: do step 05, then come back."
COLUMNS = ["what the box relies on", "typed", "longest run-down, as fitted", "how it stands"]
LONG_ENOUGH, TOO_SHORT, NOT_TYPED = "long enough", "TOO SHORT", "not typed"
# The fit tells no more beyond this part of the speed at which it was tested.
FURTHEST = 1.5


@dataclass(frozen=True)
class RunDownRow:
    """One time in the description beside the run-down of the machine."""

    name: str
    typed_s: float | None
    word: str


def longest_run_down(machine: Machine) -> Estimate | None:
    """Time to standstill from the highest speed without a brake, as fitted; None without a log."""
    found = free_run(machine)
    if found is None:
        return None
    top_rpm = machine.highest_spindle_speed_rpm or found.tested_rpm
    return found.stop_time_s(min(top_rpm, FURTHEST * found.tested_rpm))


def run_down_rows(panel: Panel, run_down: Estimate) -> tuple[RunDownRow, ...]:
    """Hold every run-down and every timer of a description against the longest run-down.

    The search orders slow things by these times, so a time that is typed too short hides a hazard. A
    timer must outlast the run-down without a brake, because the brake may be what has failed.
    """
    return tuple(_rows(panel, run_down.interval[1]))


def run_down_table(panel: Panel | None, machine: Machine) -> pd.DataFrame | str:
    """The same as a table, or in words what is missing."""
    run_down = longest_run_down(machine)
    if panel is None or run_down is None:
        return NO_RUN
    shown = f"{with_interval(run_down)} s"
    rows = [
        (row.name, NOT_TYPED if row.typed_s is None else f"{row.typed_s:g} s", shown, row.word)
        for row in run_down_rows(panel, run_down)
    ]
    return pd.DataFrame(rows, columns=COLUMNS).set_index(COLUMNS[0]).rename_axis(None)


def _rows(panel: Panel, longest_s: float) -> Iterator[RunDownRow]:
    # The log of step 05 is that of the main spindle, which is the first motor of the description.
    motor = next(iter(panel.motors), None)
    if motor is not None:
        typed = None if motor.run_down_s is None else motor.run_down_s[1]
        yield RunDownRow(f"free run-down of {motor.name}, at most", typed, _word(typed, longest_s))
    for relay in panel.relays:
        if relay.slow_drop_s is not None:
            least = relay.slow_drop_s[0]
            yield RunDownRow(f"timer {relay.name}, at least", least, _word(least, longest_s))


def _word(typed_s: float | None, longest_s: float) -> str:
    least = f"at least {math.ceil(10 * longest_s) / 10:.1f} s"
    if typed_s is None:
        return f"{NOT_TYPED}: type {least}"
    return LONG_ENOUGH if typed_s > longest_s else f"{TOO_SHORT}: {least}"
