"""Questions about a control box; a first description and what it would break follow every answer."""

from collections.abc import Callable, Iterator

from ipywidgets import HTML, Layout, Textarea

from machinelab.controls.explore import Findings, explore
from machinelab.controls.rules import RULES
from machinelab.errors import MachinelabError
from machinelab.workbook.first_box import BRAKES, FEEDS, Answers, first_box
from machinelab.workbook.panel_file import parse_panel
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, words

YES_NO = {"yes": True, "no": False}


class FirstBox(Framed):
    """A form that makes a first description.

    Parameters
    ----------
    keep : callable
        Is given the text when the button is pressed, and answers in words.
    """

    def __init__(self, keep: Callable[[str], str]):
        self.keep = keep
        self.questions = {
            "start_button": Choice(
                "A start button that has to be pushed", YES_NO, help_words="After every stop."
            ),
            "guard_switch": Choice("A switch at the chuck guard", YES_NO),
            "mill_head": Choice("A mill head on the same drive", YES_NO),
            "reverse": Choice("Reverse", YES_NO),
            "brake": Choice("Brake", {one: one for one in BRAKES}, help_words="Which way round it is wired."),
            "feed": Choice("The feed's supply comes from", {one: one for one in FEEDS}),
        }
        self.found: Findings | None = None
        self.told = HTML(layout=Layout(min_height="48px"))
        self.text = Textarea(
            description="The description",
            style={"description_width": "120px"},
            layout=Layout(width="98%"),
        )
        self.text.add_class("machinelab-copy")
        self.button = press("write it into the machine's folder", self.write)
        self.answer = HTML(notice(""))
        rows = [question.widget for question in self.questions.values()]
        self.frame(*rows, self.told, self.text, self.button, self.answer)
        for question in self.questions.values():
            question.on_change(self.refresh)
        self.text.observe(self._text_changed, "value")
        self.refresh()

    def refresh(self) -> None:
        """Make the description anew from the answers."""
        answers = Answers(**{name: question.value for name, question in self.questions.items()})
        self.text.value = first_box(answers)

    def _text_changed(self, change) -> None:
        try:
            self.found = explore(parse_panel(change["new"]))
        except MachinelabError as problem:
            self.found = None
            self.told.value = notice(str(problem))
            return
        self.told.value = "".join(words(line, "sentence") for line in _told(self.found))

    def write(self) -> None:
        """Keep the description as it stands; one that cannot be read is told and not kept."""
        try:
            parse_panel(self.text.value)
            self.answer.value = words(self.keep(self.text.value), "help")
        except MachinelabError as problem:
            self.answer.value = notice(str(problem))


def _told(found: Findings) -> Iterator[str]:
    """What such a box would break, rule by rule in words."""
    if not found.breaches:
        yield "No rule was found that this box breaks."
    for rule in found.breaches:
        yield f"{rule} is broken: {RULES[rule].broken}."
    yield f"Looked at: {found.coverage}."
