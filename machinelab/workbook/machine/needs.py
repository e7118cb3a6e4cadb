"""What each step of the workbook needs from the machine file before it can predict anything."""

from collections.abc import Mapping

from machinelab.errors import MachineFileError
from machinelab.workbook.machine.built import Machine, fields
from machinelab.workbook.machine.lines import Line

STEPS = {
    "00": (),
    "01": (),
    "02": (),
    "03": (
        "motor.supply",
        "motor.current",
        "motor.armature_resistance",
        "motor.back_emf",
        "motor_turns_per_spindle_turn",
    ),
    "04": ("counts_per_spindle_turn", "spindle.highest_speed"),
    "05": ("spindle.highest_speed",),
    "06": (
        "brake.resistor",
        "motor.armature_resistance",
        "motor.back_emf",
        "motor_turns_per_spindle_turn",
        "spindle.inertia",
        "spindle.highest_speed",
    ),
    "07": ("thread", "leadscrew.lead", "steps_per_screw_turn", "counts_per_spindle_turn"),
    "08": (
        "thread",
        "leadscrew.lead",
        "steps_per_screw_turn",
        "stepper.holding_torque",
        "stepper.rated_current",
        "stepper.inductance",
        "stepper.resistance",
        "stepper.driver_supply",
    ),
    "09": ("spindle.highest_speed", "motor.supply", "motor_turns_per_spindle_turn"),
    "10": (
        "thread",
        "leadscrew.lead",
        "steps_per_screw_turn",
        "counts_per_spindle_turn",
        "threading.reaction",
    ),
    "11": ("leadscrew.lead", "step_mm"),
    "12": (),
    "13": ("leadscrew.lead", "motor_turns_per_screw_turn", "motor_turns_per_spindle_turn"),
    "14": (),
    "15": ("mill_head.highest_speed",),
    "16": (),
}


def needs(step: str, machine: Machine) -> tuple[Line, ...]:
    """Return the lines that the machine file still lacks for a step, such as ``"07"``.

    A machine without a brake needs nothing for the step of the brake.
    """
    if step not in STEPS:
        raise MachineFileError(f"There is no step {step}. The steps are {', '.join(STEPS)}.")
    if step == "06" and machine.brake.fitted is False:
        return ()
    return machine.missing(*STEPS[step])


def used(step: str, machine: Machine) -> dict[str, str]:
    """What the machine file says on the lines that a step cannot do without, in words, by path."""
    return machine.told(*STEPS.get(step, ()))


def changed_since(step: str, machine: Machine, then: Mapping[str, str]) -> tuple[str, ...]:
    """In words, which of the lines that a step used are other now than they were then."""
    now, labels = used(step, machine), {line.path: line.label for line in fields()}
    return tuple(
        f"{labels.get(path, path)} was {before}, is {now.get(path, 'not filled in')}"
        for path, before in then.items()
        if now.get(path) != before
    )
