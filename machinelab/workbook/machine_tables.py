"""The machine file in tables: what is known, what follows from it at once, and what is still wanted."""

from collections.abc import Callable
from fractions import Fraction

from machinelab.spindle.encoder import EDGES_PER_LINE
from machinelab.units import show
from machinelab.workbook.machine import Line, Machine, fields, titles
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.panels.drive_chain import both_systems, short_number, shortest_length
from machinelab.workbook.share import Table
from machinelab.workbook.steps import standings

UNKNOWN = "not known yet"


def known(machine: Machine) -> Table:
    """The whole machine file in words, part by part."""
    rows = [(title, *_part(machine, name)) for name, title in titles().items()]
    return Table(("part", "filled in", "what is known"), tuple(rows))


def figures(machine: Machine) -> Table:
    """What follows from the machine file at once, and from what."""
    rows = [
        _figure(machine, "motor turns for one of the spindle", "motor_turns_per_spindle_turn", _belt),
        _figure(
            machine, "encoder turns for one of the spindle", "encoder_turns_per_spindle_turn", _encoder_belt
        ),
        _figure(machine, "counts for one turn of the spindle", "counts_per_spindle_turn", _counts),
        _figure(machine, "stepper turns for one of the leadscrew", "motor_turns_per_screw_turn", _screw_belt),
        _figure(machine, "steps for one turn of the leadscrew", "steps_per_screw_turn", _steps),
        _figure(machine, "travel of the carriage for one step", "step_mm", _step, both_systems),
        _speed_limit(machine),
    ]
    return Table(("what follows", "figure", "from"), tuple(rows))


def wanted(machine: Machine) -> Table:
    """Which steps can be begun with what is filled in, and what the others still want."""
    rows = [
        (f"{one.step.number} {one.step.title}", "wants more" if one.missing else "ready", labels(one.missing))
        for one in standings(machine)
    ]
    return Table(("step", "machine file", "still to fill in"), tuple(rows))


def labels(lines: tuple[Line, ...]) -> str:
    """The labels of lines, in one line."""
    return "; ".join(line.label for line in lines)


def _part(machine: Machine, section: str) -> tuple[str, str]:
    if section == "thread":
        return str(len(machine.threads)), "; ".join(map(_thread, machine.threads)) or "none yet"
    lines = [line for line in fields() if line.section == section]
    told = [
        f"{line.label}: {machine.show(line.path)}" for line in lines if machine.value(line.path) is not None
    ]
    return f"{len(told)} of {len(lines)}", "; ".join(told) or UNKNOWN


def _thread(thread: ThreadToCut) -> str:
    lead = "" if thread.lead_mm is None else f"lead {show(thread.lead_mm, 'mm', kind='lead')}"
    hand = "left-hand" if thread.hand == "left" else ""
    return ", ".join(filter(None, (thread.name, thread.designation, lead, hand))) or "a thread"


def _figure(
    machine: Machine,
    name: str,
    figure: str,
    how: Callable[[Machine], str],
    words: Callable[[Fraction], str] = short_number,
) -> tuple[str, str, str]:
    value = getattr(machine, figure)
    if value is None:
        return name, UNKNOWN, f"wants {labels(machine.missing(figure))}"
    return name, words(value), how(machine)


def _belt(machine: Machine) -> str:
    drive = machine.spindle_drive
    if drive.belt == "none":
        return "motor on the spindle"
    if drive.motor_teeth:
        return f"{drive.spindle_teeth} / {drive.motor_teeth} teeth"
    return f"{shortest_length(drive.spindle_pulley_mm)} / {shortest_length(drive.motor_pulley_mm)}"


def _encoder_belt(machine: Machine) -> str:
    on_spindle, on_encoder = machine.encoder.teeth
    return (
        "straight on the spindle"
        if machine.encoder.drive == "direct"
        else f"{on_spindle} / {on_encoder} teeth"
    )


def _counts(machine: Machine) -> str:
    belt = short_number(machine.encoder_turns_per_spindle_turn)
    return f"{EDGES_PER_LINE} edges × {machine.encoder.lines} lines × {belt}"


def _screw_belt(machine: Machine) -> str:
    stepper = machine.stepper
    return f"{stepper.screw_teeth} / {stepper.motor_teeth} teeth" if stepper.screw_teeth else "on the screw"


def _steps(machine: Machine) -> str:
    stepper, belt = machine.stepper, short_number(machine.motor_turns_per_screw_turn)
    return f"{stepper.full_steps} full steps × {stepper.microsteps} × {belt}"


def _step(machine: Machine) -> str:
    lead = show(machine.leadscrew.lead_mm, "mm", kind="lead").split(" · ")[0]
    return f"{lead} / {short_number(machine.steps_per_screw_turn)}"


def _speed_limit(machine: Machine) -> tuple[str, str, str]:
    name, limits = "fastest the spindle may turn", machine.spindle_speed_limits_rpm
    if not limits:
        return name, UNKNOWN, "wants Highest speed you allow"
    lowest = min(limits, key=limits.get)
    return name, show(limits[lowest], "rpm"), lowest
