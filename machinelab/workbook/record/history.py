"""A record to be read: its lines as an inspection sheet, and one quantity as it changed over time."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from machinelab.accuracy.change import least_provable_change, normalised_change
from machinelab.errors import RecordError
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.record.line import Line
from machinelab.workbook.record.state import in_force

HEADINGS = ("no.", "check", "limit and its source", "measured", "instrument", "verdict", "date", "photo")
NOTHING = "-"
# So much of a name stands above a picture.
LONGEST_NAME = 90


@dataclass(frozen=True)
class Measurement:
    """One measurement of a quantity that still counts: when, how much, and its U (k = 2); NaN without one."""

    line: str
    time: datetime
    value: float
    uncertainty: float


@dataclass(frozen=True)
class History:
    """One quantity of one step over time, with the limits that were last asked for.

    ``measurements`` holds those that were neither replaced nor withdrawn and whose time can be read, oldest
    first.
    """

    step: str
    quantity: str
    unit: str
    measurements: tuple[Measurement, ...]
    lower: float | None = None
    upper: float | None = None

    @property
    def name(self) -> str:
        """Step and quantity."""
        return f"{self.step} {self.quantity}"

    @property
    def first(self) -> Measurement:
        """The oldest."""
        return self.measurements[0]

    @property
    def last(self) -> Measurement:
        """The latest."""
        return self.measurements[-1]

    @property
    def change(self) -> float:
        """E_n of the last against the first; NaN with a single one or without their U."""
        pair = (self.first, self.last)
        if len(self.measurements) < 2 or any(math.isnan(one.uncertainty) for one in pair):
            return math.nan
        return float(
            normalised_change(
                self.first.value,
                self.last.value,
                earlier_uncertainty=self.first.uncertainty,
                later_uncertainty=self.last.uncertainty,
            )
        )

    @property
    def least_change(self) -> float:
        """The least change that the first and the last together could prove; NaN without their U."""
        return float(
            least_provable_change(self.first.uncertainty, later_uncertainty=self.last.uncertainty)
            if all(one.uncertainty > 0 for one in (self.first, self.last))
            else math.nan
        )

    @property
    def headline(self) -> str:
        """The conclusion: whether it has changed since it was first measured."""
        said, since = sentence_case(self.quantity)[:LONGEST_NAME], f"{self.first.time:%Y-%m-%d}"
        if len(self.measurements) < 2:
            return f"{said}: measured once, on {since}."
        if math.isnan(self.change):
            return f"{said}: without their U nothing can be said about a change since {since}."
        if self.change <= 1:
            return f"{said}: no change since {since} is proven."
        word = "risen" if self.last.value > self.first.value else "fallen"
        return f"{said} has {word} since {since}."

    @property
    def details(self) -> str:
        """What the conclusion rests on."""
        last = written(self.last.value, self.last.uncertainty, self.unit)
        if math.isnan(self.change):
            return f"Last: {last}."
        least = f"{self.least_change:.2g} {self.unit}".rstrip()
        return (
            f"First {written(self.first.value, self.first.uncertainty, self.unit)}, last {last}: "
            f"E_n = {self.change:.2f}, and above 1 a change is proven: here from {least} on."
        )

    @property
    def row(self) -> tuple[str, ...]:
        """Quantity, first, last, E_n and the answer in a word."""
        first, last = (
            f"{written(one.value, one.uncertainty, self.unit)}, {one.time:%Y-%m-%d}"
            for one in (self.first, self.last)
        )
        if math.isnan(self.change):
            return self.name, first, last, NOTHING, "cannot be told"
        return self.name, first, last, f"{self.change:.2f}", "yes" if self.change > 1 else "not proven"


def counting(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Every line that was neither replaced nor withdrawn, older measurements of a quantity too."""
    lines = tuple(lines)
    gone = {line.replaces for line in lines} | {line.void for line in lines}
    return tuple(line for line in lines if line.id not in gone and not line.void)


def histories(lines: Iterable[Line]) -> dict[str, History]:
    """Every measured quantity over time, by step and name; those measured most often come first."""
    found: dict[tuple[str, str, str], list[Line]] = {}
    for line in counting(lines):
        if line.measured:
            found.setdefault((line.step, line.quantity, line.measured.unit), []).append(line)
    kept = [one for key, lines in found.items() if (one := _history(*key, lines)).measurements]
    kept.sort(key=lambda one: (-len(one.measurements), one.step))
    units: dict[str, History] = {}
    for one in kept:
        units[one.name if one.name not in units else f"{one.name}, {one.unit or 'no unit'}"] = one
    return units


