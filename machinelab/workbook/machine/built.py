"""The machine as built: plain numbers for the physics, and the figures that follow from them at once."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import get_args

from pydantic import Field, PrivateAttr

from machinelab import units
from machinelab.errors import MachineFileError
from machinelab.leadscrew.gearing import steps_per_count
from machinelab.spindle.encoder import counts_per_spindle_turn, encoder_turns_per_spindle_turn
from machinelab.workbook.fields import spindle_speed
from machinelab.workbook.machine import sections
from machinelab.workbook.machine.lines import Line, Section
from machinelab.workbook.machine.sections import ThreadToCut


class Figure(property):
    """A figure that follows from lines of the machine file; None while one of them is missing.

    ``paths`` tells which lines it needs on a given machine.
    """

    def __init__(self, paths: Callable[["Machine"], tuple[str, ...]], work_out: Callable):
        self.paths = paths
        super().__init__(lambda machine: None if machine.missing(*paths(machine)) else work_out(machine))
        self.__doc__ = work_out.__doc__


def _figure(paths: Callable[["Machine"], tuple[str, ...]]):
    return lambda work_out: Figure(paths, work_out)


class Machine(Section):
    """Everything that ``machine.toml`` says; what it does not say is None.

    Sections are attributes (``machine.leadscrew.lead_mm``), threads to cut are ``machine.threads``. Leads,
    ratios and counts are exact. Nothing can be changed; ``save`` writes a changed file, to be loaded again.
    """

    about: sections.About = Field(default_factory=sections.About, alias="machine")
    lathe: sections.Lathe = Field(default_factory=sections.Lathe)
    mains: sections.Mains = Field(default_factory=sections.Mains)
    bus: sections.Bus = Field(default_factory=sections.Bus)
    motor: sections.Motor = Field(default_factory=sections.Motor)
    spindle_drive: sections.SpindleDrive = Field(default_factory=sections.SpindleDrive)
    spindle: sections.Spindle = Field(default_factory=sections.Spindle)
    encoder: sections.Encoder = Field(default_factory=sections.Encoder)
    meter: sections.Meter = Field(default_factory=sections.Meter)
    brake: sections.Brake = Field(default_factory=sections.Brake)
    leadscrew: sections.Leadscrew = Field(default_factory=sections.Leadscrew)
    stepper: sections.Stepper = Field(default_factory=sections.Stepper)
    controller: sections.Controller = Field(default_factory=sections.Controller)
    carriage: sections.Carriage = Field(default_factory=sections.Carriage)
    feed: sections.PowerFeed = Field(default_factory=sections.PowerFeed)
    threading: sections.Threading = Field(default_factory=sections.Threading)
    steady_rest: sections.SteadyRest = Field(default_factory=sections.SteadyRest)
    mill_head: sections.MillHead = Field(default_factory=sections.MillHead)
    target: sections.Target = Field(default_factory=sections.Target)
    threads: tuple[ThreadToCut, ...] = Field(default=(), alias="thread", strict=False)

    _folder: Path | None = PrivateAttr(default=None)
    _typed: MappingProxyType = PrivateAttr(default_factory=lambda: MappingProxyType({}))

    @property
    def folder(self) -> Path | None:
        """Where the machine file, the logs and the record live; None for a machine that is not on disk."""
        return self._folder

    @property
    def typed(self) -> MappingProxyType:
        """What stands in the file, word for word, by path: ``leadscrew.lead`` gives ``8 tpi``."""
        return self._typed

    @property
    def name(self) -> str:
        """The machine's name, or its folder's while it has none."""
        return self.about.name or (self.folder.name if self.folder else "a machine without a name")

    @_figure(lambda machine: machine.spindle_drive.ratio_paths)
    def motor_turns_per_spindle_turn(self) -> Fraction | None:
        """Turns of the motor for one of the spindle."""
        drive = self.spindle_drive
        if drive.belt == "none":
            return Fraction(1)
        if drive.motor_teeth:
            return Fraction(drive.spindle_teeth, drive.motor_teeth)
        return drive.spindle_pulley_mm / drive.motor_pulley_mm

    @_figure(lambda machine: machine.encoder.ratio_paths)
    def encoder_turns_per_spindle_turn(self) -> Fraction | None:
        """Turns of the encoder for one of the spindle."""
        return encoder_turns_per_spindle_turn(*self.encoder.teeth)

    @_figure(lambda machine: ("encoder.lines", *machine.encoder.ratio_paths))
    def counts_per_spindle_turn(self) -> Fraction | None:
        """Edges of both channels for one turn of the spindle."""
        return counts_per_spindle_turn(self.encoder.lines, *self.encoder.teeth)

    @_figure(lambda machine: ("stepper.full_steps",))
    def motor_turns_per_screw_turn(self) -> Fraction | None:
        """Turns of the stepper for one of the leadscrew; one when it sits on the screw."""
        stepper = self.stepper
        return Fraction(stepper.screw_teeth, stepper.motor_teeth) if stepper.screw_teeth else Fraction(1)

    @_figure(lambda machine: ("stepper.full_steps", "stepper.microsteps"))
    def steps_per_screw_turn(self) -> Fraction | None:
        """Pulses that turn the leadscrew once."""
        return self.stepper.full_steps * self.stepper.microsteps * self.motor_turns_per_screw_turn

    @_figure(lambda machine: ("leadscrew.lead", "stepper.full_steps", "stepper.microsteps"))
    def step_mm(self) -> Fraction | None:
        """How far one pulse moves the saddle."""
        return self.leadscrew.lead_mm / self.steps_per_screw_turn

    @property
    def spindle_speed_limits_rpm(self) -> dict[str, float]:
        """Every limit of the spindle speed that is known, by where it comes from."""
        ratio, motor = self.motor_turns_per_spindle_turn, self.motor.highest_speed_rpm
        limits = {
            "the highest you allow": self.spindle.highest_speed_rpm,
            "marked on the chuck": self.spindle.chuck_highest_speed_rpm,
            "the most the motor may turn": motor / float(ratio) if motor and ratio else None,
        }
        return {source: limit for source, limit in limits.items() if limit is not None}

    @property
    def highest_spindle_speed_rpm(self) -> float | None:
        """The lowest of the limits of the spindle speed; None while none is known."""
        return min(self.spindle_speed_limits_rpm.values(), default=None)

    @property
    def spindle_speed_field(self) -> units.Field:
        """The box for a spindle speed, no higher than this machine may turn."""
        limits = self.spindle_speed_limits_rpm
        source = min(limits, key=limits.get, default="")
        return spindle_speed(limits.get(source), source)

    def steps_per_count(self, thread: ThreadToCut) -> Fraction | None:
        """Steps of the leadscrew for one count of the encoder in a thread; below zero it runs backwards."""
        needed = (self.leadscrew.lead_mm, self.steps_per_screw_turn, self.counts_per_spindle_turn)
        if thread.turning_lead_mm is None or None in needed:
            return None
        turned_over = -1 if self.leadscrew.hand == "left" else 1
        return steps_per_count(turned_over * thread.turning_lead_mm, *needed)

    def value(self, path: str):
        """What a line says, as a plain number or word; None when the file does not say."""
        place = _place(path)
        return getattr(getattr(self, place.section), place.attribute)

    def show(self, path: str) -> str:
        """What a line says, in words, quantities in both units."""
        return _place(path).line.show(self.value(path))

    def told(self, *names: str) -> dict[str, str]:
        """What the file says on the lines named or needed for the figures named, in words, by path.

        Lines that are not filled in, and the threads to cut, are left out.
        """
        paths = dict.fromkeys(path for name in names for path in self._paths_for(name))
        known = [path for path in paths if not path.startswith("thread.") and self._has(path)]
        return {path: self.show(path) for path in known}

    def values(self) -> dict[str, object]:
        """Everything the file says, by path; threads are counted from 1: ``thread.1.pitch``."""
        said = {path: self.value(path) for path in _places() if not path.startswith("thread.")}
        said |= {f"target.why.{key}": reason for key, reason in self.target.why.items()}
        for count, thread in enumerate(self.threads, start=1):
            for path, place in _places("thread").items():
                said[path.replace("thread", f"thread.{count}", 1)] = getattr(thread, place.attribute)
        return {path: value for path, value in said.items() if value is not None}

    def missing(self, *names: str) -> tuple[Line, ...]:
        """Return the lines that the file lacks, of those named or needed for the figures named.

        ``thread`` asks for one thread with its pitch.
        """
        paths = dict.fromkeys(path for name in names for path in self._paths_for(name))
        return tuple(_place(path).line for path in paths if not self._has(path))

    def require(self, *names: str) -> None:
        """Go on only if the file has all that is named, else say in words what to add.

        Raises
        ------
        MachineFileError
            Naming every missing line with an example.
        """
        missing = self.missing(*names)
        if missing:
            raise MachineFileError(asked_for(missing))

    def fingerprint(self, *only: str) -> str:
        """A mark that changes when what the file says changes, in all of it or in the sections named.

        Comments, order and the way a figure is written do not matter: 8 tpi and 3.175 mm are the same.
        """
        said = sorted(self.values().items())
        lines = [f"{path} = {value}" for path, value in said if not only or path.partition(".")[0] in only]
        return hashlib.sha256("\n".join(lines).encode()).hexdigest()

    def _paths_for(self, name: str) -> tuple[str, ...]:
        figure = getattr(type(self), name, None)
        if isinstance(figure, Figure):
            return figure.paths(self)
        return ("thread.pitch",) if name == "thread" else (_place(name).line.path,)

    def _has(self, path: str) -> bool:
        if path.startswith("thread."):
            return any(getattr(thread, _place(path).attribute) is not None for thread in self.threads)
        return self.value(path) is not None


def fields() -> tuple[Line, ...]:
    """Every line that a machine file may have, in its order: for the form and for its help."""
    return tuple(place.line for place in _places().values())


def titles() -> dict[str, str]:
    """The heading of each section in plain words, by the section's name in the file."""
    return {key: section.title for key, (_, section) in _sections().items()}


