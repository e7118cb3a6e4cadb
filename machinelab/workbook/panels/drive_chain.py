"""From motor to spindle to encoder, and from stepper to screw to carriage: what each mesh does, in words."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from machinelab.units import show
from machinelab.workbook.machine import Machine

INCH_MM = Fraction(127, 5)
UNKNOWN = "not known yet"
WHICH_JOINT = "belt or gears?"
# A module or diametral pitch holds pi, whose fraction nobody can read.
LONGEST_COUNT = 10**7


@dataclass(frozen=True)
class Mesh:
    """Two shafts and what joins them.

    Parameters
    ----------
    joint : str
        Belt or gears, in words; empty when one shaft is the other.
    turns : Fraction or None [turn/turn]
        Turns of the first shaft for one of the second.
    first, second : str
        The two wheels in words.
    words : str
        The ratio, ready to be written at the mesh.
    """

    joint: str
    turns: Fraction | None
    first: str
    second: str
    words: str

    @property
    def direct(self) -> bool:
        """Whether one shaft is the other."""
        return not self.joint

    @property
    def belted(self) -> bool:
        """Whether something runs round both wheels."""
        return self.joint not in ("", "gears")

    @property
    def described(self) -> str:
        """Wheels, joint and ratio in one line."""
        wheels = [] if self.direct else [f"{self.first} and {self.second}", self.joint]
        return ", ".join([*wheels, self.words])


@dataclass(frozen=True)
class DriveChain:
    """The drive of a machine as far as it is known.

    Parameters
    ----------
    spindle, encoder, screw : Mesh
        Motor to spindle, encoder to spindle, stepper to screw.
    counts : Fraction or None [count]
        Counts for one turn of the spindle.
    screw_lead_mm : Fraction or None [mm]
        Lead of the leadscrew.
    step_mm : Fraction or None [mm]
        How far one step moves the carriage.
    facts : mapping of str to str
        What is known of each part, ready to be written beside it.
    """

    spindle: Mesh
    encoder: Mesh
    screw: Mesh
    counts: Fraction | None
    screw_lead_mm: Fraction | None
    step_mm: Fraction | None
    facts: dict[str, str]

    @property
    def follows(self) -> bool:
        """Whether enough is known for the controller to lead the screw after the spindle."""
        return UNKNOWN not in self.facts["controller"]

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        motor, counts = self.spindle.turns, self.counts
        turn = [f"{short_number(motor)} of the motor"] if motor else []
        turn += [f"{short_number(counts)} counts of the encoder"] if counts else []
        said = [f"one turn of the spindle is {' and '.join(turn)}"] if turn else []
        said += [f"one step moves the carriage {micrometres(self.step_mm)}"] if self.step_mm else []
        told = "; ".join(said) or "nothing of the drive is known yet"
        return f"{told[0].upper()}{told[1:]}."

    @property
    def details(self) -> str:
        """All that the drawing shows, for those who cannot see it."""
        meshes = {
            "Motor to spindle": self.spindle,
            "encoder to spindle": self.encoder,
            "stepper to leadscrew": self.screw,
        }
        joined = "; ".join(f"{name}: {mesh.described}" for name, mesh in meshes.items())
        parts = "; ".join(f"{name} {fact}" for name, fact in self.facts.items() if name != "controller")
        return f"{joined}. Parts: {parts}; {self.facts['controller']}."


def drive_chain(machine: Machine) -> DriveChain:
    """Gather what the machine file says of the drive."""
    return DriveChain(
        spindle=_spindle_mesh(machine),
        encoder=_encoder_mesh(machine),
        screw=_screw_mesh(machine),
        counts=machine.counts_per_spindle_turn,
        screw_lead_mm=machine.leadscrew.lead_mm,
        step_mm=machine.step_mm,
        facts={
            "motor": _told(machine.motor.highest_speed_rpm, _at_most),
            "spindle": _told(machine.highest_spindle_speed_rpm, _at_most),
            "encoder": _told(machine.encoder.lines, "{} lines".format),
            "stepper": _stepper_fact(machine),
            "leadscrew": _told(machine.leadscrew.lead_mm, lambda lead: show(lead, "mm", kind="lead")),
            "carriage": _told(machine.step_mm, lambda step: f"{micrometres(step)} a step"),
            "controller": _controller_fact(machine),
        },
    )


def micrometres(length_mm: Fraction) -> str:
    """Write a very short length."""
    return f"{float(1000 * length_mm):.3g} µm"


def both_systems(length_mm: Fraction) -> str:
    """Write a very short length for either kind of shop."""
    return f"{micrometres(length_mm)} · {float(1000 * length_mm / INCH_MM):.3g} thou"


def short_number(value: Fraction) -> str:
    """Write a ratio as a short decimal where it has one, else as a fraction."""
    short = f"{float(value):.6g}"
    return short if Fraction(short) == value else f"{value.numerator}/{value.denominator}"


def _spindle_mesh(machine: Machine) -> Mesh:
    drive, turns = machine.spindle_drive, machine.motor_turns_per_spindle_turn
    if drive.belt == "none":
        return _direct(turns)
    if drive.motor_teeth or drive.spindle_teeth:
        wheels = _teeth(drive.motor_teeth), _teeth(drive.spindle_teeth)
    else:
        wheels = _diameter(drive.motor_pulley_mm), _diameter(drive.spindle_pulley_mm)
    joint = drive.belt if drive.belt in (None, "gears") else f"{drive.belt} belt"
    return Mesh(joint or WHICH_JOINT, turns, *wheels, _told(turns, _to_one))


def _encoder_mesh(machine: Machine) -> Mesh:
    encoder, turns = machine.encoder, machine.encoder_turns_per_spindle_turn
    if encoder.drive == "direct":
        return _direct(turns)
    wheels = _teeth(encoder.encoder_teeth), _teeth(encoder.spindle_teeth)
    words = _told(turns, lambda known: f"1 to {short_number(known)} turns")
    return Mesh(encoder.drive or WHICH_JOINT, turns, *wheels, words)


def _screw_mesh(machine: Machine) -> Mesh:
    stepper, turns = machine.stepper, machine.motor_turns_per_screw_turn
    if turns is not None and not stepper.screw_teeth:
        return _direct(turns)
    wheels = _teeth(stepper.motor_teeth), _teeth(stepper.screw_teeth)
    joint = "toothed belt or gears" if stepper.screw_teeth else WHICH_JOINT
    return Mesh(joint, turns, *wheels, _told(turns, _to_one))


def _direct(turns: Fraction | None) -> Mesh:
    return Mesh("", turns, "", "", "1 to 1, direct")


def _to_one(turns: Fraction) -> str:
    return f"{short_number(turns)} turns to 1"


def _at_most(speed_rpm: float) -> str:
    return f"at most {show(speed_rpm, 'rpm')}"


def _stepper_fact(machine: Machine) -> str:
    full, micro = machine.stepper.full_steps, machine.stepper.microsteps
    return UNKNOWN if full is None else f"{full} steps × {_told(micro, str)}"


def _controller_fact(machine: Machine) -> str:
    found = ((thread, machine.steps_per_count(thread)) for thread in machine.threads)
    thread, ratio = next((pair for pair in found if pair[1] is not None), (None, None))
    if ratio is None:
        return f"controller: {UNKNOWN}"
    lead = min(show(thread.lead_mm, "mm", kind="lead").split(" · "), key=len)
    told = _steps_in_counts(abs(ratio.numerator), ratio.denominator)
    if ratio.denominator > LONGEST_COUNT:
        told = f"{abs(float(ratio)):.6g} steps in a count"
    return f"controller, for {lead}: {told}{', screw backwards' if ratio < 0 else ''}"


def _steps_in_counts(steps: int, counts: int) -> str:
    return f"{steps} {'step' if steps == 1 else 'steps'} in {counts} {'count' if counts == 1 else 'counts'}"


def _told(value, words: Callable[..., str]) -> str:
    return UNKNOWN if value is None else words(value)


def _teeth(count: int | None) -> str:
    return "teeth?" if count is None else f"{count} teeth"


def _diameter(diameter_mm: Fraction | None) -> str:
    return "diameter?" if diameter_mm is None else shortest_length(diameter_mm)


def shortest_length(diameter_mm: Fraction) -> str:
    """A diameter in the unit in which it comes out shorter: 2.5 in rather than 63.5 mm."""
    return min((f"{float(diameter_mm):g} mm", f"{float(diameter_mm / INCH_MM):g} in"), key=len)
