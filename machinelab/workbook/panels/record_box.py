"""Writing a page's result into the record: one line, on the press of a button and never by itself."""

from collections.abc import Callable, Mapping

from ipywidgets import HTML, Button, Layout, Text, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.look import STYLE, notice, words
from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH


class RecordBox:
    """Notes, initials and a button; what was written is shown, what cannot be written is told in words.

    Parameters
    ----------
    line : callable
        Gives what `Record.add` takes, by name, or None while there is nothing to write.
    add : callable
        Takes that with ``notes`` and ``by`` and returns the line as stored.
    note : str
        Where the record lies, if that needs saying.
    """

    def __init__(self, line: Callable[[], Mapping | None], *, add: Callable, note: str = ""):
        self.line = line
        self.add = add
        self.notes = self._box("Notes", "chuck on, belt on, oil warm")
        self.by = self._box("Your initials", "optional")
        self.button = Button(
            description="write it in the record", layout=Layout(width="auto", align_self="flex-start")
        )
        self.answer = HTML(words(note, "help"))
        self.notice = HTML(notice(""))
        self.button.on_click(self._pressed)
        self.widget = VBox([HTML(STYLE), self.notes, self.by, self.button, self.answer, self.notice])
        self.widget.add_class("machinelab-panel")

    def write(self) -> None:
        """Write one line; a second press writes another, since every measurement is a line of its own."""
        line = self.line()
        if line is None:
            self.notice.value = notice("There is nothing to write yet: enter what you measured first.")
            return
        try:
            stored = self.add(**line, notes=self.notes.value.strip(), by=self.by.value.strip())
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.notice.value = notice("")
        self.answer.value = words(f"Written: {stored.quantity}, {stored.verdict}, {stored.time}.", "sentence")

    @staticmethod
    def _box(label: str, example: str) -> Text:
        return Text(
            description=label,
            placeholder=example,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )

    def _pressed(self, _button) -> None:
        self.write()

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.widget._repr_mimebundle_(include=include, exclude=exclude)
