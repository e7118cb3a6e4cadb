"""Writing a page's result into the record: one line, on the press of a button and never by itself."""

from collections.abc import Callable, Mapping

from ipywidgets import HTML

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.words_box import words_box


class RecordBox(Framed):
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
        self.notes = words_box("Notes", example="chuck on, belt on, oil warm")
        self.by = words_box("Your initials", example="optional")
        self.button = press("write it in the record", self.write)
        self.answer = HTML(words(note, "help"))
        self.notice = HTML(notice(""))
        self.frame(self.notes, self.by, self.button, self.answer, self.notice)

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
