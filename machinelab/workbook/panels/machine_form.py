"""The form for the machine as built: boxes part by part, the drive chain drawn at once, one save button."""

import html
import re
from collections.abc import Callable, Iterable
from pathlib import Path

from ipywidgets import HTML, HBox, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook import machine as machines
from machinelab.workbook.figures.drive_chain import DriveChainDrawing
from machinelab.workbook.machine import Machine, titles
from machinelab.workbook.machine.draft import Draft
from machinelab.workbook.machine.folders import is_read_only
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.drive_chain import DriveChain, drive_chain
from machinelab.workbook.panels.frame import Framed, place_for, press
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.machine_boxes import Boxes, Row, ThreadBoxes, section_boxes
from machinelab.workbook.panels.machine_choice import WHAT_THE_DEMO_IS, NewMachine

FORM_STYLE = """<style>
.machinelab-part {font-weight: 600; margin: 8px 0 2px 0; border-top: 1px solid #bdbdbd; padding-top: 6px;}
.machinelab-told {font-size: 13px; line-height: 1.45;}
.machinelab-form .machinelab-notice:empty {display: none;}
.machinelab-form .widget-html, .machinelab-form .widget-html-content {min-height: 0;}
.machinelab-told ul {margin: 2px 0 2px 0; padding-left: 20px;}
</style>"""


