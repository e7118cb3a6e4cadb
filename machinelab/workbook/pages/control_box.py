"""Page 02: whether the control box stops everything when it must, and starts only what it was asked to."""

from functools import cached_property
from time import monotonic
from typing import ClassVar

import pandas as pd

from machinelab.controls.explore import BROKEN, Findings, findings
from machinelab.controls.fault import every_fault
from machinelab.controls.faults import MUST_HOLD, FaultResult, in_order, verdict_on_faults
from machinelab.controls.rules import HAZARD, NOTES, RULES
from machinelab.controls.search import Search
from machinelab.controls.trace import Trace, told
from machinelab.errors import PanelError
from machinelab.units import Field
from machinelab.workbook.cautions import TRACE, cautions
from machinelab.workbook.electrics import bleed_calculation, electrical_table
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.ladder import Ladder
from machinelab.workbook.kept_faults import keep_faults, kept_faults
from machinelab.workbook.machine.folders import is_read_only, told_in_words
from machinelab.workbook.pages.page import Page, Said, for_post, listed
from machinelab.workbook.panel_bench import (
    ANSWERS,
    NOT_AS_IT_SHOULD,
    NOT_DONE_YET,
    BenchTest,
    bench_tests,
    verdict_word,
)
from machinelab.workbook.panel_file import FILE_NAME, content_hash, parse_panel, read_panel_file
from machinelab.workbook.panel_tables import WORDS, rest_table, verdict_table, wired_table
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.first_box import FirstBox
from machinelab.workbook.panels.ladder import ladder_panel, view_rest, view_way
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.progress import LongTask
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.ways import Ways, fault_task
from machinelab.workbook.run_down_check import run_down_table
from machinelab.workbook.share import Notes, Paragraph, Post, Table
from machinelab.workbook.whole_file import write_whole

# So long may the search keep a page waiting; a box that takes longer counts as not finished.
LONGEST_SEARCH_S = 90.0
DESK_CHECK = (
    "This is a desk check. It certifies nothing. Local wiring rules come first; have mains wiring inspected "
    "by a licensed electrician. The checker reads what you typed, not what you wired."
)
GUESS = Field(
    name="Rules that this box breaks, by feel",
    kind="count",
    low="0",
    high="20",
    example="3",
    help="Of the rules listed below, before the box is searched.",
)
NO_BOX = Said(
    f"This machine has no description of its control box yet: there is no {FILE_NAME} in its folder. "
    "Answer the questions below for a first one, then change it in any text editor until it says what is "
    "wired; the demo's file shows how. Most of this page waits for it."
)
NO_BOX_YET = Said("*This waits for a description of the control box: see* What is wired *above.*")


