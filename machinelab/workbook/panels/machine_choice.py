"""Choosing a machine to work on, and making a new one: empty, or as a copy of another."""

import os
from collections.abc import Callable, Mapping
from pathlib import Path

from ipywidgets import HTML, HBox, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook import machine as machines
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.folders import OVERRIDE, is_read_only
from machinelab.workbook.panels.choice import Choice, list_of_words
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words
from machinelab.workbook.panels.words_box import words_box

CHOOSE_ONE = "(choose one)"
EMPTY_SHEET = "an empty sheet"
WHAT_THE_DEMO_IS = "The demo machine is invented, and read-only: look around with it, then make your own."


class NewMachine:
    """A name, what to begin with, and a button that makes a machine and chooses it.

    Parameters
    ----------
    starts : mapping of str to str, Path or None
        What a new machine may begin as, in words, and the machine that is copied; None for an empty sheet.
    made : callable
        Is given the new folder, and what to tell the person.
    label : str
        What the button says.
    """

    def __init__(
        self,
        starts: Mapping[str, str | Path | None],
        made: Callable[[Path, str], None],
        *,
        label: str = "make it",
    ):
        self.made = made
        self.name = words_box("Name of a new machine", example="for instance old-lathe")
        self.start = Choice("It begins as", starts)
        self.button = press(label, self.make)
        self.notice = HTML(notice(""))
        help_words = HTML(words("Small letters, figures, - and _; it becomes the name of a folder.", "help"))
        start = [self.start.widget] if len(starts) > 1 else []
        self.widget = VBox([HBox([self.name, self.notice]), help_words, *start, HBox([self.button])])

    def make(self) -> None:
        """Make the machine and choose it; what stands in the way is told beside the box."""
        name = self.name.value.strip()
        try:
            folder = machines.create(name, like=self.start.value)
            told = choose_in_words(name)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.notice.value = notice("")
        self.name.value = ""
        self.made(folder, told)


class MachineChoice(Framed):
    """The machines there are, the one that is chosen, and a place to make another.

    Nothing is written before a person chooses or presses the button.
    """

    def __init__(self):
        self._listeners: list[Callable[[], None]] = []
        self._echoing = False
        self.list = list_of_words("Machine to work on")
        self.about = HTML()
        self.notice = HTML(notice(""))
        self._offer()
        self.list.observe(self._list_changed, "value")
        starts = {EMPTY_SHEET: None, **{f"a copy of {name}": name for name in machines.machines()}}
        self.new = NewMachine(starts, self._made)
        rows = [self.list, self.about, self.notice, self.new.widget]
        self.frame(*rows)

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever another machine was chosen or made."""
        self._listeners.append(listener)

    def choose(self, name: str) -> None:
        """Choose a machine from the list."""
        self.list.value = name

    def take_up(self, folder: Path) -> str:
        """Choose a machine that has come into being elsewhere, list it, and say what that means."""
        told = choose_in_words(folder.name)
        self._made(folder, told)
        return told

    def _offer(self) -> None:
        """List the machines there are, and tell about the one that is worked on."""
        names, now = list(machines.machines()), _chosen_name()
        if now not in names:
            names.insert(0, now or CHOOSE_ONE)
        self._echoing = True
        self.list.options = names
        self.list.value = now or CHOOSE_ONE
        self._echoing = False
        self.list.disabled = bool(os.environ.get(OVERRIDE))
        self.about.value = words(about_chosen(), "sentence")

    def _list_changed(self, change) -> None:
        if self._echoing:
            return
        try:
            told = choose_in_words(change["new"])
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self._tell(told)

    def _made(self, _folder: Path, told: str) -> None:
        self._offer()
        self._tell(told)

    def _tell(self, told: str) -> None:
        self.about.value = words(about_chosen(), "sentence")
        self.notice.value = words(told, "notice")
        for listener in self._listeners:
            listener()


def choose_in_words(name: str) -> str:
    """Remember a machine for every page, and say what that means.

    Raises
    ------
    MachineFileError
        When there is no such machine.
    """
    folder = machines.choose(name)
    if machines.chosen() != folder:
        return f"{name} is noted, but {OVERRIDE} is set on this computer and comes first."
    return f"{name} is chosen. Pages that are open already must be run again."


def about_chosen() -> str:
    """What is known of the machine that is worked on, in a sentence or two."""
    try:
        return about(machines.load())
    except MachinelabError as error:
        return str(error)


def about(machine: Machine) -> str:
    """What is known of a machine, in a sentence or two."""
    lines = [line for line in machines.fields() if line.section != "thread"]
    known = sum(machine.value(line.path) is not None for line in lines)
    threads = len(machine.threads)
    cut = f"{threads or 'no'} thread{'s' * (threads != 1)} to cut"
    demo = f" {WHAT_THE_DEMO_IS}" if is_read_only(machine.folder) else ""
    return f"{machine.name}: {known} of {len(lines)} lines filled in, {cut}.{demo}"


def _chosen_name() -> str:
    try:
        return machines.chosen().name
    except MachinelabError:
        return ""
