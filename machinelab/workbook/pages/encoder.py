"""Page 04, the encoder: whether every edge is counted at every speed, and none is lost on the way."""

from dataclasses import dataclass
from fractions import Fraction
from math import pi, sqrt
from typing import ClassVar

import pandas as pd

from machinelab.errors import RangeError
from machinelab.spindle.encoder import counts_per_spindle_turn, edge_rate_hz
from machinelab.spindle.encoder_faults import index_use
from machinelab.spindle.turn_test import TurnTest, turn_test
from machinelab.units import Field, show
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.encoder import EncoderLimits
from machinelab.workbook.pages.page import Page, Said, for_post, once_known
from machinelab.workbook.panels.encoder import EncoderChoice, EncoderFit, choose_encoder, encoder_panel
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, verdict
from machinelab.worked import Working, worked

# A microsecond clock, as small controllers have; common practice, no source.
USUAL_CLOCK_HZ = 1e6
USUAL_GATE_S = 0.1
ALLOWED_COUNT = 1
FRICTION_DRIVES = ("round belt", "V belt", "friction")

GUESS = Field(
    name="Edges in one turn of the spindle",
    kind="edges",
    low="1 edge",
    high="1000000 edges",
    example="2400 edges",
    help="Both channels, rising and falling, belt included.",
)
TURNS = Field(
    name="Turns each way",
    kind="turns",
    low="5 turns",
    high="1000 turns",
    example="100 turns",
    help="By hand, at uneven speeds, forward and then back to the same mark.",
)
FORWARD = Field(
    name="Count after going forward",
    kind="count",
    low="-100000000",
    high="100000000",
    example="270000",
    help="The counter was set to nought at the mark before.",
)
BACK = Field(
    name="Count when back at the mark",
    kind="count",
    low="-100000000",
    high="100000000",
    example="0",
    help="As many turns back, stopped at the same mark.",
)
RADIUS = Field(
    name="Where the indicator touches",
    kind="length",
    low="5 mm",
    high="1 m",
    example="60 mm",
    help="How far from the middle of the spindle its tip rests on the flank of a jaw.",
)
DOUBT = Field(
    name="How well the mark is found again",
    kind="length",
    above_zero=True,
    high="10 mm",
    example="0.02 mm",
    help="A dial indicator on the flank of one jaw finds it to some hundredths; a pencil line does not.",
)
NOT_TESTED = Said(
    "The turns have not been made yet. Fill in the sheet at *Measure*, then run the cells below it."
)


@dataclass(frozen=True)
class CountTrial:
    """The turn test with what the mark itself is worth in counts."""

    test: TurnTest
    turns: int
    worst_count: float
    uncertainty_count: float


