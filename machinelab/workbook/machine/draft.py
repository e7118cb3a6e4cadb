"""A machine file that is being filled in: what stands in the boxes of the form, before it is saved.

A draft knows no form. It holds the text of every box, says which of them cannot be read, what has changed,
and what machine would come of it.
"""

from dataclasses import dataclass, field
from functools import cache, lru_cache

from pydantic import ValidationError

from machinelab import units
from machinelab.errors import MachineFileError, UnitError
from machinelab.workbook.machine.built import Machine, differences, fields
from machinelab.workbook.machine.lines import Line
from machinelab.workbook.machine.problems import told_at_once

_FROM_FILE = {"True": "yes", "False": "no"}


@cache
def lines_of(section: str) -> tuple[Line, ...]:
    """The lines of a section of the form; each limit is followed by a line for its reason."""
    lines = [line for line in fields() if line.section == section]
    if section == "target":
        lines = [one for line in lines for one in (line, _reason(line))]
    return tuple(lines)


def _reason(limit: Line) -> Line:
    return Line(
        path=f"target.why.{limit.key}",
        kind="words",
        label=f"Why: {limit.label[0].lower()}{limit.label[1:]}",
        help="Where this limit comes from, or why you chose it.",
        example="a drawing, a handbook, or your own reason",
    )


@dataclass(eq=False)
class ThreadDraft:
    """The boxes of one thread; ``number`` is its place in the file, None for a new one."""

    number: int | None
    texts: dict[str, str] = field(default_factory=dict)

    @property
    def filled_in(self) -> bool:
        """Whether anything stands in its boxes."""
        return any(self.texts.values())


class Draft:
    """The boxes of the form for one machine.

    Parameters
    ----------
    machine : Machine
        The machine as its file stands.
    """

    def __init__(self, machine: Machine):
        self.texts: dict[str, str] = {}
        self.threads: list[ThreadDraft] = []
        self.begin_from(machine)

    def begin_from(self, machine: Machine) -> None:
        """Fill all boxes with what stands in the file of a machine."""
        self.before = machine
        self.texts = {path: text for path, text in _texts(machine).items() if not path.startswith("thread.")}
        self.threads = [
            ThreadDraft(number, texts) for number, texts in enumerate(_threads_of(machine), start=1)
        ]

    def add_thread(self) -> ThreadDraft:
        """Add an empty thread at the end."""
        self.threads.append(ThreadDraft(None))
        return self.threads[-1]

    def remove_thread(self, thread: ThreadDraft) -> None:
        """Take a thread out."""
        self.threads.remove(thread)

    @property
    def problems(self) -> dict[str, str]:
        """What cannot be read, by path: the words for it."""
        threads = (
            (f"thread.{number}.{key}", text)
            for number, thread in enumerate(self.threads, start=1)
            for key, text in thread.texts.items()
        )
        found = {path: problem_with(line_at(path), text) for path, text in (*self.texts.items(), *threads)}
        return {path: words for path, words in found.items() if words}

    @property
    def changes(self) -> dict[str, object]:
        """What is to be written into the file, as `machine.save` takes it.

        Threads that go come last and from the end, so that no number shifts before it is used.
        """
        old, now, new = _texts(self.before), dict(self.texts), []
        for thread in self.threads:
            if thread.number is None:
                new += [_written("thread", thread.texts)] if thread.filled_in else []
            elif thread.filled_in:
                now |= {f"thread.{thread.number}.{key}": text for key, text in thread.texts.items()}
        changed = {path: _as_written(path, text) for path, text in now.items() if text != old.get(path, "")}
        added = {f"thread.{place}": thread for place, thread in enumerate(new, len(self.before.threads) + 1)}
        return changed | added | {f"thread.{number}": None for number in reversed(self._gone)}

    def machine(self) -> Machine:
        """The machine that would come of the boxes; a box that cannot be read counts as not filled in.

        It has no folder, since nothing was written.

        Raises
        ------
        MachineFileError
            When two boxes do not go together.
        """
        return self._machine_with([thread.texts for thread in self.threads])

    def differences(self) -> dict[str, tuple[str, str]]:
        """What would change, by the label of the box: what it was and what it is, in words.

        Raises
        ------
        MachineFileError
            When two boxes do not go together.
        """
        return self.differences_to(self.machine())

    def differences_to(self, after: Machine) -> dict[str, tuple[str, str]]:
        """The same, when the machine that would come of the boxes is at hand."""
        gone = self._gone
        changed = differences(self.before, self._with_threads_in_their_places(gone) if gone else after)
        taken_out = {
            f"Thread {number}": (self.before.threads[number - 1].name or "there", "taken out")
            for number in gone
        }
        return {_label(path): change for path, change in changed.items()} | taken_out

    def _with_threads_in_their_places(self, gone: list[int]) -> Machine:
        """The machine with the threads that go still there, so that each stands beside what it was."""
        filed, kept = _threads_of(self.before), {thread.number: thread.texts for thread in self.threads}
        old = [filed[number - 1] if number in gone else kept[number] for number in self._numbers]
        new = [thread.texts for thread in self.threads if thread.number is None]
        return self._machine_with([*old, *new])

    @property
    def _numbers(self) -> range:
        return range(1, len(self.before.threads) + 1)

    @property
    def _gone(self) -> list[int]:
        kept = {thread.number for thread in self.threads if thread.filled_in}
        return [number for number in self._numbers if number not in kept]

    def _machine_with(self, threads: list[dict[str, str]]) -> Machine:
        document: dict = {}
        for path, value in _written("", self.texts).items():
            *above, key = path.split(".")
            section = document
            for name in above:
                section = section.setdefault(name, {})
            section[key] = value
        document["thread"] = [_written("thread", texts) for texts in threads if any(texts.values())]
        try:
            return Machine.model_validate(document)
        except ValidationError as invalid:
            raise told_at_once(invalid.errors(include_url=False), text="") from None


