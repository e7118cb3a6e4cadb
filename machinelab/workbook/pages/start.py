"""Page 00: choosing a machine, and every step of the workbook with what it waits for."""

from typing import ClassVar

from IPython.display import display

from machinelab.errors import MachineFileError
from machinelab.workbook import machine as machines
from machinelab.workbook.pages.page import Page, Said
from machinelab.workbook.panels.handover import Handover
from machinelab.workbook.panels.machine_choice import MachineChoice, about
from machinelab.workbook.panels.page_button import PageButton
from machinelab.workbook.panels.word_list import WordList
from machinelab.workbook.record import Record
from machinelab.workbook.record.history import measured_words
from machinelab.workbook.record.line import Line
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.steps import Standing, recorded, standings, step

UNBROKEN = "\N{NO-BREAK SPACE}"
HEADINGS = ("step", "what it answers", "state", "last result", "what it waits for")


class StartPage(Page):
    """The machines there are, the one that is chosen, and how every step stands with it."""

    step: ClassVar[str] = "00"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.choice = MachineChoice()
        self.choice.on_change(self._another_machine)
        self.handover = Handover(opened=self.choice.take_up)
        self.page_button = PageButton()
        self._shown, self._shown_machine = None, None

    def _repr_markdown_(self) -> str:
        # The machine is named further down, where it follows the choice.
        return self.problem or "This page is open. Which machine is worked on stands below."

    @property
    def words(self) -> WordList:
        """Every word and sign of the workbook, to be looked up."""
        return WordList()

    @property
    def chosen(self) -> Said:
        """The machine that is worked on, in words."""
        return Said(Markdown().words(self.problem or about(self.machine)))

    def show_chosen(self) -> None:
        """Show the machine that is worked on; when another is chosen, what is shown follows."""
        self._shown_machine = display(self.chosen, display_id=True)

    @property
    def standings(self) -> tuple[Standing, ...]:
        """How every step stands."""
        return standings(self.machine, self._recorded()[0])

    def _recorded(self):
        # No more of the record is needed here, and it may be long.
        return recorded(self.machine, Record.lines_in_force)

    def steps(self) -> Said:
        """Every step with its state, what it waits for, and the way to it; and what comes next."""
        here = step(self.step)
        you_are_here = (here.link, here.question, "you are here", "", "")
        lines, trouble = self._recorded()
        standing = standings(self.machine, lines)
        rows = [HEADINGS, (":---",) * len(HEADINGS), you_are_here, *map(_row, standing)]
        table = "\n".join(f"| {' | '.join(row)} |" for row in rows)
        words = [Markdown().words(text) for text in (self.problem or self.machine.name, trouble) if text]
        head = [f"**Machine:** {words[0]}", *words[1:], _next_step(standing)]
        return Said("\n\n".join([*head, table]))

    @property
    def next_step(self) -> str:
        """What to do next, in a sentence."""
        return _next_step(self.standings)

    def show_steps(self) -> None:
        """Show the steps; when another machine is chosen, what is shown follows."""
        self._shown = display(self.steps(), display_id=True)

    def _another_machine(self) -> None:
        try:
            self.machine, self.problem = machines.load(), ""
        except MachineFileError as error:
            self.machine, self.problem = machines.empty(), str(error)
        if self._shown_machine is not None:
            self._shown_machine.update(self.chosen)
        if self._shown is not None:
            self._shown.update(self.steps())


def _next_step(standings: tuple[Standing, ...]) -> str:
    open_steps = [standing for standing in standings if not standing.done]
    ready = [standing for standing in open_steps if standing.ready]
    if not open_steps:
        return "**Next:** nothing; every step has been done."
    if not ready:
        return "**Next:** fill in the machine file; every open step waits for it."
    return f"**Next:** {ready[0].step.link}"


def _row(standing: Standing) -> tuple[str, ...]:
    return (
        standing.step.link,
        standing.step.question,
        f"**{standing.word.replace(' ', UNBROKEN)}**",
        _last_result(standing.latest),
        " ".join(filter(None, (standing.waits_for, _older(standing)))),
    )


def _last_result(line: Line | None) -> str:
    """What the record says last of a step, and since when; empty while it says nothing."""
    if line is None:
        return ""
    measured = f", {measured_words(line)}" if line.measured else ""
    return Markdown().words(f"{line.quantity}{measured}; {line.time[:10]}")


def _older(standing: Standing) -> str:
    """That the machine was changed after the step was recorded, and how."""
    if not standing.changed:
        return ""
    return f"**Recorded before a change**: {Markdown().words('; '.join(standing.changed))}. Measure again."
