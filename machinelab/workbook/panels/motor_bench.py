"""The bench for the motor: a box for the readings of each test, and below them what they come to."""

from collections.abc import Callable, Mapping
from functools import partial

from ipywidgets import HTML

from machinelab.workbook.motor_tests import TESTS, BenchTest, MotorTests
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.look import words
from machinelab.workbook.typed_table import read_columns


class MotorBench(Framed):
    """Boxes for the readings; whatever stands in them is worked out at once and kept word for word.

    Parameters
    ----------
    texts : mapping of str to str
        What was typed last time, by the name of the test.
    work_out : callable
        Tables of readings in, `MotorTests` out.
    keep : callable
        Is given the name of a test and its text whenever it changes.
    """

    def __init__(self, texts: Mapping[str, str], *, work_out: Callable, keep: Callable[[str, str], None]):
        self.work_out = work_out
        self.keep = keep
        self.entries = {name: _entry(test) for name, test in TESTS.items()}
        self.told = HTML()
        boxes = [entry.widget for entry in self.entries.values()]
        self.frame(*boxes, self.told)
        for name, entry in self.entries.items():
            entry.box.value = texts.get(name, "")
            entry.on_change(self.refresh)
            entry.box.observe(partial(self._box_changed, name), "value")
        self.refresh()

    def refresh(self) -> None:
        """Work out what the readings come to and say it."""
        tables = {name: entry.readings for name, entry in self.entries.items() if entry.readings is not None}
        self.found: MotorTests = self.work_out(tables)
        self.told.value = "".join(words(line, "sentence") for line in self.found.told())

    def type_in(self, name: str, text: str) -> None:
        """Put text into one of the boxes, as a person does."""
        self.entries[name].box.value = text

    def _box_changed(self, name: str, change) -> None:
        self.keep(name, change["new"].strip())
        if not change["new"].strip():
            self.entries[name].readings = None
            self.refresh()


def _entry(test: BenchTest) -> Entry:
    return Entry(
        test.label,
        reader=partial(read_columns, columns=test.columns, example=test.example),
        describe=lambda rows: f"{len(rows)} readings understood.",
        example=test.example,
        help_words=f"{', '.join(test.columns).capitalize()}, a line for each reading. {test.help}",
    )