class ControlBoxPage(Page):
    """The control box of the chosen machine: every state searched, then the tests at the box."""

    step: ClassVar[str] = "02"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        try:
            self.box = None if self.problem else read_panel_file(machine.folder)
        except PanelError as wrong:
            self.box, self.problem = None, str(wrong)
        self.faults = self._faults_of_last_time()
        kept = self.readings.of(self.step)
        self.answers = {
            test.name: Choice(
                test.name,
                {answer: answer for answer in ANSWERS},
                chosen=kept.get(test.name, NOT_DONE_YET),
                help_words=f"{test.words} ({test.basis}.)",
            )
            for test in self.tests
        }

    @cached_property
    def search(self) -> Search:
        """The search through every state; made once, when it is first asked for."""
        until = monotonic() + LONGEST_SEARCH_S
        return Search(self.box, keep_on=lambda states: monotonic() < until).from_rest()

    @cached_property
    def found(self) -> Findings:
        """What the search has found."""
        return findings(self.search, self.search)

    @property
    def tests(self) -> tuple[BenchTest, ...]:
        """The tests with the plug out that this box asks for."""
        return bench_tests(self.box) if self.box else ()

    @property
    def wired(self) -> pd.DataFrame | Said:
        """The rungs as they were read, beside what each feeds."""
        if self.box is None:
            return NO_BOX
        return wired_table(self.box)

    @property
    def first_box(self) -> FirstBox:
        """Questions that make a first description; it is written only where there is none yet."""
        return FirstBox(self.keep_first_box)

    def keep_first_box(self, text: str) -> str:
        """Write a first description into the machine's folder, and say what has become of it."""
        folder = self.machine.folder
        if folder is None or is_read_only(folder):
            raise PanelError(
                "Choose or make a machine of your own on the start page; the demo stays as it is."
            )
        if (folder / FILE_NAME).exists():
            raise PanelError(f"There is a {FILE_NAME} in this machine's folder already; change that one.")
        with told_in_words(folder):
            write_whole(folder / FILE_NAME, text, check=lambda content: parse_panel(content.decode("utf-8")))
        return f"Written as {FILE_NAME} into the machine's folder. Run this page again to search it."

    @property
    def verdicts(self) -> pd.DataFrame | Said:
        """Every rule, whether a breach was found, how grave it would be, and what the rule rests on."""
        if self.box is None:
            return NO_BOX_YET
        return verdict_table(self.found)

    @property
    def electrics(self) -> pd.DataFrame:
        """What capacitors, wires and switches must bear, by the machine file."""
        return electrical_table(self.machine)

    @property
    def run_down(self) -> pd.DataFrame | Said:
        """The times that the box relies on, beside the run-down that was logged."""
        if self.box is None:
            return NO_BOX_YET
        told = run_down_table(self.box, self.machine)
        return Said(told) if isinstance(told, str) else told

    @property
    def hazards(self) -> tuple[str, ...]:
        """The broken rules whose breach is a hazard."""
        return tuple(rule for rule in self.found.breaches if RULES[rule].grade == HAZARD)

    @property
    def summary(self) -> Said:
        """What was found and what was looked at, in two lines."""
        if self.box is None:
            return NO_BOX_YET
        broken = self.found.breaches
        if broken:
            named = ", ".join(broken)
            said = f"**{len(broken)} rules are broken**, {len(self.hazards)} of them hazards: {named}."
        elif self.found.finished:
            said = f"No broken rule found in {self.found.coverage.split(' states')[0]} states."
        else:
            said = "**Not finished**: the box is too large to be searched to its end; nothing counts as kept."
        slowest = f"Latest moment at which a motor may still be on its drive after the stop: {self._slowest}."
        return Said("\n\n".join([said, slowest, f"*Looked at: {self.found.coverage}.*", DESK_CHECK]))

    @property
    def _slowest(self) -> str:
        return "not finished" if not self.found.finished else f"{self.found.slowest_stop_s * 1000:.0f} ms"

    @property
    def traces(self) -> tuple[Trace, ...]:
        """The way to every broken rule, hazards first, the shortest first among them."""
        if self.box is None:
            return ()
        ways = [told(self.box, self.found.broken[rule]) for rule in RULES if rule in self.found.broken]
        return tuple(sorted(ways, key=lambda trace: (trace.rule.grade != HAZARD, len(trace.rows))))

    @property
    def first_way(self) -> Said:
        """The way to the first of the broken rules."""
        if self.box is None:
            return NO_BOX_YET
        return Said(f"```text\n{self.traces[0].text}\n```") if self.traces else self.summary

    @property
    def trace_cautions(self) -> Said:
        """What to mind whichever way a rule was broken."""
        return listed(one.words for one in cautions(self.step) if TRACE in one.shown)

    @property
    def ways(self) -> Ways | Said:
        """All ways, to choose from."""
        if self.box is None:
            return NO_BOX_YET
        if not self.traces:
            return self.summary
        return Ways({f"{one.rule.id}: {one.rule.broken}": one.text for one in self.traces})

    @property
    def ladder(self) -> Picture | Said:
        """The ladder at the end of the way to the first broken rule; without one, everything at rest."""
        if self.box is None:
            return NO_BOX_YET
        if not self.traces:
            return Ladder.draw(view_rest(self.search))
        broken = self.found.broken[self.traces[0].rule.id]
        return Ladder.draw(view_way(self.search, broken, len(broken.way)))

    @property
    def ladder_panel(self) -> LivePanel | Said:
        """Every way, stepped through on the ladder."""
        if self.box is None:
            return NO_BOX_YET
        return ladder_panel(self.search, self.found) if self.traces else self.summary

    @property
    def at_rest(self) -> pd.DataFrame | Said:
        """What the box does at rest, as a table."""
        if self.box is None:
            return NO_BOX_YET
        return rest_table(self.search)

    @property
    def fault_search(self) -> LongTask | Said:
        """A button that tries every single fault."""
        return NO_BOX_YET if self.box is None else fault_task(self.box, self.take_faults)

    def take_faults(self, results: tuple[FaultResult, ...]) -> None:
        """Keep what the faults were found to do, for this very description."""
        self.faults = in_order(self.box, results)
        keep_faults(self.machine.folder, self.faults)

    def _faults_of_last_time(self) -> tuple[FaultResult, ...]:
        """What was kept for this very description, if every fault was tried."""
        if self.box is None:
            return ()
        kept = kept_faults(self.machine.folder)
        return kept if {one.fault for one in kept} == set(every_fault(self.box)) else ()

    @property
    def fault_ways(self) -> Ways | Said:
        """The ways by which single faults take rules away, to choose from."""
        if self.box is None:
            return NO_BOX_YET
        ways = {
            f"{one.fault.words}: {rule}": told(self.box, way, one.fault).text
            for one in self.faults
            for rule, way in one.ways.items()
        }
        return Ways(ways) if ways else Said("The ways are told once the faults have been tried on this page.")

    @property
    def faults_told(self) -> pd.DataFrame | Said:
        """What each single fault loses; the faults that lose nothing are counted."""
        if self.box is None:
            return NO_BOX_YET
        if not self.faults:
            return Said("No fault has been tried yet: press the button above, then run this cell.")
        rows = [
            (one.fault.words, ", ".join(one.lost), "refuses to start" if one.shows else "only by a test")
            for one in self.faults
            if one.lost
        ]
        frame = pd.DataFrame(rows, columns=["fault", "lost with it", "how it shows"])
        return frame.set_index("fault")

    @property
    def faults_judged(self) -> Said:
        """Whether any single fault takes the stop away."""
        if self.box is None:
            return NO_BOX_YET
        if not self.faults:
            return Said("R10 (a single fault leaves the stop whole): **not asked yet**.")
        word = verdict_on_faults(self.faults, tried_all=True)
        hidden = sum(bool(one.lost) and not one.shows for one in self.faults)
        told_word = "BROKEN" if word == BROKEN else WORDS[word]
        return Said(
            f"R10 (a single fault leaves {', '.join(MUST_HOLD)} whole): **{told_word}**. "
            f"{len(self.faults)} faults tried, {sum(bool(one.lost) for one in self.faults)} lose a rule, "
            f"{hidden} of them without showing; those want a test at fixed times, kept in the record."
        )

    @property
    def sheet(self) -> Sheet | Said:
        """The tests with the plug out, each to be answered."""
        if self.box is None:
            return NO_BOX_YET
        return Sheet(
            self.answers,
            work_out=lambda **answers: list(answers.values()),
            tell=lambda answers: [f"{self.word}: {self._counted(answers)}"],
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    def _counted(self, answers: list[str]) -> str:
        done = [answer for answer in answers if answer != NOT_DONE_YET]
        return (
            f"{len(done)} of {len(answers)} tests done, {done.count(NOT_AS_IT_SHOULD)} not as they should be."
        )

    @property
    def word(self) -> str:
        """What desk check and tests come to."""
        answers = [choice.value for choice in self.answers.values()]
        return verdict_word(answers, len(self.hazards), self.found.finished)

    def compared(self, guess: float | None) -> pd.DataFrame | Said:
        """The reader's guess beside what was found and tested."""
        if self.box is None:
            return NO_BOX_YET
        answers = [choice.value for choice in self.answers.values()]
        rows = [
            ("found by the search", str(len(self.found.breaches))),
            ("tests at the box", self._counted(answers)),
        ]
        if guess is not None:
            rows.insert(0, ("your guess", f"{guess:g}"))
        return pd.DataFrame(rows, columns=["", "broken rules"]).set_index("")

    @property
    def judged(self) -> Said:
        """The verdict of desk check and bench tests together."""
        if self.box is None:
            return NO_BOX_YET
        return Said(f"**{self.word}**: {self._why}")

    @property
    def _why(self) -> str:
        if self.hazards:
            named = ", ".join(self.hazards)
            return f"the desk check has found hazards ({named}); no power before they are cured."
        return self._counted([choice.value for choice in self.answers.values()])

    @property
    def decision(self) -> Said:
        """What to change, in which order."""
        if self.box is None:
            return NO_BOX_YET
        cures = list(dict.fromkeys(trace.rule.cure for trace in self.traces if trace.rule.id not in NOTES))
        if not cures:
            cures = [
                "Nothing to rewire by the desk check. Do the tests with the plug out, then the electrician."
            ]
        return listed([*cures, "After every change type it into the description, search again, test again."])

    def record_line(self) -> dict | None:
        """What the desk check and the bench tests have come to, for exactly this description."""
        if self.box is None:
            return None
        answers = {name: choice.value for name, choice in self.answers.items()}
        return {
            "step": self.step,
            "quantity": "control box: desk check and tests with the plug out",
            "verdict": self.word,
            "conditions": {
                "description": content_hash(self.machine.folder)[:16],
                "looked at": self.found.coverage,
                "broken": ", ".join(self.found.breaches) or "none found",
                "own guess": f"{self.guess.value:g}" if self.guess.value is not None else "none",
                **answers,
            },
            "notes": DESK_CHECK,
        }

    def post(self) -> Post | None:
        """The findings with their ways."""
        if self.box is None:
            return None
        rows = tuple((one.rule.id, one.rule.broken, one.rule.grade, one.rule.cure) for one in self.traces)
        table = [Table(("rule", "what happens", "grade", "cure"), rows, "Broken rules")] if rows else []
        ways = [
            Notes(
                tuple(f"{row.step}. {row.act}: {row.happens}" for row in one.rows),
                f"The way to {one.rule.id}: {one.rule.broken}",
            )
            for one in self.traces[:3]
        ]
        head = f"Desk check of the control box: {self.found.coverage}."
        return Post(
            f"Control box of {self.machine.name}",
            (
                Paragraph(head),
                *table,
                *ways,
                *bleed_calculation(self.machine),
                Notes((DESK_CHECK,), "Mind"),
                *for_post(self.ladder),
            ),
        )
