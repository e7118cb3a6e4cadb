"""Page 05, the moment of inertia: by a disc, by the brake, and whether the two and the machine file agree."""

from dataclasses import replace
from typing import ClassVar

import pandas as pd

from machinelab.errors import MachinelabError, RangeError
from machinelab.spindle.brake_circuit import inertia_from_braking_kg_m2, spindle_emf_v_s_per_rad
from machinelab.spindle.inertia import inertia_from_drag_ratio_kg_m2, ring_inertia_kg_m2
from machinelab.workbook import speed_log
from machinelab.workbook.drive_numbers import USUAL_BRUSH_DROP_V
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.inertia import InertiaRoutes
from machinelab.workbook.inertia_routes import (
    BRAKE,
    DISC,
    InertiaFound,
    Route,
    brake_route,
    disc_route,
)
from machinelab.workbook.machine_logs import BRAKED, every_log, logs_for
from machinelab.workbook.machine_logs import DISC as DISC_RUN
from machinelab.workbook.machine_runs import fit_free_run
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.page import Page, Said, for_post, listed
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.inertia_bench import BRAKE_BOXES, DISC_BOXES, InertiaBench
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.share import Paragraph, Post, Table, calculation
from machinelab.worked import Working, worked

# Common practice, no source: a disc from the lathe, a spindle that is warm, a motor and a resistor by hand.
USUAL_DOUBTS = {
    "disc_doubt": 0.01,
    "friction_scatter": 0.03,
    "emf_doubt": 0.03,
    "ohm_doubt": 0.05,
}
ASSUMED_OF = {
    DISC: ("friction that is the same with and without the disc", "the disc's own inertia as it was typed"),
    BRAKE: (
        "the drags of the run without the brake",
        "the motor's volts and ohms as the machine file has them",
    ),
}
CIRCUIT = ("motor.back_emf", "motor.armature_resistance", "motor_turns_per_spindle_turn", "brake.resistor")
NO_FREE_RUN = "A free run without the disc comes first: see *Measure* above."
NOTHING_YET = Said(
    "No second run has been read yet. It takes a run with a disc on the spindle, or a braked run of page "
    "*06 resistor brake*; until then the drags stay ratios, and the machine file's inertia is a guess."
)


