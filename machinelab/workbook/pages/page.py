"""What all pages share: the chosen machine, what the page still needs, the reader's own guess."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import wraps
from typing import ClassVar

from machinelab.errors import MachineFileError, MachinelabError
from machinelab.units import Field
from machinelab.workbook import machine as machines
from machinelab.workbook.cautions import Cautions, show_cautions
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import Machine, asked_for, needs
from machinelab.workbook.panels.guess import Guess
from machinelab.workbook.panels.record_box import RecordBox
from machinelab.workbook.panels.share_box import ShareBox
from machinelab.workbook.readings import Readings
from machinelab.workbook.record import Record
from machinelab.workbook.result_notes import result_notes
from machinelab.workbook.share import Picture as SharedPicture
from machinelab.workbook.share import Post
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.shop_lengths import ShopLengths, shop_lengths


@dataclass(frozen=True)
class Said:
    """Plain words in the place of a result."""

    text: str

    def __str__(self) -> str:
        return self.text

    def _repr_markdown_(self) -> str:
        return self.text


def for_post(*shown) -> tuple[SharedPicture, ...]:
    """The pictures among what a page shows, as a post takes them; what was only said is left out."""
    return tuple(SharedPicture(one.alt, one.png) for one in shown if isinstance(one, Picture))


def listed(lines: Iterable[str]) -> Said:
    """One line under the other, each with its mark."""
    return Said("\n".join(f"- {line}" for line in lines))


WAITING = Said("*This waits for the machine file; what it lacks is listed at the top of the page.*")

NOTHING_TO_SHARE = Said("*There is nothing to share yet: measure first.*")


def _show_whole_cells() -> None:
    """Pandas cuts a cell off after fifty letters, in the midst of a source or a caution; here it must not."""
    import pandas as pd

    pd.set_option("display.max_colwidth", None)


class Page:
    """One step of the workbook on one machine.

    Parameters
    ----------
    machine : Machine
        The machine as built.
    problem : str
        Why its file could not be read, in words; empty when it could.
    """

    step: ClassVar[str]

    def __init__(self, machine: Machine, problem: str = ""):
        self.machine = machine
        self.readings = Readings(machine.folder)
        self.problem = problem or self.readings.problem

    @property
    def lengths(self) -> ShopLengths:
        """How the shop writes lengths."""
        return shop_lengths(self.machine)

    @classmethod
    def open(cls) -> "Page":
        """Open the page on the machine that was chosen on the start page."""
        _show_whole_cells()
        try:
            return cls(machines.load())
        except MachineFileError as error:
            return cls(machines.empty(), str(error))

    @property
    def still_needed(self) -> Said | None:
        """What the machine file lacks for this page, in words; None when nothing."""
        lacking = needs(self.step, self.machine)
        return Said(asked_for(lacking) + "\n\nAdd it on the page *01 machine as built*.") if lacking else None

    @property
    def cautions(self) -> Cautions:
        """What can hurt at this step, to be read before anything is switched on."""
        return show_cautions(self.step)

    def record_line(self) -> dict | None:
        """What this page would write into the record, as `Record.add` takes it; None for nothing yet."""
        return None

    @property
    def record_box(self) -> RecordBox | Said:
        """A button that writes the page's line into the machine's record."""
        if self.machine.folder is None:
            return Said("Choose a machine on the start page; its record lies in its folder.")
        try:
            record = Record(self.machine.folder)
        except MachinelabError as error:
            return Said(str(error))
        return RecordBox(self.line_with_data, add=record.add, note=record.note)

    def line_with_data(self) -> dict | None:
        """The page's line with the fingerprints of all it rests on: its logs, and what was typed."""
        line, typed = self.record_line(), self.readings.typed(self.step)
        if line is None or typed is None:
            return line
        return {**line, "data": [*line.get("data", ()), typed]}

    def post(self) -> Post | None:
        """What this page has to show to a forum; None while there is nothing."""
        return None

    def shared(self) -> Post | None:
        """The post with the result as the record would have it before its pictures; None for nothing yet."""
        post, line = self.post(), self.record_line()
        if post is None or line is None:
            return post
        drawn = tuple(block for block in post.blocks if isinstance(block, SharedPicture))
        words = tuple(block for block in post.blocks if not isinstance(block, SharedPicture))
        return Post(post.title, (*words, result_notes(line), *drawn))

    @property
    def share_text(self) -> Said:
        """The post as plain text, as it stands in a letter or a forum."""
        post = self.shared()
        return Said(f"```text\n{post.text()}```") if post else NOTHING_TO_SHARE

    @property
    def share_box(self) -> ShareBox | Said:
        """The post in the forms that forums take, each to be copied or saved."""
        post = self.shared()
        if post is None:
            return NOTHING_TO_SHARE
        return ShareBox(post, name=f"{self.step} {self.machine.name}")

    def guess_box(self, field: Field, name: str = "guess") -> Guess:
        """A box for the reader's own guess, with what was guessed last time under this name."""
        said = self.readings.of(self.step).get(name, "")
        return Guess(field, text=said, keep=lambda text: self.readings.keep(self.step, name, text))

    def __repr__(self) -> str:
        return self._repr_markdown_()

    def _repr_markdown_(self) -> str:
        if self.problem:
            return f"**A file of this machine cannot be used yet.**\n\n{self.problem}"
        head = f"**Machine:** {Markdown().words(self.machine.name)}"
        return f"{head}\n\n{self.still_needed}" if self.still_needed else head


def once_known(answer: Callable) -> Callable:
    """Answer a page's question once the machine file says enough; until then point to what is missing."""

    @wraps(answer)
    def guarded(page: Page, *inputs):
        return WAITING if page.still_needed else answer(page, *inputs)

    return guarded