def asked_for(lines: tuple[Line, ...]) -> str:
    """Say kindly which lines are still missing, and what they look like."""
    listed = "\n".join(f"  - {line.label}: {line.as_written} under {line.heading}" for line in lines)
    return f"The machine file does not say yet:\n{listed}"


def differences(before: Machine, after: Machine) -> dict[str, tuple[str, str]]:
    """What changed from one machine file to another: by path, what it was and what it is, in words."""
    old, new = before.values(), after.values()
    changed = (
        path for path in (*old, *(path for path in new if path not in old)) if old.get(path) != new.get(path)
    )
    return {path: (_shown(path, old.get(path)), _shown(path, new.get(path))) for path in changed}


def _shown(path: str, value) -> str:
    if path.startswith("target.why."):
        return value or "no reason given"
    section, *_, key = path.split(".")
    return _place(f"{section}.{key}").line.show(value)


@dataclass(frozen=True)
class _Place:
    section: str
    attribute: str
    line: Line


@cache
def _sections() -> dict[str, tuple[str, type[Section]]]:
    """By its name in the file: the attribute that holds a section, and its class."""
    found = {}
    for attribute, info in Machine.model_fields.items():
        kinds = (info.annotation, *get_args(info.annotation))
        found[info.alias or attribute] = attribute, next(kind for kind in kinds if _is_section(kind))
    return found


def _is_section(kind) -> bool:
    return isinstance(kind, type) and issubclass(kind, Section)


@cache
def _places(only: str = "") -> dict[str, _Place]:
    return {
        line.path: _Place(attribute, inner, line)
        for attribute, section in _sections().values()
        for inner, line in section.described().items()
        if not only or line.section == only
    }


def _place(path: str) -> _Place:
    try:
        return _places()[path]
    except KeyError:
        raise MachineFileError(f"{path} is no line of the machine file and no figure made from it.") from None