class MachineForm(Framed):
    """Every line of one machine's file as a box; nothing is written before "save" is pressed.

    Parameters
    ----------
    machine : Machine
        The machine as its file stands.
    """

    def __init__(self, machine: Machine):
        self.draft = Draft(machine)
        self.chart = DriveChainDrawing()
        self.chain: DriveChain | None = None
        self.boxes: dict[str, Boxes | ThreadBoxes] = {}
        self._listeners: list[Callable[[Machine], None]] = []
        self._build()
        self._make_boxes()
        self._show_doors()

    @property
    def machine(self) -> Machine:
        """The machine as it was last read or saved."""
        return self.draft.before

    @property
    def is_own(self) -> bool:
        """Whether the machine may be changed, or must be copied first."""
        return not is_read_only(self.machine.folder)

    def on_save(self, listener: Callable[[Machine], None]) -> None:
        """Call a function with the machine whenever it was saved."""
        self._listeners.append(listener)

    def open(self, section: str) -> Boxes | ThreadBoxes:
        """Show a part of the form and return its boxes."""
        self.part.choose(titles()[section])
        return self.boxes[section]

    def row(self, path: str) -> Row:
        """The box of a line, its part opened."""
        return self.open(path.partition(".")[0]).rows[path]

    def turn(self, parts: int) -> None:
        """Go to the next part, or with -1 to the one before; after the last comes the first."""
        sections = list(self.boxes)
        self.open(sections[(sections.index(self.part.value) + parts) % len(sections)])

    def refresh(self) -> None:
        """Draw what would come of the boxes, and say what is not filled in and what is not saved yet."""
        self._count()
        try:
            after = self.draft.machine()
            changed = self.draft.differences_to(after)
        except MachinelabError as error:
            self.notice.value = told("These boxes do not go together yet:", _reasons(error), alert=True)
            return
        self.notice.value = notice("")
        self.pending.value = told("Changed, but not saved yet:", changed) if changed else ""
        self._draw(drive_chain(after))

    def _draw(self, chain: DriveChain) -> None:
        if chain != self.chain:
            self.chain = chain
            self.chart.update(chain)
            self.picture.value = self.chart.live_html()

    def _count(self) -> None:
        self.filled_in.value = words(self.boxes[self.part.value].filled_in, "help")

    def save(self) -> None:
        """Write all changes into the machine's file, or say what stands in the way and write nothing."""
        self.answer.value = self._saved()

    def _saved(self) -> str:
        problems = self.draft.problems
        if problems:
            lines = [_with_number(path, problem) for path, problem in problems.items()]
            return told("Nothing was saved. These boxes cannot be used:", lines, alert=True)
        if not self.draft.changes:
            return told("Nothing has changed, so nothing was written.")
        try:
            changed = self.draft.differences()
            saved = machines.save(self.draft.changes, self.machine)
        except MachinelabError as error:
            return told("Nothing was saved.", _reasons(error), alert=True)
        self._begin_from(saved)
        lines = [f"{label}: was {before}, is now {after}" for label, (before, after) in changed.items()]
        place = f"machines/{saved.folder.name}/machine.toml"
        return told(f"Saved in {place}. Run the page again to see it everywhere.", lines)

    def _begin_from(self, machine: Machine) -> None:
        self.draft.begin_from(machine)
        self._make_boxes()
        for listener in self._listeners:
            listener(machine)

    def _own_made(self, folder: Path, words_for_it: str) -> None:
        """Go on with the copy, and save into it what was typed so far."""
        self.draft.before = machines.load(folder)
        self._show_doors()
        if self.draft.changes:
            self.answer.value = told(words_for_it) + self._saved()
            return
        self._begin_from(self.machine)
        self.answer.value = told(words_for_it)

    def _build(self) -> None:
        self.head, self.picture, self.filled_in = HTML(), place_for(self.chart), HTML()
        self.part = Choice("Part of the machine", {title: name for name, title in titles().items()})
        self.part.list.layout.width = "560px"
        self.part.on_change(self._show_part)
        self.before_button = press("part before", lambda: self.turn(-1))
        self.next_button = press("next part", lambda: self.turn(1))
        self.place = VBox()
        self.notice, self.pending, self.answer = HTML(notice("")), HTML(), HTML()
        self.save_button = press("save", self.save)
        self.own = NewMachine({"a copy": self.machine.folder}, self._own_made, label="make my own copy")
        self.doors = VBox()
        top = [self.head, self.picture, HBox([self.part.widget, self.filled_in])]
        below = [self.notice, self.pending, self.doors, self.answer]
        self.frame(HTML(FORM_STYLE), *top, self.place, *below)
        self.widget.add_class("machinelab-form")

    def _make_boxes(self) -> None:
        """Begin all boxes anew from the draft; those of a part are made when it is shown."""
        self.boxes = {
            name: ThreadBoxes(self.draft, self.refresh)
            if name == "thread"
            else section_boxes(name, self.draft, self.refresh)
            for name in titles()
        }
        self._show_part()
        self.refresh()

    def _show_part(self) -> None:
        boxes = self.boxes[self.part.value]
        boxes.open()
        self.place.children = [boxes.widget]
        self._count()

    def _show_doors(self) -> None:
        """Offer "save" for an own machine, a copy for one that is read-only."""
        turning = [self.before_button, self.next_button]
        if self.is_own:
            head = f"Your machine {self.machine.folder.name}. An empty box counts as not known."
            self.doors.children = [HBox([*turning, self.save_button])]
        else:
            head = f"{WHAT_THE_DEMO_IS} What you type here is drawn, but only a copy of your own keeps it."
            self.doors.children = [HBox(turning), self.own.widget]
        self.head.value = words(head, "sentence")


def told(head: str, lines: Iterable[str] = (), *, alert: bool = False) -> str:
    """Put a sentence and a list below it, escaped, into HTML."""
    listed = "".join(f"<li>{html.escape(line)}</li>" for line in lines)
    role = "alert" if alert else "status"
    body = f"{html.escape(head)}{f'<ul>{listed}</ul>' if listed else ''}"
    return f'<div class="machinelab-told" role="{role}">{body}</div>'


def _with_number(path: str, problem: str) -> str:
    section, number, *_ = path.split(".")
    return f"Thread {number}, {problem}" if section == "thread" else problem


def _reasons(error: MachinelabError) -> list[str]:
    """The problems that an error tells, each with the part of the form that it belongs to."""
    _, _, listed = str(error).partition("\n")
    found = re.findall(r"^  (?:\d+\. )?([\w.]+): (.+)$", listed, flags=re.MULTILINE)
    parts = titles()
    return [f"{parts.get(path.partition('.')[0], path)}: {words}" for path, words in found] or [str(error)]
