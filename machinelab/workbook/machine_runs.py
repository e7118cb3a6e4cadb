"""The runs that lie in a machine's folder, read and fitted: the free run-down and the braked one."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from machinelab.errors import MachinelabError
from machinelab.spindle.brake_fit import BrakedFit, fit_braked
from machinelab.spindle.coastdown import CoastdownFit, fit
from machinelab.spindle.speed_meter import Meter
from machinelab.units.typed_number import in_short
from machinelab.workbook import speed_log
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine_logs import BRAKED, COAST, logs_for


def fit_free_run(log, machine: Machine) -> CoastdownFit:
    """Fit a log of a free run-down with what the machine file says of encoder and meter."""
    return fit(_with_counts(log, machine), meter=Meter(cutoff_rpm=machine.meter.cutoff_rpm))


def fit_braked_run(log, machine: Machine, numbers: BrakeNumbers) -> BrakedFit:
    """Fit a log of a braked run together with the free run, as far as one has told the drags."""
    log, known = _with_counts(log, machine), machine.meter.lag_s
    given = {
        "brush_speed_rad_s": numbers.brush_speed_rad_s,
        "drag_covariance": numbers.drag_covariance,
        **numbers.drags,
    }
    found = fit_braked(log, **given)
    if not (found.readings.update_s and known):
        return found
    # Only a display holds its numbers; an encoder does not lag.
    lagging = fit_braked(log, **given, lag_s=known)
    note = f"The display holds its numbers, so the meter's lag of {known:g} s was reckoned with."
    return replace(lagging, notes=(*lagging.notes, note))


@dataclass(frozen=True)
class OwnRun:
    """The first log in a machine's folder that could be fitted, its fit, and what was passed over before."""

    log: object = None
    fit: object = None
    passed_over: tuple[str, ...] = ()


def first_usable(purpose: str, machine: Machine, analyse: Callable) -> OwnRun:
    """Seek the first of the machine's logs for a measurement that can be fitted."""
    passed_over = []
    for file in logs_for(purpose, machine):
        try:
            log = speed_log.read(file)
            return OwnRun(log, analyse(log), tuple(passed_over))
        except MachinelabError as problem:
            passed_over.append(f"**Mind:** the log {in_short(file.name)} was passed over. {problem}")
    return OwnRun(passed_over=tuple(passed_over))


def free_run(machine: Machine) -> CoastdownFit | None:
    """The free run-down in the machine's folder; None where there is none that can be used."""
    return first_usable(COAST, machine, lambda log: fit_free_run(log, machine)).fit


def braked_run(machine: Machine, numbers: BrakeNumbers) -> BrakedFit | None:
    """The braked run in the machine's folder; None where there is none that can be used."""
    return first_usable(BRAKED, machine, lambda log: fit_braked_run(log, machine, numbers)).fit


def _with_counts(log, machine: Machine):
    return replace(log, marks_per_turn=machine.counts_per_spindle_turn) if log.kind == "counts" else log
