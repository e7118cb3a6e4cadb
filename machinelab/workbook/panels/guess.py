"""The reader's own guess, asked before anything is computed and kept until it stands beside the result."""

from ipywidgets import HTML, HBox, Layout, Text, VBox

from machinelab.errors import MachinelabError
from machinelab.units import Field, read
from machinelab.workbook.panels.look import STYLE, notice, words
from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH


class Guess:
    """One typed box; ``value`` is None until something usable has been typed.

    Parameters
    ----------
    field : Field
        What is guessed, with its unit and ordinary range.
    """

    def __init__(self, field: Field):
        self.field = field
        self.value: float | None = None
        self.box = Text(
            description=field.name,
            placeholder=field.sample,
            continuous_update=False,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )
        self.shown_back = HTML()
        self.notice = HTML(notice(""))
        self.box.observe(self._box_changed, "value")
        row = HBox([self.box, self.shown_back], layout=Layout(align_items="center"))
        self.widget = VBox([HTML(STYLE), row, HTML(words(field.help, "help")), self.notice])
        self.widget.add_class("machinelab-panel")

    def type_in(self, text: str) -> None:
        """Take what a person typed; what cannot be used is answered beside the box."""
        try:
            reading = read(text, self.field)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.value = reading.number
        self.shown_back.value = words(f"kept: {reading.shown}", "back")
        self.notice.value = notice("")

    def _box_changed(self, change) -> None:
        self.type_in(change["new"])

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.widget._repr_mimebundle_(include=include, exclude=exclude)