class InertiaPage(Page):
    """The moment of inertia of the chosen machine, from a second run beside the free one.

    Parameters
    ----------
    machine, problem : Machine, str
        As for every page.
    coast : CoastDownPage or None
        The page whose free run this leans on; by default one of its own.
    """

    step: ClassVar[str] = "05"

    def __init__(self, machine, problem: str = "", coast: CoastDownPage | None = None):
        super().__init__(machine, problem)
        self.coast = coast or CoastDownPage(machine, problem)
        self.disc_entry = _entry("Run with the disc", "Time in seconds and rpm, as for the free run.")
        self.brake_entry = _entry(
            "Braked run", "Come back with it after page 06; best the encoder, twenty rows a second or more."
        )
        self.kept: dict[tuple[str, str], tuple] = {}
        self._start_with(DISC_RUN, self.disc_entry)
        self._start_with(BRAKED, self.brake_entry)
        kept = self.readings.of(self.step)
        self.boxes = {
            name: Typed(field, kept.get(name, "")) for name, field in (DISC_BOXES | BRAKE_BOXES).items()
        }
        for name, box in self.boxes.items():
            box.on_change(lambda name=name: self.readings.keep(self.step, name, self.boxes[name].text))

    @classmethod
    def beside(cls, coast: CoastDownPage) -> "InertiaPage":
        """The part on the inertia for a page that has the free run."""
        return cls(coast.machine, coast.problem, coast)

    def _start_with(self, purpose: str, entry: Entry) -> None:
        for file in logs_for(purpose, self.machine):
            try:
                entry.start_with(speed_log.read(file))
            except MachinelabError:
                continue
            return

    @property
    def still_needed(self) -> None:
        """What is missing is told beside the way that needs it."""
        return None

    def _share(self, name: str) -> float:
        value = self.boxes[name].value
        return USUAL_DOUBTS[name] if value is None else float(value) / 100

    @property
    def disc_inertia_kg_m2(self) -> float:
        """The disc's own inertia, as typed or from mass and diameters."""
        typed = {name: box.value for name, box in self.boxes.items()}
        if typed["disc_inertia"] is not None:
            return float(typed["disc_inertia"])
        if typed["disc_mass"] is None or typed["disc_outer"] is None:
            raise RangeError(
                "The disc: type its mass and its outside diameter, or its moment of inertia, so that the run "
                "with it can be used."
            )
        return float(
            ring_inertia_kg_m2(
                float(typed["disc_mass"]),
                outer_diameter_mm=float(typed["disc_outer"]),
                bore_diameter_mm=float(typed["disc_bore"] or 0),
            )
        )

    @property
    def circuit(self) -> dict[str, float]:
        """The loop of motor and resistor, as the machine file has it."""
        lacking = self.machine.missing(*CIRCUIT)
        if lacking:
            asked = ", ".join(f"{line.label} ({line.as_written} under {line.heading})" for line in lacking)
            raise RangeError(f"The machine file does not say yet: {asked}.")
        motor = self.machine.motor
        return {
            "spindle_emf_v_s_per_rad": spindle_emf_v_s_per_rad(
                motor.back_emf_v_s_per_rad,
                motor_turns_per_spindle_turn=self.machine.motor_turns_per_spindle_turn,
            ),
            "armature_resistance_ohm": motor.armature_resistance_ohm,
            "resistor_ohm": self.machine.brake.resistor_ohm,
            "brush_drop_v": USUAL_BRUSH_DROP_V if motor.brush_drop_v is None else motor.brush_drop_v,
        }

    def _pair(self) -> dict[tuple[str, str], tuple]:
        """The free run and the run with the disc that stand in their boxes now, by what tells them apart."""
        free, disc = self.coast.entry.readings, self.disc_entry.readings
        return {(free.sha256, disc.sha256): (self.coast.found, fit_free_run(disc, self.machine))}

    def keep_pair(self) -> str:
        """Keep this pair of runs beside the next ones; gives how many there are, in words."""
        if self.coast.found is None or self.disc_entry.readings is None:
            raise RangeError("There is no pair yet: a free run above and a run with the disc make one.")
        self.kept |= self._pair()
        count = len(self.kept)
        return (
            f"{count} pair{'s' if count > 1 else ''} kept. Now the next free run above and the next one here."
        )

    def _disc_route(self) -> Route:
        return disc_route(
            {**self.kept, **self._pair()}.values(),
            added_inertia_kg_m2=self.disc_inertia_kg_m2,
            added_doubt_share=self._share("disc_doubt"),
            friction_scatter_share=self._share("friction_scatter"),
        )

    def _brake_route(self) -> Route:
        log = self.brake_entry.readings
        if log.kind == "counts":
            log = replace(log, marks_per_turn=self.machine.counts_per_spindle_turn)
        return brake_route(
            self.coast.found,
            log,
            circuit=self.circuit,
            filed_lag_s=self.machine.meter.lag_s,
            emf_doubt_share=self._share("emf_doubt"),
            resistance_doubt_share=self._share("ohm_doubt"),
            friction_scatter_share=self._share("friction_scatter"),
        )

    def work_out(self) -> tuple[InertiaFound | None, list[str]]:
        """What the runs give, and in words what stands in the way of a run that was read."""
        ways = [
            (way, find)
            for way, entry, find in (
                (DISC, self.disc_entry, self._disc_route),
                (BRAKE, self.brake_entry, self._brake_route),
            )
            if entry.readings is not None
        ]
        if ways and self.coast.found is None:
            return None, [NO_FREE_RUN]
        routes, problems = [], []
        for way, find in ways:
            try:
                routes.append(find())
            except MachinelabError as slip:
                problems.append(f"Run {way}: {slip}")
        filed = self.machine.spindle.inertia_kg_m2
        return (InertiaFound(tuple(routes), filed, self.coast.found) if routes else None), problems

    @property
    def found(self) -> InertiaFound | None:
        """What the runs give; None while there is none that can be used."""
        return self.work_out()[0]

    @property
    def bench(self) -> InertiaBench:
        """Where the second run and the disc come in; the picture and the words follow at once."""
        logs = every_log(self.machine)
        bench = InertiaBench(
            self.disc_entry,
            self.brake_entry,
            files={
                "disc": [*logs_for(DISC_RUN, self.machine), *_others(logs, self.machine, DISC_RUN)],
                "brake": [*logs_for(BRAKED, self.machine), *_others(logs, self.machine, BRAKED)],
            },
            boxes=self.boxes,
            work_out=self.work_out,
            keep_pair=self.keep_pair,
        )
        self.coast.on_change(bench.refresh)
        return bench

    def _said(self, answer):
        """An answer from what was found, or why there is none."""
        found, problems = self.work_out()
        if found is not None:
            return answer(found)
        return listed(problems) if problems else NOTHING_YET

    @property
    def picture(self) -> Picture | Said:
        """Each way with its doubt, beside the machine file."""
        return self._said(InertiaRoutes.draw)

    @property
    def table(self) -> pd.DataFrame | Said:
        """The same as a table."""
        return self._said(InertiaFound.table)

    @property
    def friction(self) -> pd.DataFrame | Said:
        """The drags of the free run in newton metres."""
        return self._said(InertiaFound.friction_table)

    @property
    def judged(self) -> Said:
        """Whether the ways agree, which is better and why, and what the machine file is worth."""
        _, problems = self.work_out()
        return self._said(lambda found: listed([*found.told(), *problems]))

    @property
    def working(self) -> Working | Said:
        """The formula of the better way, with the numbers in place."""
        return self._said(self._working)

    def _working(self, found: InertiaFound) -> Working:
        best = found.best
        if best.name == DISC:
            added = self.disc_inertia_kg_m2
            ratio = _as_shown(1 + added / best.value)
            return worked(inertia_from_drag_ratio_kg_m2, drag_ratio=ratio, added_inertia_kg_m2=added)
        loop = {name: value for name, value in self.circuit.items() if name != "brush_drop_v"}
        ohms = loop["armature_resistance_ohm"] + loop["resistor_ohm"]
        drag = loop["spindle_emf_v_s_per_rad"] ** 2 / (ohms * best.value)
        return worked(inertia_from_braking_kg_m2, brake_drag_per_s=_as_shown(drag), **loop)

    @property
    def decision(self) -> Said:
        """What to write into the machine file."""
        return self._said(self._decision)

    def _decision(self, found: InertiaFound) -> Said:
        best = found.best
        lines = [
            f"For the page *01 machine as built*: under `[spindle]`, "
            f'`inertia = "{float(f"{best.value:.3g}"):g} kg m^2"`. Brake and threading lean on it.',
            f"To know it more closely, mend what most of the doubt comes from: {best.weak_point}.",
        ]
        if found.agreement is not None and not found.agreement.agrees:
            lines.insert(0, "Do not lean on either figure before the two ways agree.")
        return listed(lines)

    def record_line(self) -> dict | None:
        """The inertia by the better way, beside what the machine file has."""
        found = self.found
        if found is None:
            return None
        best, agreement = found.best, found.agreement
        log = (self.disc_entry if best.name == DISC else self.brake_entry).readings
        return {
            "step": self.step,
            "quantity": f"moment of inertia at the spindle, {best.name}",
            "value": float(best.value),
            "uncertainty": float(best.inertia.expanded_uncertainty),
            "unit": "kg m^2",
            "predicted": found.filed_kg_m2,
            "formula": "as the machine file has it",
            "data": [self.coast.entry.readings, log],
            "conditions": {"E_n of the two ways": f"{agreement.e_n:.2f}"} if agreement else None,
            "instrument": {"name": f"log of {log.kind}", "U_from": ", ".join(best.doubts)},
        }

    def post(self) -> Post | None:
        """The inertia with its working, both ways and the friction in newton metres."""
        found = self.found
        if found is None:
            return None
        return Post(
            f"Moment of inertia of {self.machine.name}",
            (
                Paragraph(" ".join(found.told())),
                calculation(
                    self._working(found),
                    meaning=f"The better way, {found.best.name}.",
                    assumptions=(*ASSUMED_OF[found.best.name], "the same chuck, belt and oil in both runs"),
                ),
                _shared(found.table(), "Each way"),
                _shared(found.friction_table(), "Friction of the free spindle"),
                *for_post(self.picture),
            ),
        )


def _entry(label: str, help_words: str) -> Entry:
    return Entry(
        label,
        reader=speed_log.read,
        describe=lambda log: " ".join(log.notes),
        example="0.0  902\n0.5  895\n1.0  888",
        accept=".csv,.txt,.tsv,.log,.wav",
        help_words=help_words,
    )


def _as_shown(fitted: float) -> float:
    """A fitted figure with the digits that are shown, so that anyone who works it out gets the same."""
    return float(f"{fitted:.5g}")


def _others(logs, machine, purpose):
    named = set(logs_for(purpose, machine))
    return [file for file in logs if file not in named]


def _shared(table: pd.DataFrame, title: str) -> Table:
    rows = table.reset_index()
    return Table(tuple(rows.columns), tuple(tuple(map(str, row)) for row in rows.to_numpy()), title)
