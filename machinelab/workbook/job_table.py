"""A job in tables: the tool's speeds beside the machine's, and the same bar for every kind of work."""

from collections.abc import Iterable
from dataclasses import replace

import pandas as pd

from machinelab.work.cutting_speeds import cutting_speed_m_min
from machinelab.workbook.job_plan import JobPlan

ENDS = ("low", "typical", "high")


def speeds_table(plan: JobPlan) -> pd.DataFrame:
    """Low, typical and high: cutting speed, spindle speed, and what the machine makes of it."""
    wanted = (plan.wanted.low_m_min, plan.wanted.typical_m_min, plan.wanted.high_m_min)
    rows = [
        (end, plan.machine.lengths.rim.told(speed), f"{rpm:.0f} rpm", _made_of(plan, rpm))
        for end, speed, rpm in zip(ENDS, wanted, plan.band_rpm, strict=True)
    ]
    return _table(rows, ["", "cutting speed", "spindle", "on this machine"])


def by_operation(plan: JobPlan, operations: Iterable[str]) -> pd.DataFrame:
    """The same material, tool and diameter for every kind of work."""
    plans = (JobPlan(replace(plan.job, operation=one), plan.machine) for one in operations)
    rows = [
        (
            one.job.operation,
            _range(one),
            f"{one.speed_rpm:.0f} rpm",
            one.set_by,
        )
        for one in plans
    ]
    return _table(rows, ["", "the tool bears", "set", "set by"])


def _range(plan: JobPlan) -> str:
    rim = plan.machine.lengths.rim.told
    return f"{rim(plan.wanted.low_m_min).split()[0]} to {rim(plan.wanted.high_m_min)}"


def _made_of(plan: JobPlan, rpm: float) -> str:
    machine = plan.machine
    if rpm > machine.top_rpm:
        return f"{_cut(plan, machine.top_rpm)} at {machine.top_rpm:.0f} rpm: {machine.top_why}"
    if rpm < machine.lowest_rpm:
        return f"{_cut(plan, machine.lowest_rpm)} at {machine.lowest_rpm:.0f} rpm: no slower"
    return "in reach"


def _cut(plan: JobPlan, speed_rpm: float) -> str:
    diameter = float(plan.job.diameter_mm)
    return plan.machine.lengths.rim.told(cutting_speed_m_min(speed_rpm, diameter_mm=diameter))


def _table(rows: list, columns: list[str]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=columns).set_index("").rename_axis(None)
