"""The commissioning record of a machine: what was measured when, against which limit, with which verdict.

The record is a file of lines that are only ever added. A correction is a new line that replaces an older
one; what was wrong is withdrawn with its reason, and both stay to be read. Every line carries the
fingerprint of the one before, so that a later change shows.
"""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from machinelab.errors import MachineFileError, RecordError
from machinelab.workbook import verdict as verdicts
from machinelab.workbook.machine.file import read_machine
from machinelab.workbook.machine.folders import is_read_only
from machinelab.workbook.machine.needs import used
from machinelab.workbook.record import entries, store
from machinelab.workbook.record.line import Line, line_from, link
from machinelab.workbook.record.outline import counting_contents, id_of
from machinelab.workbook.record.state import StepState, state_of

_STATE_FILES = ("machine.toml", "panel.toml")


class Record:
    """The record of one machine.

    Where the machine's folder must not be written to (the demo, a read-only disk), the record goes to a
    scratch folder outside, and ``note`` says so. ``messages`` holds what had to be repaired.

    Parameters
    ----------
    folder : Path or str
        The machine's folder.

    Raises
    ------
    RecordError
        When there is no such folder.
    """

    def __init__(self, folder: Path | str):
        self.machine_folder = Path(folder)
        if not self.machine_folder.is_dir():
            raise RecordError(f"There is no folder '{self.machine_folder.name}' for a record to lie in.")
        self.folder, self.note, self.messages = self.machine_folder, "", ()
        if is_read_only(self.machine_folder) or not store.can_write(self.machine_folder):
            self.folder = store.scratch_folder(self.machine_folder)
            self.note = (
                "This machine's folder is not written to: its record is a scratch record among the temporary "
                "files and may be cleared. To keep a record, make your own machine on the start page."
            )

    @property
    def path(self) -> Path:
        """The record's file."""
        return self.folder / store.FILE_NAME

    def add(
        self,
        step: str | int,
        quantity: str,
        *,
        value: float | None = None,
        uncertainty: float | None = None,
        unit: str = "",
        values: Iterable[float] = (),
        predicted: float | None = None,
        predicted_uncertainty: float | None = None,
        formula: str | None = None,
        inputs: Mapping[str, object] | None = None,
        lower: float | None = None,
        upper: float | None = None,
        where_from: str = "",
        verdict: str | verdicts.Verdict | None = None,
        instrument: Mapping[str, str] | None = None,
        conditions: Mapping[str, object] | None = None,
        data: Iterable[object] = (),
        photo: Iterable[str] = (),
        notes: str = "",
        by: str = "",
        replaces: str | None = None,
    ) -> Line:
        """Add one line; nothing that stands in the record is changed.

        Parameters
        ----------
        step : str or int
            The step of the workbook, ``"05"``.
        quantity : str
            What was measured or checked.
        value, uncertainty, unit : float, float, str
            What was measured, its U with k = 2, and the unit of both.
        values : iterable of float
            The single readings behind the value.
        predicted, predicted_uncertainty : float
            What the calculation said, in the same unit.
        formula, inputs : str, mapping
            Which calculation, with which inputs.
        lower, upper, where_from : float, float, str
            The limits in the same unit, and where they come from; a limit without an origin is refused.
        verdict : str or Verdict
            Of a check without a number (MET: the lamp went out). With a value it is found here.
        instrument : mapping
            name, range, resolution, U, U_from, last_checked, as text; the kind of instrument, not its maker.
        conditions : mapping
            Temperature, chuck, work, supply.
        data : iterable
            Raw files: paths within the machine's folder, or logs that carry ``name`` and ``sha256``.
        photo : iterable of str
            Names of pictures.
        notes, by : str
            Free words; initials only.
        replaces : str
            The id of a line that this one corrects.

        Returns
        -------
        Line
            The line as stored.

        Raises
        ------
        RecordError
            When something cannot stand in a record, or it cannot be written; nothing is stored then.
        RangeError
            When the uncertainty is missing or zero, or the limits are crossed.
        """
        limit = entries.limit(lower, upper, unit, where_from)
        foretold = {"value": predicted, "U": predicted_uncertainty, "unit": unit, "formula": formula}
        foretold |= {"inputs": entries.as_written(inputs)}
        parts = {
            "step": entries.step_number(step),
            "by": entries.initials(by),
            "quantity": quantity,
            "predicted": None if predicted is None else foretold,
            "measured": entries.measured(value, uncertainty, unit, values),
            "instrument": instrument,
            "conditions": entries.as_written(conditions),
            "limit": limit,
            "rule": {"g": "U", "k": 2} if limit and value is not None else None,
            "verdict": entries.judged(value, uncertainty, lower, upper, verdict),
            "photo": [entries.bare_name(name) for name in photo],
            "data": [entries.data_file(one, self.machine_folder) for one in data],
            "notes": notes or None,
            "replaces": replaces,
        }
        corrected = next((line for line in self.lines() if line.id == replaces), None) if replaces else None
        # What is corrected was measured on the machine as it was then.
        parts["built"] = corrected.built if corrected else self._built(parts["step"])
        return self._store(parts, refers_to=replaces)

    def void(self, line_id: str, reason: str, *, by: str = "") -> Line:
        """Withdraw a line, with the reason; the line itself stays to be read.

        Parameters
        ----------
        line_id : str
            The ``id`` of the line.
        reason : str
            Why it does not count.
        by : str
            Initials.

        Returns
        -------
        Line
            The line that withdraws it.

        Raises
        ------
        RecordError
            When there is no such line, or no reason.
        """
        if not reason.strip():
            raise RecordError("Say why the line is withdrawn; the reason stays in the record.")
        withdrawn = next((line for line in self.lines() if line.id == line_id), None)
        if withdrawn is None:
            raise RecordError(f"There is no line {line_id!r} in the record to withdraw.")
        parts = {"step": withdrawn.step, "quantity": withdrawn.quantity, "verdict": verdicts.RECORDED}
        parts |= {"by": entries.initials(by), "void": line_id, "reason": reason}
        return self._store(parts, refers_to=line_id)

    def lines(self) -> tuple[Line, ...]:
        """Every line, oldest first, those replaced or withdrawn too.

        A last line that was cut short is moved to ``record.rescued``, and ``messages`` says so.

        Raises
        ------
        RecordError
            Naming a line that cannot be read.
        """
        return _lines(tuple(self._numbered()))

    def lines_in_force(self) -> tuple[Line, ...]:
        """The lines that count: not withdrawn, not replaced, and the latest of each quantity in its step.

        Only these are read closely, so that a long record opens at once.

        Raises
        ------
        RecordError
            Naming a line that counts, or of which that cannot be told, and cannot be read.
        """
        numbered = self._numbered()
        return tuple(line_from(content, number) for number, content in counting_contents(numbered))

    def state_of(self, step: str | int) -> StepState:
        """How a step stands: the worst verdict among its lines in force; NOT DONE without any."""
        return state_of(self.lines_in_force(), entries.step_number(step))

    def check_chain(self) -> int:
        """Check that no line was changed, taken out or moved; return how many lines there are.

        Raises
        ------
        RecordError
            Naming the first line that does not follow from the one before.
        """
        before, last, count = "", None, 0
        for number, content in self._numbered():
            if line_from(content, number).prev != before:
                after = f"line {last}" if last else "an empty page"
                raise RecordError(
                    f"Line {number} of record.jsonl does not follow from {after}: a line before it was "
                    "changed, moved or taken out after it was written. The lines can still be read; put the "
                    "file back from a copy, or note the change in the record."
                )
            before, last, count = link(content), number, count + 1
        return count

    def machine_state(self) -> str | None:
        """A fingerprint of the machine as built: of its machine file and panel file as they stand now."""
        files = [self.machine_folder / name for name in _STATE_FILES]
        contents = [file.read_bytes() for file in files if file.is_file()]
        return hashlib.sha256(b"\0".join(contents)).hexdigest()[:16] if contents else None

    def _built(self, step: str) -> dict[str, str] | None:
        """What the machine file says on the lines that a step uses; None where it cannot be read."""
        try:
            return used(step, read_machine(self.machine_folder)) or None
        except MachineFileError:
            return None

    def _numbered(self) -> list[tuple[int, bytes]]:
        """The lines of the file with their numbers, after a torn last one was moved away."""
        whole, tail = store.whole_lines(store.read(self.folder))
        if tail.strip() and not _is_whole(tail):
            self._say(store.rescue(self.folder, _is_whole))
            whole, tail = store.whole_lines(store.read(self.folder))
        return [(number, line) for number, line in enumerate([*whole, tail], 1) if line.strip()]

    def _store(self, parts: dict, refers_to: str | None) -> Line:
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        parts |= {"time": now, "machine_state": self.machine_state()}

        def make_line(before: bytes) -> bytes:
            whole, tail = store.whole_lines(before)
            written = [line for line in [*whole, tail] if line.strip()]
            ids = [id_of(line) for line in written]
            if refers_to is not None and refers_to not in ids:
                raise RecordError(f"There is no line {refers_to!r} in the record to correct.")
            highest = max((int(one) for one in ids if one.isdecimal()), default=0)
            chained = {"id": f"{highest + 1:04d}", "prev": link(written[-1]) if written else ""}
            return _checked(parts | chained).text().encode("utf-8", errors="replace")

        stored, said = store.append(self.folder, make_line, _is_whole)
        self._say(said)
        return line_from(stored, 0)

    def _say(self, message: str) -> None:
        self.messages += (message,) if message else ()


@lru_cache(maxsize=2)
def _lines(numbered: tuple[tuple[int, bytes], ...]) -> tuple[Line, ...]:
    """Every line read closely, once: a page asks for them again and again."""
    return tuple(line_from(content, number) for number, content in numbered)


def _checked(parts: dict) -> Line:
    try:
        return Line.model_validate(parts)
    except ValidationError as found:
        problem = found.errors()[0]
        where = " ".join(str(part) for part in problem["loc"])
        raise RecordError(
            f"The line cannot stand in the record: {where}: {problem['msg'].lower()}."
        ) from None


def _is_whole(content: bytes) -> bool:
    try:
        line_from(content, 0)
    except RecordError:
        return False
    return True
