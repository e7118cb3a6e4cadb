"""The steps of the workbook in the order in which it is safe to work, and how each stands with a machine."""

import csv
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from machinelab.errors import MachinelabError, RangeError
from machinelab.workbook.machine import Line, Machine, needs
from machinelab.workbook.machine.folders import machines_folder
from machinelab.workbook.machine.needs import changed_since
from machinelab.workbook.record import Record
from machinelab.workbook.record.line import Line as RecordLine
from machinelab.workbook.record.state import StepState, in_force, state_of
from machinelab.workbook.verdict import MET, NOT_DONE, RECORDED

START = "00"
DONE = (MET, RECORDED)
# Nothing may follow an emergency stop that has failed its test; a spindle that runs on for too long is no
# such bar, it is what the brake is for.
MUST_BE_MET = ("02",)


@dataclass(frozen=True)
class Step:
    """One step of the workbook: its page, the question it answers, and the steps that come before it."""

    number: str
    title: str
    question: str
    before: tuple[str, ...]

    @property
    def notebook(self) -> str:
        """The file name of its notebook; empty while it is not written."""
        found = sorted(machines_folder().parent.glob(f"{self.number}_*.ipynb"))
        return found[0].name if found else ""

    @property
    def link(self) -> str:
        """Number and title in Markdown, leading to the notebook where there is one."""
        name, notebook = f"{self.number} {self.title}", self.notebook
        return f"[{name}]({notebook})" if notebook else f"{name} *(not written yet)*"


@dataclass(frozen=True)
class Standing:
    """How a step stands: the word of the record, what the machine file lacks, which steps come first.

    ``changed`` tells in words what the machine file said otherwise when the step's lines were written;
    ``latest`` is the line of the record that was written last and still counts.
    """

    step: Step
    word: str
    missing: tuple[Line, ...]
    first: tuple[Step, ...]
    changed: tuple[str, ...] = ()
    latest: RecordLine | None = None

    @property
    def done(self) -> bool:
        """Whether nothing is left open on it."""
        return self.word in DONE

    @property
    def ready(self) -> bool:
        """Whether it waits for nothing."""
        return not self.missing and not self.first

    @property
    def waits_for(self) -> str:
        """What it waits for, in words; empty when it is done or can be begun."""
        if self.done:
            return ""
        numbers, labels = (", ".join(one.number for one in self.first), [one.label for one in self.missing])
        steps = [f"step{'s' * (len(self.first) > 1)} {numbers}"] if numbers else []
        lines = [f"the machine file: {'; '.join(labels)}"] if labels else []
        return " and ".join([*steps, *lines])


@cache
def steps() -> tuple[Step, ...]:
    """Every step, in its order."""
    with files(__package__).joinpath("steps.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return tuple(Step(**row | {"before": tuple(row["before"].split())}) for row in rows)


def step(number: str) -> Step:
    """Return one step by its number.

    Raises
    ------
    RangeError
        When there is no such step.

    Examples
    --------
    >>> step("05").title
    'coast-down'
    """
    found = {one.number: one for one in steps()}
    if number not in found:
        raise RangeError(f"There is no step {number!r}. The steps are {', '.join(found)}.")
    return found[number]


def standings(machine: Machine, lines: Iterable[RecordLine] = ()) -> tuple[Standing, ...]:
    """How every step stands with a machine and its record; the start page itself is left out."""
    # Sought once for all steps: the record may be long.
    lines = in_force(lines)
    states = {one.number: state_of(lines, one.number) for one in steps()}
    words = {number: state.word for number, state in states.items()}
    return tuple(
        Standing(
            step=one,
            word=words[one.number],
            missing=needs(one.number, machine),
            first=tuple(step(number) for number in one.before if _still_open(number, words[number])),
            changed=_changed(machine, states[one.number]),
            latest=states[one.number].lines[-1] if states[one.number].lines else None,
        )
        for one in steps()
        if one.number != START
    )


def _changed(machine: Machine, state: StepState) -> tuple[str, ...]:
    """What the machine file said otherwise when a step's lines were written, each change once."""
    told = [changed_since(line.step, machine, line.built) for line in state.lines if line.built]
    return tuple(dict.fromkeys(change for changes in told for change in changes))


def _still_open(number: str, word: str) -> bool:
    return word not in DONE if number in MUST_BE_MET else word == NOT_DONE


def recorded(
    machine: Machine, read: Callable[[Record], tuple[RecordLine, ...]] = Record.lines
) -> tuple[tuple[RecordLine, ...], str]:
    """The lines of a machine's record, and in words what is to be known about them or stands in the way."""
    if machine.folder is None:
        return (), ""
    try:
        record = Record(machine.folder)
        lines = read(record)
    except MachinelabError as error:
        return (), str(error)
    return lines, " ".join([record.note, *record.messages] if lines else record.messages)
