"""What a machine's record keeps of its runs, for when the log itself is no longer in its folder."""

import re
from dataclasses import dataclass

from machinelab.errors import MachinelabError
from machinelab.workbook.machine import Machine
from machinelab.workbook.record import Record
from machinelab.workbook.record.line import Line

FREE_RUN, BRAKED_RUN = "05", "06"
_FREE = re.compile(r"time to standstill from (?P<rpm>[\d.]+) rpm, without brake")
_FIRST_NUMBER = re.compile(r"^\s*(?P<number>\d+(?:\.\d+)?)")


@dataclass(frozen=True)
class RecordedFreeRun:
    """A free run-down as the record has it: from which speed, and how long."""

    from_rpm: float
    stop_time_s: float


@dataclass(frozen=True)
class RecordedBrake:
    """A braked run as the record has it: when the brake came in, and its time constant."""

    contact_delay_s: float
    time_constant_s: float


def recorded_free_run(machine: Machine) -> RecordedFreeRun | None:
    """The latest free run-down in force; None where the record holds none."""
    for line in reversed(_lines(machine, FREE_RUN)):
        found = _FREE.fullmatch(line.quantity)
        if found and line.measured and line.measured.unit == "s" and line.measured.value > 0:
            return RecordedFreeRun(float(found["rpm"]), line.measured.value)
    return None


def recorded_brake(machine: Machine) -> RecordedBrake | None:
    """The latest braked run in force; None where the record holds none."""
    for line in reversed(_lines(machine, BRAKED_RUN)):
        told = line.conditions or {}
        delay, constant = (_first_number(told.get(name)) for name in ("contact delay", "time constant"))
        if delay is not None and constant:
            return RecordedBrake(delay, constant)
    return None


def _lines(machine: Machine, step: str) -> list[Line]:
    if machine.folder is None:
        return []
    try:
        return [line for line in Record(machine.folder).lines_in_force() if line.step == step]
    except MachinelabError:
        return []


def _first_number(text) -> float | None:
    found = _FIRST_NUMBER.match(text) if isinstance(text, str) else None
    return float(found["number"]) if found else None
