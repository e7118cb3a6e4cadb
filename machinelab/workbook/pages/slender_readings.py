"""The readings of page 14: pushes on the chuck, a turned bar, the setting of the steady rest."""

from dataclasses import replace
from functools import partial
from typing import ClassVar

from machinelab.accuracy.indicator import reading_sd_mm
from machinelab.errors import MachinelabError, RangeError
from machinelab.work.bending import STEEL_N_MM2
from machinelab.work.holding import CHUCK_ONLY, HOLDINGS
from machinelab.workbook.pages.page import Page
from machinelab.workbook.pages.slender_fields import DIAL, GUESS, PUSHED_BAR, SETTING, TURNED
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.slender_tests import (
    PushResult,
    SteadySetting,
    TurnedBar,
    judge_push,
    judge_turned,
)
from machinelab.workbook.slender_work import BENDS_LIKE, RIGID, USUAL_STEADY_N_MM, Grip, SlenderWork
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns

# A spindle of the length of a hand, turned with a fine cut; it only starts the sliders.
USUAL_WORK = SlenderWork(
    holding=CHUCK_ONLY,
    material="mild steel",
    diameter_mm=16.0,
    length_mm=120.0,
    steady_mm=80.0,
    steady_n_mm=USUAL_STEADY_N_MM,
    depth_mm=0.25,
    feed_mm=0.05,
    typed_force_n=0.0,
    allowed_mm=0.02,
)
STEADY_SHARE = 0.6
PUSHES, DIAMETERS, BAR, DIVISION = "pushes", "diameters", "pushed_bar", "division"


