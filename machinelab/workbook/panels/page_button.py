"""A button that turns a whole notebook into one page, with a choice of the step."""

from ipywidgets import HTML

from machinelab.workbook.notebook_page import MadePage, page_in_steps
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.look import take_along, words
from machinelab.workbook.panels.progress import LongTask
from machinelab.workbook.steps import START, steps

NOTHING = "no notebook"
WHAT_IT_DOES = (
    "Runs a copy of the notebook on the chosen machine and writes one file that opens anywhere and prints. "
    "It takes up to a minute; the notebooks themselves are left as they are."
)


class PageButton(Framed):
    """The steps that have a notebook, a button that makes the page of one, and a link to take it along."""

    def __init__(self):
        written = [one for one in steps() if one.notebook]
        # The start page itself is the last that anybody wants to print.
        written.sort(key=lambda one: one.number == START)
        offered = {f"{one.number} {one.title}": one.number for one in written}
        self.step = Choice("Page of step", offered or {NOTHING: START})
        self.task = LongTask("make the page", self._work, self._finished)
        self.answer = HTML(words(WHAT_IT_DOES if offered else f"There is {NOTHING} here.", "help"))
        self.frame(self.step.widget, self.task.widget, self.answer)

    def _work(self):
        return page_in_steps(self.step.value)

    def _finished(self, made: MadePage) -> None:
        link = take_along(made.file.name, made.html.encode())
        self.answer.value = words(str(made), "sentence") + f'<div class="machinelab-sentence">{link}</div>'
