"""Correcting or withdrawing a line of the record: a new line is added, and the old one stays to be read."""

from collections.abc import Callable

from ipywidgets import HTML, HBox, Text, VBox

from machinelab.errors import MachinelabError, RecordError, UnitError
from machinelab.units import number
from machinelab.workbook.panels.choice import list_of_words
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.words_box import words_box
from machinelab.workbook.record import Record
from machinelab.workbook.record.history import correction, counting, measured_words
from machinelab.workbook.record.line import Line

CHOOSE = "choose a line"
NOTHING_YET = "The record has no line of your own yet, so there is nothing to correct or to withdraw."
WIDE = "600px"


class CorrectionBox(Framed):
    """A list of the lines that count, boxes for what is right, and a button for each of the two acts.

    Parameters
    ----------
    record : Record
        The machine's record.
    changed : callable
        Is called after a line was added.
    """

    def __init__(self, record: Record, changed: Callable[[], None] = lambda: None):
        self.record, self.changed = record, changed
        self._lines: dict[str, Line] = {}
        self.list = list_of_words("Line", [CHOOSE], width=WIDE)
        self.value = words_box("Right value", example="such as 30.9 s")
        self.uncertainty = words_box("Its uncertainty, k = 2", example="such as 0.3 s")
        self.why = words_box("Why", example="point in the wrong place", width=WIDE)
        self.by = words_box("Your initials", example="optional")
        self.correct_button = press("correct it", self.correct)
        self.withdraw_button = press("withdraw it", self.withdraw)
        self.answer, self.notice = HTML(), HTML(notice(""))
        acts = HBox([self.correct_button, self.withdraw_button])
        numbers = [self._answered(box) for box in (self.value, self.uncertainty)]
        boxes = [self.list, *numbers, self.why, self.by, acts]
        self.frame(*boxes, self.answer, self.notice)
        self.list.observe(self._chosen, "value")
        self._guarded(self._read)

    def correct(self) -> None:
        """Add a line that takes the place of the chosen one."""
        self._guarded(self._correct)

    def withdraw(self) -> None:
        """Add a line that withdraws the chosen one."""
        self._guarded(self._withdraw)

    def _correct(self) -> str:
        line = self._line()
        # A check without a number is refused before its boxes are read.
        right = correction(line, value=0.0, uncertainty=1.0, why=self.why.value)
        value, doubt = (_number(box, self._unit) for box in (self.value, self.uncertainty))
        right |= {"value": value, "uncertainty": doubt}
        stored = self.record.add(**right, by=self.by.value.strip())
        now = f"{measured_words(stored)}, {stored.verdict}"
        return f"Line {stored.id} now stands in the place of {line.id}: {now}."

    def _withdraw(self) -> str:
        line = self._line()
        self.record.void(line.id, self.why.value.strip(), by=self.by.value.strip())
        return f"Line {line.id} is withdrawn; it stays to be read."

    def _line(self) -> Line:
        if self.list.value not in self._lines:
            raise RecordError("No line is chosen. Choose the line that is wrong from the list.")
        return self._lines[self.list.value]

    def _guarded(self, act: Callable[[], str]) -> None:
        try:
            said = act()
            self._read()
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.notice.value = notice("")
        self.answer.value = words(said, "sentence")
        self.changed()

    def _read(self) -> str:
        """Fill the list anew; the words are those that stand below it."""
        self._lines = {_called(line): line for line in reversed(counting(self.record.lines()))}
        self.list.options = [CHOOSE, *self._lines]
        self.list.value = CHOOSE
        for box in (self.value, self.uncertainty, self.why):
            box.value = ""
        return self.record.note if self._lines else NOTHING_YET

    def _answered(self, box: Text) -> VBox:
        """A box for a number with its answer beside it, as soon as it is typed."""
        answer = HTML(notice(""))

        def answered(_change) -> None:
            answer.value = notice(self._slip_in(box))

        box.observe(answered, "value")
        self.list.observe(answered, "value")
        return VBox([box, answer])

    def _slip_in(self, box: Text) -> str:
        """What is wrong with the number in a box, in words; empty while nothing is."""
        if not box.value.strip():
            return ""
        try:
            _number(box, self._unit)
        except UnitError as slip:
            return str(slip)
        return ""

    @property
    def _unit(self) -> str:
        """The unit of the line that is chosen."""
        line = self._lines.get(self.list.value)
        return line.measured.unit if line and line.measured else ""

    def _chosen(self, change) -> None:
        line = self._lines.get(change["new"])
        measured = line and line.measured
        if measured:
            self.value.value = f"{measured.value:g} {measured.unit}".rstrip()
            self.uncertainty.value = "" if measured.U is None else f"{measured.U:g} {measured.unit}".rstrip()


def _called(line: Line) -> str:
    return f"{line.id}: {line.step} {line.quantity}, {measured_words(line)}, {line.verdict}, {line.time[:10]}"


def _number(box: Text, unit: str) -> float:
    """What was typed, in the line's own unit."""
    try:
        return number(box.value, unit)
    except UnitError as error:
        raise UnitError(f"{box.description}: {error}") from None