def sheet_rows(lines: Iterable[Line]) -> tuple[tuple[str, ...], ...]:
    """The lines that count as rows of an inspection sheet, one cell for each of ``HEADINGS``."""
    ordered = sorted(in_force(lines), key=lambda line: (line.step, line.id))
    return tuple(
        (
            line.id,
            f"{line.step} {line.quantity}",
            limit_words(line),
            measured_words(line),
            line.instrument.name if line.instrument else NOTHING,
            line.verdict,
            line.time[:10],
            ", ".join(line.photo) or NOTHING,
        )
        for line in ordered
    )


def set_aside(lines: Iterable[Line]) -> tuple[str, ...]:
    """In words, every line that was corrected or withdrawn, oldest first."""
    lines = tuple(lines)
    by_id = {line.id: line for line in lines}
    told = []
    for line in lines:
        old = by_id.get(line.void or line.replaces or "")
        if old is None:
            continue
        was = f"{old.id} ({old.quantity}, {measured_words(old)}, {old.verdict})"
        if line.void:
            told.append(f"{was} was withdrawn on {line.time[:10]}: {line.reason}")
        else:
            why = f": {line.notes}" if line.notes else ""
            told.append(f"{was} was corrected by {line.id} on {line.time[:10]}{why}")
    return tuple(told)


def limit_words(line: Line) -> str:
    """The limit of a line with its source."""
    if line.limit is None:
        return "no limit"
    low, high, unit = line.limit.lower, line.limit.upper, line.limit.unit
    if low is not None and high is not None:
        said = f"{low:g} to {high:g}"
    else:
        said = f"at most {high:g}" if high is not None else f"at least {low:g}"
    return f"{said} {unit}".rstrip() + f"; {line.limit.where_from}"


def measured_words(line: Line) -> str:
    """What was measured, with its U."""
    if line.measured is None:
        return NOTHING
    doubt = math.nan if line.measured.U is None else line.measured.U
    return written(line.measured.value, doubt, line.measured.unit)


def written(value: float, uncertainty: float, unit: str) -> str:
    """A value no finer than its U allows; one without U as it is."""
    if uncertainty > 0:
        return value_with_uncertainty(value, uncertainty, unit)
    return f"{value:g} {unit}".rstrip()


def correction(line: Line, *, value: float, uncertainty: float, why: str) -> dict:
    """What `Record.add` takes to correct the value of a line; limit, instrument and data stay.

    Raises
    ------
    RecordError
        When the line holds no measurement, or no reason is given.
    """
    if line.measured is None:
        raise RecordError(
            f"Line {line.id} holds no measured value to correct. Withdraw it, and measure or check again."
        )
    if not why.strip():
        raise RecordError("Say why the line is corrected; the reason stays in the record.")
    limit, told = line.limit, line.predicted
    return {
        "step": line.step,
        "quantity": line.quantity,
        "value": value,
        "uncertainty": uncertainty,
        "unit": line.measured.unit,
        "predicted": told.value if told else None,
        "predicted_uncertainty": told.U if told else None,
        "formula": told.formula if told else None,
        "inputs": told.inputs if told else None,
        "lower": limit.lower if limit else None,
        "upper": limit.upper if limit else None,
        "where_from": limit.where_from if limit else "",
        "instrument": line.instrument.model_dump(exclude_none=True) if line.instrument else None,
        "conditions": line.conditions,
        "data": line.data,
        "photo": line.photo,
        "notes": why.strip(),
        "replaces": line.id,
    }


def sentence_case(text: str) -> str:
    """The text with a capital at its head and nothing else changed."""
    return text[:1].upper() + text[1:]


def _history(step: str, quantity: str, unit: str, lines: list[Line]) -> History:
    dated = [(time, line) for line in lines if (time := _time_of(line))]
    measurements = [_measurement(time, line) for time, line in sorted(dated, key=lambda one: one[0])]
    limit = lines[-1].limit
    return History(
        step=step,
        quantity=quantity,
        unit=unit,
        measurements=tuple(measurements),
        lower=limit.lower if limit else None,
        upper=limit.upper if limit else None,
    )


def _measurement(time: datetime, line: Line) -> Measurement:
    doubt = line.measured.U
    return Measurement(line.id, time, line.measured.value, doubt if doubt and doubt > 0 else math.nan)


def _time_of(line: Line) -> datetime | None:
    """When a line was written; None where its time cannot be read, so that it has no place over time."""
    try:
        time = datetime.fromisoformat(line.time)
        return time if time.tzinfo else time.astimezone()
    except (ValueError, OverflowError, OSError):
        return None
