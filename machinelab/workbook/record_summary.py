"""The record as a whole: which steps stand, what is open, and when to look again."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from machinelab.workbook.record.history import counting, measured_words
from machinelab.workbook.record.line import Line
from machinelab.workbook.record.state import StepState, in_force, state_of
from machinelab.workbook.steps import Standing, Step
from machinelab.workbook.verdict import NOT_DONE

MONTHS = {"three months": 3, "half a year": 6, "a year": 12, "two years": 24}
USUAL_MONTHS = "a year"
RECORD_STEP = "16"
NOTHING_MEASURED = "not set, since nothing has been measured yet"


@dataclass(frozen=True)
class RecordSummary:
    """How all steps stand with the lines of a record; the step of the record itself is left out.

    Parameters
    ----------
    standings : tuple of Standing
        Every step, as it stands.
    lines : tuple of Line
        All lines of the record.
    months : int
        After how many months the machine is to be looked at again.
    """

    standings: tuple[Standing, ...]
    lines: tuple[Line, ...]
    months: int

    @property
    def steps(self) -> tuple[Standing, ...]:
        """The steps that are to be proven."""
        return tuple(one for one in self.standings if one.step.number != RECORD_STEP)

    @property
    def settled(self) -> tuple[Standing, ...]:
        """Steps with a verdict and nothing open."""
        return tuple(one for one in self.steps if one.done)

    @property
    def open_steps(self) -> tuple[Standing, ...]:
        """Steps that have something in the record and something open."""
        return tuple(one for one in self.steps if not one.done and self._state(one.step).lines)

    @property
    def untouched(self) -> tuple[Standing, ...]:
        """Steps of which the record says nothing."""
        return tuple(one for one in self.steps if not self._state(one.step).lines)

    @property
    def step_rows(self) -> tuple[tuple[str, ...], ...]:
        """Each step: its name, its word, how many lines count, the last day, and what is open."""
        return tuple(self._row(one) for one in self.steps)

    @property
    def open_points(self) -> tuple[str, ...]:
        """Every line that counts and is not proven, in words, by step."""
        return tuple(
            f"{line.step} {line.quantity}: {line.verdict}{_measured(line)}"
            for one in self.open_steps
            for line in self._state(one.step).lines
            if line.quantity in self._state(one.step).open_points
        )

    @property
    def outdated(self) -> tuple[str, ...]:
        """Every step that was recorded before the machine was changed, and what was changed."""
        return tuple(
            f"{one.step.number} {one.step.title}: recorded before a change of the machine, "
            f"{'; '.join(one.changed)}. Measure again."
            for one in self.steps
            if one.changed
        )

    @property
    def next_day(self) -> str:
        """The day of the next check, counted from the last line that counts."""
        days = sorted(day for line in counting(self.lines) if (day := _day(line)))
        return _later(days[-1], self.months) if days else NOTHING_MEASURED

    @property
    def headline(self) -> str:
        """The conclusion."""
        return (
            f"{len(self.settled)} of {len(self.steps)} steps stand with nothing open; "
            f"{len(self.open_steps)} have an open point, of {len(self.untouched)} the record says nothing."
        )

    @property
    def told(self) -> tuple[str, ...]:
        """Open points, steps recorded before a change, steps not begun, and the next check, one line each."""
        names = "; ".join(f"{one.step.number} {one.step.title}" for one in self.untouched)
        rest = (f"Nothing in the record yet of: {names}.",) if names else ()
        return (*self.open_points, *self.outdated, *rest, f"Next check: {self.next_day}.")

    @cached_property
    def _states(self) -> dict[str, StepState]:
        """How each step stands, sought once: the record may be long."""
        counting_now = in_force(self.lines)
        return {one.step.number: state_of(counting_now, one.step.number) for one in self.standings}

    def _state(self, step: Step) -> StepState:
        return self._states[step.number]

    def _row(self, standing: Standing) -> tuple[str, ...]:
        state = self._state(standing.step)
        last = state.last_time[:10] if state.last_time else ""
        name = f"{standing.step.number} {standing.step.title}"
        return name, standing.word, str(len(state.lines) or ""), last, "; ".join(state.open_points)


def _measured(line: Line) -> str:
    return f", {measured_words(line)}" if line.measured and line.verdict != NOT_DONE else ""


def _day(line: Line) -> str:
    """The day of a line as it is written; empty where it is no day."""
    try:
        return datetime.fromisoformat(line.time).date().isoformat()
    except ValueError:
        return ""


def _later(day: str, months: int) -> str:
    """The same day some months later, or the last of that month."""
    import pandas as pd

    return (pd.Timestamp(day) + pd.DateOffset(months=months)).date().isoformat()