def line_at(path: str) -> Line:
    """The line of the form at a path; ``thread.2.pitch`` is the pitch of the second thread."""
    section, *_, key = path.split(".")
    wanted = path if section == "target" else f"{section}.{key}"
    for line in lines_of(section):
        if line.path == wanted:
            return line
    raise MachineFileError(f"{path} is no line of the machine file.")


def problem_with(line: Line, text: str) -> str:
    """What is wrong with the text in a box, in words; empty when nothing is."""
    return _problem_at(line.path, text) if text and line.field else ""


@lru_cache(maxsize=4096)
def _problem_at(path: str, text: str) -> str:
    try:
        units.read(text, line_at(path).field)
    except UnitError as problem:
        return str(problem)
    return ""


def _label(path: str) -> str:
    section, number, *_ = path.split(".")
    label = line_at(path).label
    return f"Thread {number}: {label[0].lower()}{label[1:]}" if section == "thread" else label


def _texts(machine: Machine) -> dict[str, str]:
    """What stands in the file, as the boxes show it."""
    return {
        path: _FROM_FILE[text] if line_at(path).kind == "yes or no" else text
        for path, text in machine.typed.items()
    }


def _threads_of(machine: Machine) -> list[dict[str, str]]:
    threads: list[dict[str, str]] = [{} for _ in machine.threads]
    for path, text in _texts(machine).items():
        section, _, rest = path.partition(".")
        if section == "thread":
            number, _, key = rest.partition(".")
            threads[int(number) - 1][key] = text
    return threads


def _written(section: str, texts: dict[str, str]) -> dict[str, object]:
    """What can be used of the boxes, as it goes into the file."""
    at = f"{section}." if section else ""
    return {
        key: _as_written(at + key, text)
        for key, text in texts.items()
        if text and not problem_with(line_at(at + key), text)
    }


def _as_written(path: str, text: str):
    """What goes into the file: true or false, a bare whole number for what is counted, else the words."""
    line = line_at(path)
    if not text:
        return None
    if line.kind == "yes or no":
        return text == "yes"
    counted = line.field is not None and line.field.takes_bare_number and text.isascii() and text.isdecimal()
    return int(text) if counted else text
