"""Where readings come in: typed or pasted into a box, or dropped as a file."""

from collections.abc import Callable
from pathlib import Path

from ipywidgets import HTML, HBox, Layout, Textarea

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.file_drop import TOO_LARGE_HERE, file_drop
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words

TYPED = "typed readings"
LARGER_FILE = f"{TOO_LARGE_HERE}: cut a longer file down to the run; record sound in mono."


class Entry(Framed):
    """A box for typed readings and a place for a file, both read by the same reader.

    What cannot be read is answered in words and the last good readings stay.

    Parameters
    ----------
    label : str
        What is wanted, in plain words.
    reader : callable
        Takes text, or the bytes of a file, and a ``name`` for it; returns the readings.
    describe : callable
        Readings in, one sentence out: what was understood.
    example : str
        Shown in the empty box.
    accept : str
        File endings offered first, such as ``".csv,.txt"``; empty: no file is asked for.
    help_words : str
        One line of help.
    """

    def __init__(
        self,
        label: str,
        *,
        reader: Callable,
        describe: Callable,
        example: str,
        accept: str = "",
        help_words: str = "",
    ):
        self.reader = reader
        self.describe = describe
        self.readings = None
        self._listeners: list[Callable[[], None]] = []
        self.box = Textarea(
            description=label,
            placeholder=example,
            continuous_update=False,
            style={"description_width": "200px"},
            layout=Layout(width="640px", height="9em"),
        )
        self.press = press("read the box", lambda: self.take(self.box.value))
        self.file = file_drop(accept, lambda name, content: self.take(content, name))
        self.understood = HTML(words("Nothing read yet.", "help"))
        self.notice = HTML(notice(""))
        self.box.observe(self._box_changed, "value")
        doors = HBox([self.press, self.file] if accept else [self.press])
        told = f"{help_words} {LARGER_FILE}" if accept else help_words
        self.frame(self.box, HTML(words(told, "help")), doors, self.understood, self.notice)

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever new readings were understood."""
        self._listeners.append(listener)

    def start_with(self, readings) -> None:
        """Show readings that the machine's folder held already."""
        self.readings = readings
        self.understood.value = words(f"From the machine's folder. {self.describe(readings)}", "help")

    def take(self, content: str | bytes | Path, name: str = TYPED) -> None:
        """Read typed text, the bytes of a file, or a file on disk."""
        try:
            # A single typed line is a line and never the name of a file.
            readings = self.reader(f"{content}\n" if isinstance(content, str) else content, name=name)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.readings = readings
        self.notice.value = notice("")
        self.understood.value = words(self.describe(readings), "help")
        for listener in self._listeners:
            listener()

    def _box_changed(self, change) -> None:
        if change["new"].strip():
            self.take(change["new"])
