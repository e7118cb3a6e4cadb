"""How the steps of the workbook stand, told from the lines of the record."""

from collections.abc import Iterable
from dataclasses import dataclass

from machinelab.workbook import verdict as verdicts
from machinelab.workbook.record.line import Line

# A step stands as its worst line does.
_OPEN = (verdicts.NOT_MET, verdicts.NOT_PROVEN, verdicts.NOT_DONE)
_WORST_FIRST = (*_OPEN, verdicts.MET, verdicts.RECORDED)


@dataclass(frozen=True)
class StepState:
    """How a step stands: its worst verdict, what is still open, and when it was last worked on."""

    step: str
    word: str
    lines: tuple[Line, ...]
    open_points: tuple[str, ...]
    last_time: str | None

    def __str__(self) -> str:
        if not self.lines:
            return f"{self.step}: {self.word}"
        still = f"; open: {', '.join(self.open_points)}" if self.open_points else ""
        return (
            f"{self.step}: {self.word} ({len(self.lines)} in the record, last {self.last_time[:10]}{still})"
        )


def in_force(lines: Iterable[Line]) -> tuple[Line, ...]:
    """The lines that count: not withdrawn, not replaced, and the latest of each quantity in its step.

    When the latest is withdrawn, the one before it counts again; a line that was replaced stays out.
    """
    lines = tuple(lines)
    gone = {line.replaces for line in lines} | {line.void for line in lines}
    counting = [line for line in lines if line.id not in gone and not line.void]
    latest = {(line.step, line.quantity): line.id for line in counting}
    return tuple(line for line in counting if latest[line.step, line.quantity] == line.id)


def state_of(lines: Iterable[Line], step: str) -> StepState:
    """How one step stands: the worst verdict among its lines in force; NOT DONE without any."""
    counting = tuple(line for line in in_force(lines) if line.step == step)
    words = {line.verdict for line in counting}
    word = next((word for word in _WORST_FIRST if word in words), verdicts.NOT_DONE)
    still_open = tuple(line.quantity for line in counting if line.verdict in _OPEN)
    return StepState(step, word, counting, still_open, counting[-1].time if counting else None)