class SlenderReadings(Page):
    """What was pushed, turned and measured on the chosen machine."""

    step: ClassVar[str] = "14"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        kept = self.readings.of(self.step)
        self.guess = self.guess_box(GUESS)
        self.pushed_bar = self._typed(PUSHED_BAR, BAR, "25 mm")
        self.division = self._typed(DIAL, DIVISION, "0.002 mm")
        self.push_entry = self._entry(
            "Overhang, force, movement",
            ("overhang mm", "force N", "moved mm"),
            "40 50 0.004",
            "In mm, N and mm; two overhangs at least, each with three pushes by a spring balance. "
            + OTHER_UNITS.format("in lbf thou"),
        )
        self.turned_entry = self._entry(
            "Place and diameter",
            ("place mm", "diameter mm"),
            "10 15.992",
            "In mm, place from the jaws; five places or more, near the supports and far from them. "
            + OTHER_UNITS.format("in in"),
        )
        self.pushed: PushResult | None = None
        self.turned: TurnedBar | None = None
        self.turned_sheet = self._turned_sheet(kept)
        self.setting_sheet = Sheet(
            {name: Typed(field, kept.get(f"setting_{name}", "")) for name, field in SETTING.items()},
            work_out=self._setting,
            tell=lambda setting: setting.told,
            keep=lambda name, text: self._keep(f"setting_{name}", text),
        )
        self._start(self.push_entry, PUSHES, self._push_changed)
        self._start(self.turned_entry, DIAMETERS, self._turned_changed)
        self.pushed_bar.on_change(self._push_changed)
        self.division.on_change(self._push_changed)

    def _typed(self, field, name: str, usual: str) -> Typed:
        box = Typed(field, self.readings.of(self.step).get(name, usual))
        box.on_change(lambda: self._keep(name, box.text))
        return box

    def _turned_sheet(self, kept: dict[str, str]) -> Sheet:
        ways = {way: way for way in HOLDINGS}
        materials = {name: name for name in BENDS_LIKE}
        boxes = {name: Typed(field, kept.get(f"turned_{name}", "")) for name, field in TURNED.items()}
        rows = {
            "holding": Choice("How it was held", ways, chosen=kept.get("turned_holding", "")),
            "material": Choice("Material", materials, chosen=kept.get("turned_material", "mild steel")),
        }
        return Sheet(
            rows | boxes,
            work_out=self._as_turned,
            tell=lambda work: [f"Force across the work, from the cut: {work.force_n:.0f} N."],
            keep=self._turned_row_changed,
        )

    def _entry(self, label: str, columns: tuple[str, ...], example: str, help_words: str) -> Entry:
        return Entry(
            label,
            reader=partial(read_columns, columns=columns, example=example),
            describe=lambda rows: f"{len(rows)} readings understood.",
            example=example,
            accept=".csv,.txt,.tsv",
            help_words=help_words,
        )

    def _start(self, entry: Entry, name: str, changed) -> None:
        entry.on_change(changed)
        entry.box.value = self.readings.of(self.step).get(name, "")
        entry.box.observe(lambda change: self._keep(name, change["new"].strip()), "value")

    def _keep(self, name: str, text: str) -> None:
        self.readings.keep(self.step, name, text)

    def _push_changed(self) -> None:
        try:
            self.analyse_push(self.push_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.pushed = None
        self.turned_sheet.refresh()
        self._turned_changed()

    def _turned_row_changed(self, name: str, text: str) -> None:
        self._keep(f"turned_{name}", text)
        self.turned_sheet.refresh()
        self._turned_changed()

    def _turned_changed(self) -> None:
        try:
            self.analyse_turned(self.turned_entry.readings)
        except MachinelabError:
            self.turned = None

    @property
    def grip(self) -> Grip:
        """The chuck as it was pushed, or a stiff one."""
        return self.pushed.grip if self.pushed else RIGID

    @property
    def top_rpm(self) -> float | None:
        """The fastest that the spindle may turn."""
        return self.machine.highest_spindle_speed_rpm

    @property
    def work(self) -> SlenderWork:
        """The bar that was turned, as it was held; until then a usual one."""
        turned = self.turned_sheet.result or replace(USUAL_WORK, lengths=self.lengths)
        # Where there was no steady rest, one that is tried starts near the place where it helps the most.
        steady_mm = turned.steady_mm or STEADY_SHARE * turned.length_mm
        return replace(turned, grip=self.grip, steady_mm=steady_mm)

    def analyse_push(self, rows) -> PushResult:
        """Tell how stiff the chuck is."""
        if rows is None:
            raise MachinelabError("There are no readings yet.")
        self.pushed = judge_push(
            rows,
            bar_mm=float(self.pushed_bar.value or 25),
            reading_sd_mm=float(reading_sd_mm(float(self.division.value or 0.002))),
            lengths=self.lengths,
        )
        return self.pushed

    def _setting(self, **typed) -> SteadySetting:
        numbers = {name: float(value) for name, value in typed.items()}
        return SteadySetting(elasticity_n_mm2=STEEL_N_MM2, lengths=self.lengths, **numbers)

    def _as_turned(self, *, doubt_mm, holding, material, **typed) -> SlenderWork:
        numbers = {name: float(value) for name, value in typed.items()}
        known = {"steady_n_mm": USUAL_STEADY_N_MM, "typed_force_n": 0.0}
        known |= {"grip": self.grip, "lengths": self.lengths}
        work = SlenderWork(holding=holding, material=material, **numbers, **known)
        if work.has_steady and not 0 < work.steady_mm < work.length_mm:
            raise RangeError("Say where the steady rest stood, between the chuck and the end of the bar.")
        return work

    def analyse_turned(self, rows) -> TurnedBar:
        """Compare a turned bar with its prediction."""
        if rows is None:
            raise MachinelabError("There are no readings yet.")
        work, doubt = self.turned_sheet.result, self.turned_sheet.values["doubt_mm"]
        if work is None:
            raise RangeError("Fill in the sheet of the turned bar first: how it was held and cut.")
        self.turned = judge_turned(rows, work=replace(work, grip=self.grip), uncertainty_mm=float(doubt))
        return self.turned
