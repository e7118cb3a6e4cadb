"""The boxes of the machine form: one for every line of the machine file, part by part."""

from collections.abc import Callable, Mapping

from ipywidgets import HTML, HBox, VBox

from machinelab.workbook.machine import Line
from machinelab.workbook.machine.draft import Draft, ThreadDraft, lines_of
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.frame import press
from machinelab.workbook.panels.look import words
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.panels.words_box import words_box

LEFT_OPEN = "(not filled in)"


class Words:
    """One row of a form: a box for words that are not read any further."""

    def __init__(self, label: str, text: str = "", *, example: str = "", help_words: str = ""):
        placeholder = f"for instance {example}" if example else ""
        self.box = words_box(label, example=placeholder, text=text, width="780px")
        self._listeners: list[Callable[[], None]] = []
        self.box.observe(self._box_changed, "value")
        self.widget = VBox([self.box, HTML(words(help_words, "help"))])

    @property
    def text(self) -> str:
        """What stands in the box."""
        return self.box.value.strip()

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever something else stands in the box."""
        self._listeners.append(listener)

    def type_in(self, text: str) -> None:
        """Put text into the box, as a person does."""
        self.box.value = text

    def _box_changed(self, _change) -> None:
        for listener in self._listeners:
            listener()


Row = Typed | Choice | Words


def box_for(line: Line, text: str) -> Row:
    """Make the box that a line of the machine file wants."""
    if line.field:
        return Typed(line.field, text)
    if line.choices:
        options = ("yes", "no") if line.kind == "yes or no" else line.choices
        named = {LEFT_OPEN: "", **{option: option for option in options}}
        return Choice(line.label, named, chosen=text, help_words=line.help)
    return Words(line.label, text, example=line.example, help_words=line.help)


class Boxes:
    """The boxes of one part of the machine; they are made when they are first looked at.

    Parameters
    ----------
    lines : mapping of str to Line
        What is asked, by the key under which its text is kept.
    texts : dict
        Where the texts are kept; what is typed goes there at once.
    changed : callable
        Called after every change.
    """

    def __init__(self, lines: Mapping[str, Line], texts: dict[str, str], changed: Callable[[], None]):
        self.lines = dict(lines)
        self.texts = texts
        self.changed = changed
        self.rows: dict[str, Row] = {}
        self.widget = VBox()

    @property
    def filled_in(self) -> str:
        """How many of the boxes are filled in, in words."""
        return f"{sum(bool(self.texts.get(key)) for key in self.lines)} of {len(self.lines)} filled in"

    def open(self) -> None:
        """Make the boxes, once."""
        if self.rows:
            return
        for key, line in self.lines.items():
            row = box_for(line, self.texts.get(key, ""))
            row.on_change(self._row_changed(key, row))
            self.rows[key] = row
        self.widget.children = [row.widget for row in self.rows.values()]

    def _row_changed(self, key: str, row: Row) -> Callable[[], None]:
        def changed() -> None:
            self.texts[key] = row.value if isinstance(row, Choice) else row.text
            self.changed()

        return changed


def section_boxes(section: str, draft: Draft, changed: Callable[[], None]) -> Boxes:
    """The boxes of one section of the machine file."""
    return Boxes({line.path: line for line in lines_of(section)}, draft.texts, changed)


class ThreadBoxes:
    """The threads to cut: as many as there are, each with its boxes, to be added and taken out."""

    def __init__(self, draft: Draft, changed: Callable[[], None]):
        self.draft = draft
        self.changed = changed
        self.threads: list[Boxes] = []
        self.add_button = press("add a thread", self.add)
        self.widget = VBox()

    @property
    def filled_in(self) -> str:
        """How many threads there are, in words."""
        count = sum(thread.filled_in for thread in self.draft.threads)
        return f"{count or 'no'} thread{'s' * (count != 1)}"

    def open(self) -> None:
        """Make the boxes of all threads anew."""
        self.threads = [
            Boxes({line.key: line for line in lines_of("thread")}, thread.texts, self.changed)
            for thread in self.draft.threads
        ]
        for boxes in self.threads:
            boxes.open()
        pieces = [
            self._piece(number, boxes, thread)
            for number, (boxes, thread) in enumerate(zip(self.threads, self.draft.threads, strict=True), 1)
        ]
        self.widget.children = [*pieces, HBox([self.add_button])]

    def add(self) -> None:
        """Add an empty thread at the end."""
        self.draft.add_thread()
        self.open()
        self.changed()

    def remove(self, thread: ThreadDraft) -> None:
        """Take a thread out."""
        self.draft.remove_thread(thread)
        self.open()
        self.changed()

    def _piece(self, number: int, boxes: Boxes, thread: ThreadDraft) -> VBox:
        gone = press(f"take thread {number} out", lambda: self.remove(thread))
        return VBox([HTML(words(f"Thread {number}", "part")), boxes.widget, HBox([gone])])