class EncoderPage(Page):
    """The encoder of the chosen machine: rates and limits, what if, and the turns made by hand."""

    step: ClassVar[str] = "04"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        self.guess = self.guess_box(GUESS)
        self.sheet = self._new_sheet() if not self.still_needed else None

    @property
    def fit(self) -> EncoderFit:
        """The encoder as it sits on the machine, in plain numbers."""
        known = self.machine.encoder
        spindle_teeth, encoder_teeth = known.teeth
        return EncoderFit(
            lines=known.lines,
            spindle_teeth=spindle_teeth,
            encoder_teeth=encoder_teeth,
            top_speed_rpm=self.machine.highest_spindle_speed_rpm,
            channel_limit_hz=known.highest_channel_hz or float("nan"),
            counter_limit_hz=known.highest_edge_hz or float("nan"),
            clock_hz=USUAL_CLOCK_HZ,
        )

    @once_known
    def counts(self) -> Working | Said:
        """Edges for one turn of the spindle, with the numbers in place."""
        spindle_teeth, encoder_teeth = self.machine.encoder.teeth
        return worked(
            counts_per_spindle_turn,
            lines=self.machine.encoder.lines,
            spindle_teeth=spindle_teeth,
            encoder_teeth=encoder_teeth,
        )

    @once_known
    def rate(self) -> Working | Said:
        """Edges each second at the highest speed, with the numbers in place."""
        return worked(
            edge_rate_hz,
            speed_rpm=self.machine.highest_spindle_speed_rpm,
            counts_per_spindle_turn=self.machine.counts_per_spindle_turn,
        )

    @once_known
    def choice(self) -> EncoderChoice | Said:
        """The machine as built, worked out."""
        fit = self.fit
        return choose_encoder(
            fit,
            lines=fit.lines,
            encoder_teeth=fit.encoder_teeth,
            top_speed_rpm=fit.top_speed_rpm,
            gate_s=USUAL_GATE_S,
        )

    @once_known
    def picture(self) -> Picture | Said:
        """Rates and resolution of the machine as built."""
        return EncoderLimits.draw(self.choice())

    @once_known
    def panel(self):
        """The same with lines, pulley, top speed and gate to move."""
        return encoder_panel(self.fit, gate_s=USUAL_GATE_S)

    @once_known
    def limits_table(self) -> pd.DataFrame:
        """What must keep up, and up to which spindle speed it does."""
        choice = self.choice()
        counts = float(choice.counts)
        rows = [
            (limit.words, show(limit.edge_rate_hz, "Hz"), f"{60 * limit.edge_rate_hz / counts:.0f} rpm")
            for limit in choice.limits
        ]
        rows.append(
            (
                "needed at the highest speed",
                show(choice.top_edge_rate_hz, "Hz"),
                f"{choice.top_speed_rpm:.0f} rpm",
            )
        )
        return (
            pd.DataFrame(rows, columns=["what", "edges each second", "at"])
            .set_index("what")
            .rename_axis(None)
        )

    @once_known
    def index(self) -> Said:
        """Whether the encoder's index pulse may start a thread."""
        ratio = self.machine.encoder_turns_per_spindle_turn
        use = index_use(ratio)
        if use.usable and use.turns_between == 1:
            return Said("The index pulse marks one angle of the spindle: it may start a thread.")
        return Said(
            f"The encoder turns {show(ratio, '1')} times for one turn of the spindle. Its index pulse marks "
            f"a given angle of the spindle only every {use.turns_between} turns and comes at "
            f"{use.index_angles} different angles. Do not start threads by it; the counts never mind."
        )

    @once_known
    def drive(self) -> Said:
        """What the way of driving the encoder means for a thread."""
        drive = self.machine.encoder.drive
        if drive in FRICTION_DRIVES:
            return Said(
                f"**A {drive} must not drive the encoder.** It creeps by some thousandths of a turn for "
                "every turn, more under load, so the way back does not undo it and every pass starts "
                "somewhere else. Fit a toothed belt, gears, or the encoder straight on the spindle."
            )
        if drive is None:
            return Said("The machine file does not say what drives the encoder; nothing that slips will do.")
        how = "sits straight on the spindle" if drive == "direct" else f"is driven by {drive}"
        return Said(f"The encoder {how}: that cannot slip, so counts and turns stay together.")

    def _new_sheet(self) -> Sheet:
        kept = self.readings.of(self.step)
        fields = {"turns": TURNS, "forward": FORWARD, "back": BACK, "radius_mm": RADIUS, "doubt_mm": DOUBT}
        return Sheet(
            {name: Typed(field, kept.get(name, "")) for name, field in fields.items()},
            work_out=self.count_trial,
            tell=lambda trial: [_told(trial), str(_judged(trial))],
            keep=lambda name, text: self.readings.keep(self.step, name, text),
        )

    def count_trial(
        self, *, turns: Fraction, forward: Fraction, back: Fraction, radius_mm: Fraction, doubt_mm: Fraction
    ) -> CountTrial:
        """Work out what the turns by hand tell of the counts."""
        if turns.denominator != 1:
            raise RangeError(f"{float(turns):g} turns: make whole turns, from the mark to the same mark.")
        counts = self.machine.counts_per_spindle_turn
        test = turn_test(
            int(forward),
            int(back),
            counts_per_spindle_turn=counts,
            encoder_turns_per_spindle_turn=self.machine.encoder_turns_per_spindle_turn,
            turns=int(turns),
            allowed_count=ALLOWED_COUNT,
        )
        # The mark is found twice, at the start and at the end, so its doubt comes in twice (root of squares).
        doubt = sqrt(2) * float(doubt_mm / radius_mm) / (2 * pi) * float(counts)
        worst = max(test.forward_error_count, test.return_error_count, key=abs)
        return CountTrial(test, int(turns), float(worst), doubt)

    @property
    def trial(self) -> CountTrial | None:
        """What the turns told; None while the sheet is not filled in."""
        return self.sheet.result if self.sheet else None

    @once_known
    def tested(self) -> Said:
        """The turn test in words."""
        return Said(_told(self.trial)) if self.trial else NOT_TESTED

    @once_known
    def verdict(self) -> Verdict | Said:
        """Whether a count was lost."""
        return _judged(self.trial) if self.trial else NOT_TESTED

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the calculation and the measurement side by side."""
        counts = self.machine.counts_per_spindle_turn
        measured = "not measured yet"
        if self.trial:
            forward = self.trial.test.expected_count + self.trial.test.forward_error_count
            measured = f"{float(forward / self.trial.turns):.10g} edges"
        rows = [
            ("your guess", self.guess.shown),
            ("computed", f"{show(counts, '1')} edges"),
            ("counted", measured),
        ]
        return (
            pd.DataFrame(rows, columns=["", "edges in one turn of the spindle"])
            .set_index("")
            .rename_axis(None)
        )

    @once_known
    def decision(self) -> Said:
        """What the figures mean for this machine."""
        choice = self.choice()
        lines = [choice.headline]
        if choice.keeps_up is False:
            lines.append(
                "Until that is changed, hold the spindle below that speed while a thread is cut. In order: a "
                "faster counter, a larger pulley on the encoder, an encoder with fewer lines."
            )
        if choice.keeps_up is None:
            lines.append("Look the limits up in the data sheets and enter them on *01 machine as built*.")
        if self.trial:
            judged = _judged(self.trial)
            if judged.word == "MET":
                lines.append("No count is lost: threads may be started from the count alone.")
            else:
                lines.append(f"The turns by hand say: {self.trial.test.meaning}. Cut no thread before.")
        else:
            lines.append("The turns by hand are still to be made; cut no thread before.")
        return Said("\n".join(f"- {line}" for line in lines))

    def record_line(self) -> dict | None:
        """The turn test, as the record takes it."""
        if self.trial is None:
            return None
        return {
            "step": self.step,
            "quantity": f"counts lost in {self.trial.turns} turns by hand each way",
            "value": self.trial.worst_count,
            "uncertainty": self.trial.uncertainty_count,
            "unit": "counts",
            "predicted": 0.0,
            "formula": "turns there and back by the same way",
            "lower": -ALLOWED_COUNT,
            "upper": ALLOWED_COUNT,
            "where_from": "own choice: a lost count shifts every later pass",
            "instrument": {"name": "the machine's own counter, mark set by dial indicator"},
        }

    def post(self) -> Post | None:
        """Counts, rate, limits, the turns by hand and the verdict."""
        if self.still_needed:
            return None
        limits = self.limits_table().reset_index(names="what")
        trial = (Paragraph(f"{_told(self.trial)} {_judged(self.trial)}"),) if self.trial else ()
        picture = self.picture()
        return Post(
            f"Spindle encoder of {self.machine.name}",
            (
                Paragraph(self.choice().headline),
                calculation(
                    self.counts(),
                    meaning="As fine as the controller can tell where the spindle stands.",
                    assumptions=(
                        "lines and teeth as the machine file has them",
                        "a belt that jumps no tooth",
                    ),
                ),
                calculation(
                    self.rate(),
                    meaning="What encoder, receiver and counter must keep up with.",
                    assumptions=("edges that are evenly spaced; uneven ones come closer together",),
                ),
                Table(tuple(limits.columns), tuple(map(tuple, limits.to_numpy())), "Limits"),
                *trial,
                *for_post(picture),
            ),
        )


def _judged(trial: CountTrial) -> Verdict:
    return verdict(trial.worst_count, trial.uncertainty_count, -ALLOWED_COUNT, ALLOWED_COUNT, unit="counts")


def _told(trial: CountTrial) -> str:
    test = trial.test
    return (
        f"{trial.turns} turns should give {float(test.expected_count):.10g} counts. Going forward "
        f"{float(test.forward_error_count):+g}, back at the mark {test.return_error_count:+g}: "
        f"{test.meaning}. Finding the mark again is worth {trial.uncertainty_count:.2g} counts."
    )
