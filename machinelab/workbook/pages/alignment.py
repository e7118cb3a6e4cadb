"""Page 12: whether the machine turns parallel and round, what is in the way, and which way to move it."""

from dataclasses import replace
from functools import partial
from typing import ClassVar

import pandas as pd

from machinelab.accuracy.alignment import AlignmentTest, between_centres, in_the_chuck, level_across
from machinelab.accuracy.collars import stiff_enough_bar_mm
from machinelab.accuracy.indicator import reading_sd_mm
from machinelab.errors import MachinelabError
from machinelab.units import Field
from machinelab.workbook.alignment_results import (
    PPM_PER_MM_M,
    AlignmentResult,
    FaceResult,
    RunoutResult,
    bar_in_spindle,
    collars_in_chuck,
    judge_alignment,
    judge_face,
    judge_runout,
)
from machinelab.workbook.figures.alignment import AxisFromAbove, RunoutRound
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.collars import CollarBar
from machinelab.workbook.pages.alignment_fields import (
    BAR,
    CENTRES,
    CHUCK,
    DIAL,
    FACE,
    FOOT_BASE,
    GUESS,
    LEVEL,
)
from machinelab.workbook.pages.page import Page, Said, for_post, listed
from machinelab.workbook.panels.alignment import FINISHING_N, collar_panel, view_collars
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Notes, Paragraph, Post, calculation
from machinelab.workbook.shop_lengths import ShopLengths
from machinelab.workbook.typed_table import OTHER_UNITS, read_columns
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.worked import Working, worked

# Where the machine file sets no limit: 0.02 mm in 300 mm is usual; common practice, no source.
USUAL_TAPER_SHARE = 0.02 / 300
# A test bar that fits most small lathes; it only starts the sliders.
USUAL_BAR_MM, USUAL_DISTANCE_MM = 25.0, 150.0
USUAL_BASE_MM = 120.0
USUAL_CENTRE_HEIGHT_MM = 100.0
RUNOUT, DIVISION, BASE = "runout", "division", "foot_base"
NOT_TESTED = Said("No test has been made yet: fill in a sheet at *Measure*, then run the cells below it.")
NO_RUNOUT = Said("No run-out has been read yet: see *Measure*.")


