"""Page 02, the readings and questions of the electrics: bond, insulation, what is left on the capacitors."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

import pandas as pd

from machinelab.controls.electrical_limits import check_points, electrical_limit
from machinelab.controls.isolation import open_points, taken_as_live
from machinelab.units import Field
from machinelab.workbook.pages.page import Page, Said, listed
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.verdict import Verdict, verdict

ANSWERS = {"not known": None, "yes": True, "no": False}
LISTS = {
    "emergency_stop": "Emergency stop",
    "isolation": "What stands between the mains and your hand",
    "noise": "Cables",
}
MOHM = 1e6
NOT_READ = Said("No reading yet: fill in a sheet above, then run this cell again.")


@dataclass(frozen=True)
class Reading:
    """One kind of reading: what is asked for, the limit, and on which side of it is good."""

    title: str
    value: Field
    doubt: Field
    limit: str
    unit: str
    scale: float
    at_most: bool

    def judged(self, value, doubt) -> Verdict:
        """Whether a reading keeps the limit with its whole uncertainty inside."""
        allowed = electrical_limit(self.limit).limit_value
        ends = (None, allowed) if self.at_most else (allowed, None)
        return verdict(float(value) / self.scale, float(doubt) / self.scale, *ends, unit=self.unit)


def _doubt(kind: str, high: str, example: str) -> Field:
    return Field(
        name="Doubt of the meter there",
        kind=kind,
        above_zero=True,
        high=high,
        example=example,
        help="How far off it may be at this reading, from its sheet; at least half the last digit.",
    )


READINGS = {
    "bond": Reading(
        "Earth bond, the worst metal part",
        Field(
            name="From that part to the protective earth",
            kind="resistance",
            low="0 ohm",
            high="1000 ohm",
            example="0.05 ohm",
            help="Plug out. Leads subtracted; an ohmmeter that shows 0.00 cannot see a tenth.",
        ),
        _doubt("resistance", "100 ohm", "0.01 ohm"),
        "bond",
        "ohm",
        1.0,
        True,
    ),
    "insulation": Reading(
        "Insulation at 500 V, lines joined against earth",
        Field(
            name="Insulation",
            kind="resistance",
            low="0 ohm",
            high="100000 Mohm",
            example="50 Mohm",
            help="Plug out, electronics disconnected, others warned; discharge afterwards.",
        ),
        _doubt("resistance", "100000 Mohm", "3 Mohm"),
        "insulation",
        "Mohm",
        MOHM,
        False,
    ),
    "left": Reading(
        "Voltage on the capacitors, five seconds after the plug is out",
        Field(
            name="Voltage that is left",
            kind="voltage",
            low="0 V",
            high="1000 V",
            example="52 V",
            help="Meter clipped on beforehand, one hand in the pocket, spindle standing.",
        ),
        _doubt("voltage", "100 V", "1 V"),
        "residual voltage",
        "V",
        1.0,
        True,
    ),
}


class ElectricalPage(Page):
    """The electrical readings of the dead machine and the questions that go with them."""

    step: ClassVar[str] = "02"

    def __init__(self, machine, problem=""):
        super().__init__(machine, problem)
        kept = self.readings.of(self.step)
        self.sheets = {name: self._sheet(name, reading, kept) for name, reading in READINGS.items()}
        self.answers = {
            key: {
                point.point: Choice(
                    f"{point.point}: is it so here?",
                    ANSWERS,
                    chosen=kept.get(point.point, ""),
                    asks=point.asked,
                    help_words=f"({point.source}.)",
                )
                for point in check_points(key)
            }
            for key in LISTS
        }
        for choices in self.answers.values():
            for point, choice in choices.items():
                choice.on_change(partial(self._answered, point, choice))

    def _sheet(self, name: str, reading: Reading, kept: dict[str, str]) -> Sheet:
        return Sheet(
            {
                "value": Typed(reading.value, kept.get(f"{name}_value", "")),
                "doubt": Typed(reading.doubt, kept.get(f"{name}_doubt", "")),
            },
            work_out=reading.judged,
            tell=lambda judged: [str(judged)],
            keep=lambda row, text: self.readings.keep(self.step, f"{name}_{row}", text),
        )

    def _answered(self, point: str, choice: Choice) -> None:
        self.readings.keep(self.step, point, choice.text)

    @property
    def still_needed(self) -> None:
        """Nothing: the readings are the same on every machine."""
        return None

    @property
    def bond(self) -> Sheet:
        """The earth bond."""
        return self.sheets["bond"]

    @property
    def insulation(self) -> Sheet:
        """The insulation."""
        return self.sheets["insulation"]

    @property
    def left(self) -> Sheet:
        """What is left on the capacitors."""
        return self.sheets["left"]

    @property
    def read(self) -> pd.DataFrame | Said:
        """Every reading with its limit, where that is from, and the verdict."""
        rows = [
            (READINGS[name].title, str(sheet.result), electrical_limit(READINGS[name].limit).source)
            for name, sheet in self.sheets.items()
            if sheet.result is not None
        ]
        if not rows:
            return NOT_READ
        return pd.DataFrame(rows, columns=["", "verdict", "limit from"]).set_index("").rename_axis(None)

    def questions(self, check_list: str) -> Sheet:
        """A list to go through, and what stays open on it."""
        return Sheet(
            self.answers[check_list],
            work_out=lambda **answers: open_points(check_list, answers),
            tell=lambda points: [f"{len(points)} of {len(self.answers[check_list])} points are open."],
            keep=lambda point, text: self.readings.keep(self.step, point, text),
        )

    @property
    def still_open(self) -> Said:
        """What is still to be done, by the questions."""
        return listed(self._open_lines())

    def _open_lines(self) -> Iterator[str]:
        isolation = {point: choice.value for point, choice in self.answers["isolation"].items()}
        if taken_as_live(isolation):
            yield (
                "**Take every knob, switch, meter lead and heat sink of the drive board as live**: that it "
                "is isolated from the mains is not known."
            )
        for key, title in LISTS.items():
            answers = {point: choice.value for point, choice in self.answers[key].items()}
            still = open_points(key, answers)
            numbers = ", ".join(one.point for one in still) or "none"
            yield f"{title}: open points {numbers}."
            yield from (f"{one.point}: {one.otherwise}" for one in still if one.otherwise)
