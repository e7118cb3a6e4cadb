"""A box that a person fills in: empty at first, answered beside it, shown back in both units."""

from collections.abc import Callable

from ipywidgets import HTML, HBox, Layout, Text, VBox

from machinelab.errors import MachinelabError
from machinelab.units import Field, Reading, read
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH


class Typed:
    """One row of a sheet: a box for a quantity that was read off an instrument.

    ``reading`` is None while the box is empty or what stands in it cannot be used.

    Parameters
    ----------
    field : Field
        What the box wants.
    text : str
        What was typed last time.
    """

    def __init__(self, field: Field, text: str = ""):
        self.field = field
        self.reading: Reading | None = None
        self._listeners: list[Callable[[], None]] = []
        self.box = Text(
            description=field.name,
            placeholder=f"for instance {field.sample}",
            continuous_update=False,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )
        self.shown_back = HTML(layout=Layout(width="340px"))
        self.notice = HTML(notice(""))
        row = HBox([self.box, self.shown_back], layout=Layout(align_items="center", flex_flow="row wrap"))
        self.widget = VBox([row, HTML(words(field.help, "help")), self.notice])
        self.box.value = text
        self._take(text)
        self.box.observe(self._box_changed, "value")

    @property
    def text(self) -> str:
        """What stands in the box."""
        return self.box.value.strip()

    @property
    def value(self):
        """The exact value in the field's unit; None while there is none."""
        return None if self.reading is None else self.reading.value

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever something else stands in the box."""
        self._listeners.append(listener)

    def type_in(self, text: str) -> None:
        """Put text into the box, as a person does."""
        self.box.value = text

    def _take(self, text: str) -> None:
        self.reading, problem = None, ""
        if text.strip():
            try:
                self.reading = read(text, self.field)
            except MachinelabError as error:
                problem = str(error)
        self.shown_back.value = words(shown_back(self.reading) if self.reading else "", "back")
        note = self.reading.note if self.reading else ""
        self.notice.value = notice(problem) if problem else words(note, "notice")

    def _box_changed(self, change) -> None:
        self._take(change["new"])
        for listener in self._listeners:
            listener()


def shown_back(reading: Reading) -> str:
    """Show a reading in both units, in the one it was typed in with every figure that was typed."""
    parts = reading.shown.split(" · ")
    # A taper is typed as "0.04 mm in 300 mm", which does not end in the unit that it is counted in.
    if not reading.typed.endswith(reading.typed_unit):
        return reading.shown
    return " · ".join(reading.typed if part.endswith(f" {reading.typed_unit}") else part for part in parts)