class AlignmentPage(Page):
    """Parallel and round: the causes of a taper told apart, a run-out taken apart."""

    step: ClassVar[str] = "12"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(replace(GUESS, name=f"Taper in {self.lengths.stretch}, by feel"))
        self.foot_base = Typed(FOOT_BASE, self.readings.of(self.step).get(BASE, f"{USUAL_BASE_MM:g} mm"))
        self.foot_base.on_change(lambda: self.readings.keep(self.step, BASE, self.foot_base.text))
        self.chuck_sheet = self._sheet("chuck", CHUCK, self._chuck_test)
        self.bar_sheet = self._sheet("bar", BAR, self._bar_test)
        self.centres_sheet = self._sheet("centres", CENTRES, self._centres_test)
        self.level_sheet = self._sheet("level", LEVEL, self._level_test)
        self.face_sheet = self._sheet(
            "face", FACE, partial(judge_face, lengths=self.lengths), tell=_told_of_face
        )
        self.division = Typed(DIAL, self.readings.of(self.step).get(DIVISION, "0.01 mm"))
        self.runout_entry = Entry(
            "Angle and reading",
            reader=partial(read_columns, columns=("angle degrees", "dial mm"), example="30 0.012"),
            describe=lambda rows: f"{len(rows)} readings understood.",
            example="0 0.020\n30 0.025\n60 0.018",
            accept=".csv,.txt,.tsv",
            help_words="Degrees and mm; twelve places round the turn are best. More: it stands out. "
            + OTHER_UNITS.format("deg thou"),
        )
        self.runout: RunoutResult | None = None
        self._start_runout()

    def _start_runout(self) -> None:
        self.runout_entry.on_change(self._runout_changed)
        self.runout_entry.box.value = self.readings.of(self.step).get(RUNOUT, "")
        self.runout_entry.box.observe(self._keep_runout, "value")
        self.division.on_change(self._division_changed)

    def _keep_runout(self, change) -> None:
        self.readings.keep(self.step, RUNOUT, change["new"].strip())

    def _division_changed(self) -> None:
        self.readings.keep(self.step, DIVISION, self.division.text)
        self._runout_changed()

    def _runout_changed(self) -> None:
        try:
            self.analyse_runout(self.runout_entry.readings)
        except MachinelabError:
            # The bench tells what is wrong, beside its box.
            self.runout = None

    @property
    def centre_height_mm(self) -> float:
        """Half the swing, or a usual height."""
        swing = self.machine.lathe.swing_mm
        return swing / 2 if swing else USUAL_CENTRE_HEIGHT_MM

    @property
    def base_mm(self) -> float:
        """Distance of the headstock's feet."""
        return float(self.foot_base.value or USUAL_BASE_MM)

    @property
    def taper_share(self) -> float:
        """Taper that the owner allows, or a usual one, as a share of the length."""
        limit = self.machine.target.taper_ppm
        return USUAL_TAPER_SHARE if limit is None else limit * 1e-6

    @property
    def working(self) -> Working:
        """The thinnest test bar that tells the truth, with the numbers in place."""
        return worked(
            stiff_enough_bar_mm,
            cutting_force_n=FINISHING_N,
            far_mm=USUAL_DISTANCE_MM,
            taper_tolerance_mm=self.taper_share * USUAL_DISTANCE_MM,
        )

    @property
    def picture(self) -> Picture:
        """What a test bar fakes by bending, beside the taper that is allowed."""
        return CollarBar.draw(self._collar_view())

    def _collar_view(self):
        return view_collars(
            bar_mm=USUAL_BAR_MM,
            distance_mm=USUAL_DISTANCE_MM,
            force_n=FINISHING_N,
            taper_share=self.taper_share,
            foot_base_mm=self.base_mm,
            lengths=self.lengths,
        )

    @property
    def panel(self):
        """The same with bar, distance and force to move."""
        return collar_panel(
            bar_mm=USUAL_BAR_MM,
            distance_mm=USUAL_DISTANCE_MM,
            taper_share=self.taper_share,
            foot_base_mm=self.base_mm,
            lengths=self.lengths,
        )

    def _sheet(self, name: str, fields: dict[str, Field], work_out, *, tell=None) -> Sheet:
        kept = self.readings.of(self.step)
        return Sheet(
            {key: Typed(field, kept.get(f"{name}_{key}", "")) for key, field in fields.items()},
            work_out=work_out,
            tell=tell or partial(_told_of_test, lengths=self.lengths),
            keep=lambda key, text: self.readings.keep(self.step, f"{name}_{key}", text),
        )

    def _chuck_test(self, **typed):
        pair = collars_in_chuck(**typed)
        return in_the_chuck(
            pair.taper_mm,
            pair.taper_sd_mm,
            collar_distance_mm=pair.collar_distance_mm,
            centre_height_mm=self.centre_height_mm,
        )

    def _bar_test(self, **typed):
        pair = bar_in_spindle(**typed)
        test = in_the_chuck(
            pair.taper_mm,
            pair.taper_sd_mm,
            collar_distance_mm=pair.collar_distance_mm,
            centre_height_mm=self.centre_height_mm,
        )
        return replace(test, name="test bar, as collars would show it")

    def _centres_test(self, *, far_mm, near_mm, distance_mm, centres_mm, doubt_mm):
        return between_centres(
            float(far_mm - near_mm),
            float(doubt_mm) / 2 * 2**0.5,
            collar_distance_mm=float(distance_mm),
            between_centres_mm=float(centres_mm),
            centre_height_mm=self.centre_height_mm,
        )

    def _level_test(self, *, far_ppm, near_ppm, distance_mm, doubt_ppm):
        return level_across(
            float(far_ppm - near_ppm) / PPM_PER_MM_M,
            float(doubt_ppm) / 2 * 2**0.5 / PPM_PER_MM_M,
            station_distance_mm=float(distance_mm),
        )

    @property
    def alignment(self) -> AlignmentResult | None:
        """The tests made so far, told apart; None before the first."""
        sheets = (self.chuck_sheet, self.bar_sheet, self.level_sheet, self.centres_sheet)
        tests = [sheet.result for sheet in sheets if sheet.result is not None]
        return judge_alignment(tests, foot_base_mm=self.base_mm, lengths=self.lengths) if tests else None

    def analyse_runout(self, rows) -> RunoutResult:
        """Take a run-out apart."""
        if rows is None:
            raise MachinelabError("There are no readings yet.")
        self.runout = judge_runout(
            rows,
            reading_sd_mm=float(reading_sd_mm(float(self.division.value or 0.01))),
            limit_mm=self.machine.target.runout_mm,
            lengths=self.lengths,
        )
        return self.runout

    @property
    def bench(self) -> CoastBench:
        """Where the readings round the turn come in."""
        return CoastBench(
            self.runout_entry, analyse=self.analyse_runout, tell=_told_of_runout, chart=RunoutRound
        )

    @property
    def alignment_picture(self) -> Picture | Said:
        """The axis and the tailstock seen from above."""
        return AxisFromAbove.draw(self.alignment) if self.alignment else NOT_TESTED

    @property
    def runout_picture(self) -> Picture | Said:
        """The readings round the turn."""
        return RunoutRound.draw(self.runout) if self.runout else NO_RUNOUT

    @property
    def causes(self) -> pd.DataFrame | Said:
        """Each cause with its interval, or the word that it is not told yet."""
        if self.alignment is None:
            return NOT_TESTED
        found, lengths = self.alignment.causes, self.lengths
        rows = [
            ("bed twist", found.bed_twist_mm_m2, lengths.twist.estimate),
            ("headstock, from above", found.headstock_mm_m, lengths.lean.estimate),
            ("tailstock, from above", found.tailstock_mm, partial(lengths.estimate, places=3)),
        ]
        told = [(name, "not told yet" if one is None else tell(one)) for name, one, tell in rows]
        return pd.DataFrame(told, columns=["", "found, 95 %"]).set_index("").rename_axis(None)

    @property
    def compared(self) -> pd.DataFrame | Said:
        """The reader's guess and what the collars showed, over 300 mm."""
        test, told = self.chuck_sheet.result, self.lengths.told
        measured = "not measured yet"
        if test is not None:
            taper = test.reading / float(self.chuck_sheet.values["distance_mm"]) * self.lengths.over_mm
            measured = self.lengths.signed(taper, 3)
        rows = [
            ("your guess", self.guess.shown),
            ("you allow", told(self.taper_share * self.lengths.over_mm, 3)),
            ("measured, bending taken off", measured),
        ]
        return (
            pd.DataFrame(rows, columns=["", f"taper on the diameter in {self.lengths.stretch}"])
            .set_index("")
            .rename_axis(None)
        )

    @property
    def taper_verdict(self) -> Verdict | Said:
        """Whether the collars keep the owner's limit."""
        test = self.chuck_sheet.result
        if test is None:
            return NOT_TESTED
        over_m = float(self.chuck_sheet.values["distance_mm"]) / 1000
        limit = None if self.machine.target.taper_ppm is None else round(self.machine.target.taper_ppm, 1)
        taper_ppm = round(1000 * test.reading / over_m, 2)
        low = None if limit is None else -limit
        return verdict(taper_ppm, 2000 * test.reading_sd / over_m, low, limit, unit="ppm")

    @property
    def runout_verdict(self) -> Verdict | Said:
        """Whether the run-out keeps the owner's limit."""
        return self.runout.verdict() if self.runout else NO_RUNOUT

    @property
    def decision(self) -> Said:
        """What to move, which way and by how much, in the order in which to do it."""
        lines = []
        if self.alignment:
            lines += [_sentence(cure) for cure in self.alignment.cures] or [
                "No cause is proven; move nothing."
            ]
            lines += [_sentence(f"next test: {advice}") for advice in self.alignment.causes.ask_next]
            lines += [self.alignment.details] if self.alignment.causes.disagreement < 0.05 else []
            lines.append(
                "After each change turn fresh collars: the taper must shrink. If it has doubled, the change "
                "went the wrong way."
            )
        if self.runout:
            lines.append(self.runout.advice)
        if self.face_sheet.result:
            lines += _told_of_face(self.face_sheet.result)
        return listed(lines) if lines else NOT_TESTED

    def record_line(self) -> dict | None:
        """The taper of the collars, or the run-out where there are no collars."""
        if self.chuck_sheet.result is not None:
            return self._taper_line()
        return self._runout_line() if self.runout else None

    def _taper_line(self) -> dict:
        test = self.chuck_sheet.result
        over_m = float(self.chuck_sheet.values["distance_mm"]) / 1000
        limit = self.machine.target.taper_ppm
        return {
            "step": self.step,
            "quantity": "taper of collars in the chuck",
            "value": round(1000 * test.reading / over_m, 2),
            "uncertainty": 2000 * test.reading_sd / over_m,
            "unit": "ppm",
            "lower": None if limit is None else -round(limit, 1),
            "upper": None if limit is None else round(limit, 1),
            "where_from": self._why("taper") if limit else "",
            "conditions": {"run-out": self.runout.headline if self.runout else "not read"},
            "instrument": {"name": "micrometer", "U_from": "its doubt at both collars"},
        }

    def _runout_line(self) -> dict:
        return {
            "step": self.step,
            "quantity": "run-out, total",
            "value": round(self.runout.found.total_mm, 5),
            "uncertainty": self.runout.uncertainty_mm,
            "unit": "mm",
            "lower": None,
            "upper": self.runout.limit_mm,
            "where_from": self._why("runout") if self.runout.limit_mm else "",
            "conditions": {"off centre": self.lengths.estimate(self.runout.found.eccentricity_mm, 3)},
            "instrument": {"name": "dial indicator", "U_from": "its division, two readings"},
        }

    def _why(self, name: str) -> str:
        return f"own choice: {self.machine.target.why.get(name, 'no reason given')}"

    def post(self) -> Post | None:
        """Causes, cures and run-out with their pictures."""
        if self.alignment is None and self.runout is None:
            return None
        shown = [one for one in (self.alignment_picture, self.runout_picture) if isinstance(one, Picture)]
        lines = self.decision.text.replace("- ", "", 1).split("\n- ")
        return Post(
            f"Alignment and run-out of {self.machine.name}",
            (
                Paragraph(" ".join(one.headline for one in (self.alignment, self.runout) if one)),
                calculation(
                    self.working,
                    meaning="Collars of a thinner bar would lie.",
                    assumptions=(
                        f"{FINISHING_N:g} N across the bar, a light finishing cut (common practice, no "
                        "source)",
                        "a solid steel bar in a chuck that does not give",
                    ),
                ),
                Notes(tuple(lines), "What to do"),
                *for_post(*shown),
            ),
        )


def _told_of_test(test: AlignmentTest, *, lengths: ShopLengths) -> list[str]:
    is_slope = test.name.startswith("level")
    signed = lengths.lean.signed if is_slope else partial(lengths.signed, places=4)
    doubt = signed(2 * test.reading_sd).lstrip("+")
    return [_sentence(f"{test.name}: {signed(test.reading)} +/- {doubt} (k=2)")]


def _told_of_face(face: FaceResult) -> list[str]:
    return [face.told, f"The face: {face.verdict()}"]


def _told_of_runout(found: RunoutResult) -> list[str]:
    return [found.headline, str(found.verdict()), found.advice]


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:] + ("" if words.endswith(".") else ".")
