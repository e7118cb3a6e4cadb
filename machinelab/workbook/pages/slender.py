"""Page 14: how slender work may be before it bends or whips, and where the steady rest helps."""

from dataclasses import replace

import numpy as np
import pandas as pd

from machinelab.leadscrew.lead_accuracy import thermal_growth_mm
from machinelab.units import show
from machinelab.work.chuck_push import gripped_bend_mm
from machinelab.work.holding import CHUCK_ONLY
from machinelab.work.steady import roller_circle_mm
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.slender import BarError, TailWhip
from machinelab.workbook.figures.slender_tests import PushTest, TurnedDiameters
from machinelab.workbook.pages.page import Said, for_post, listed
from machinelab.workbook.pages.slender_readings import SlenderReadings
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.slender import slender_panel, tail_panel, view_tail
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.slender_tests import (
    travel_needed_mm,
)
from machinelab.workbook.slender_work import (
    RIGID,
    SlenderView,
    SlenderWork,
    below_rpm,
    every_way,
    view_of,
)
from machinelab.workbook.verdict import Verdict
from machinelab.worked import Working, worked

# A common tail; it only starts the sliders.
USUAL_TAIL_MM, USUAL_TAIL_BAR_MM, USUAL_TAIL_RPM = 400.0, 12.0, 1000.0
SETTINGS_SHOWN = 5
# A bar that is warm in the hand after a few cuts; common practice, no source.
WARM_K = 30.0
# Stiff enough for the printed formula to say so in figures; no chuck comes near.
AS_GOOD_AS_STIFF = 1e12
NOT_PUSHED = Said("The chuck has not been pushed yet, so it is taken as stiff: see *Measure*.")
NOT_TURNED = Said("No bar has been turned and measured yet: see *Measure*.")


class SlenderPage(SlenderReadings):
    """Bending, whip and steady rest on the chosen machine."""

    @property
    def working(self) -> Working:
        """Bending of a bar in the chuck, with the numbers in place."""
        turning, spring = (
            min(stiff, AS_GOOD_AS_STIFF) for stiff in (self.grip.turning_nmm_rad, self.grip.spring_n_mm)
        )
        return worked(
            gripped_bend_mm,
            cutting_force_n=round(self.work.force_n, 1),
            overhang_mm=self.work.length_mm,
            bar_diameter_mm=self.work.diameter_mm,
            chuck_turning_nmm_rad=turning,
            chuck_spring_n_mm=spring,
            elasticity_n_mm2=self.work.elasticity_n_mm2,
        )

    @property
    def view(self) -> SlenderView:
        """The bar worked out."""
        return view_of(self.work, self.top_rpm)

    @property
    def picture(self) -> Picture:
        """The diameter's error along the bar."""
        return BarError.draw(self.view)

    @property
    def panel(self):
        """The same with everything to move."""
        return slender_panel(self.work, grip=self.grip, top_rpm=self.top_rpm)

    @property
    def ways(self) -> pd.DataFrame:
        """The same bar and cut, held in every way."""
        told = self.lengths.told
        rows = [
            (
                view.work.holding + (f" at {told(view.work.steady_mm, 0)}" if view.work.has_steady else ""),
                told(view.worst_mm, 3),
                "yes" if view.keeps else "no",
                self.lengths.short(view.deepest_mm, 2),
                self._length(view.longest_mm),
                below_rpm(view.allowed_rpm),
                below_rpm(view.bent_rpm),
            )
            for view in every_way(self.work, self.top_rpm)
        ]
        columns = ["held", "too large by", "kept", "cut up to", "length up to", "turn below", "if bent"]
        return pd.DataFrame(rows, columns=columns).set_index("held").rename_axis(None)

    def _length(self, length_mm: float) -> str:
        if np.isnan(length_mm):
            return "none"
        return "not bounded by bending" if np.isinf(length_mm) else self.lengths.told(length_mm, 0)

    @property
    def length_told(self) -> Said:
        """Bending, whip and the workshop's rule, in words."""
        return Said(self.view.sentence)

    def _tail_start(self) -> dict:
        bore, top = self.machine.lathe.spindle_bore_mm, self.top_rpm
        return {
            "tail_mm": USUAL_TAIL_MM,
            "bar_mm": min(bore, USUAL_TAIL_BAR_MM) if bore else USUAL_TAIL_BAR_MM,
            "speed_rpm": top or USUAL_TAIL_RPM,
            "bore_mm": bore,
            "lengths": self.lengths,
        }

    @property
    def tail_picture(self) -> Picture:
        """Where a bar behind the headstock whips."""
        return TailWhip.draw(view_tail(**self._tail_start()))

    @property
    def tail_panel(self):
        """The same with tail, bar and speed to move."""
        return tail_panel(**self._tail_start())

    @property
    def settings(self) -> pd.DataFrame | Said:
        """Where the tips of this steady rest go for its range of work."""
        rest = self.machine.steady_rest
        if rest.smallest_mm is None or rest.largest_mm is None:
            return Said("The machine file does not say which work the steady rest takes (`[steady_rest]`).")
        sizes = np.linspace(rest.smallest_mm, rest.largest_mm, SETTINGS_SHOWN)
        roller = float(self.setting_sheet.values["roller_mm"] or 0)
        rows = [
            (
                show(round(float(size), 1), "mm"),
                self.lengths.told(roller_circle_mm(size, roller), 2),
                self.lengths.told((size - rest.smallest_mm) / 2, 2),
            )
            for size in sizes
        ]
        columns = ["work", "middles of the tips from the axis", "drawn back from the thinnest"]
        return pd.DataFrame(rows, columns=columns).set_index("work").rename_axis(None)

    @property
    def steady_told(self) -> Said:
        """What the steady rest of this machine is, and what a setting does."""
        rest = self.machine.steady_rest
        lines = []
        if rest.smallest_mm is not None and rest.largest_mm is not None:
            need, short = travel_needed_mm(rest.smallest_mm, rest.largest_mm), self.lengths.short
            lines.append(
                f"{rest.fingers or 'Its'} fingers with tips of {rest.tips or 'unknown kind'} must move "
                f"{self.lengths.told(need, 1)} for work of {short(rest.smallest_mm, 4)} to "
                f"{short(rest.largest_mm, 4)}."
            )
        if self.setting_sheet.result:
            lines += self.setting_sheet.result.told
        lines.append(
            "No three fingers make round work from work that is not: turn a true band first, or set rough, "
            "square or threaded work in a sleeve with screws (a workshop page)."
        )
        return listed(lines)

    @property
    def push_bench(self) -> CoastBench:
        """Where the pushes come in."""
        return CoastBench(
            self.push_entry,
            analyse=self.analyse_push,
            tell=lambda found: [found.headline, found.details],
            chart=PushTest,
        )

    @property
    def turned_bench(self) -> CoastBench:
        """Where the diameters come in."""
        return CoastBench(
            self.turned_entry,
            analyse=self.analyse_turned,
            tell=lambda found: [found.headline, str(found.verdict()), str(found.agreement())],
            chart=TurnedDiameters,
        )

    @property
    def push_picture(self) -> Picture | Said:
        """The pushes."""
        return PushTest.draw(self.pushed) if self.pushed else NOT_PUSHED

    @property
    def turned_picture(self) -> Picture | Said:
        """The turned bar beside its prediction."""
        return TurnedDiameters.draw(self.turned) if self.turned else NOT_TURNED

    @property
    def compared(self) -> pd.DataFrame:
        """The reader's guess and what bending allows, for the chuck alone."""
        stiff = replace(self.work, holding=CHUCK_ONLY, grip=RIGID)
        number, told = self.lengths.number, self.lengths.told
        pushed = "not pushed yet"
        if self.pushed:
            pushed = self._length(replace(stiff, grip=self.grip).longest_mm)
        rows = [
            ("your guess", self.guess.shown),
            ("with a stiff chuck", self._length(stiff.longest_mm)),
            ("with the chuck as it was pushed", pushed),
            (
                "the workshop's rule, 3 to 4 diameters",
                f"{number(3 * stiff.diameter_mm, 0)} to {told(4 * stiff.diameter_mm, 0)}",
            ),
        ]
        return (
            pd.DataFrame(rows, columns=["", "longest bar in the chuck alone"]).set_index("").rename_axis(None)
        )

    @property
    def verdict(self) -> Verdict | Said:
        """Whether the turned bar keeps what is allowed."""
        return self.turned.verdict() if self.turned else NOT_TURNED

    @property
    def agreement(self) -> Said:
        """Whether prediction and measurement agree."""
        return Said(str(self.turned.agreement())) if self.turned else NOT_TURNED

    @property
    def decision(self) -> Said:
        """How to hold this work, and what to watch."""
        ways = every_way(self.work, self.top_rpm)
        here = next(view for view in ways if view.work.holding == self.work.holding)
        lines = [_hold_it(here, ways), here.speed_told + "."]
        if self.pushed:
            lines.append(f"{self.pushed.headline} All figures of this page reckon with it.")
        else:
            lines.append(
                "Push the chuck first: taken as stiff, it makes every figure 1.5 to 4 times too good "
                "(common practice, no source)."
            )
        if self.turned and not self.turned.agreement().agrees:
            lines.append(
                "Force reckoned and force measured differ: a blunt tool, a large nose, a sprung centre, or "
                "the axis itself out of line (page 12). Find out which before the figures are used."
            )
        lines.append(_about_heat(self.work))
        lines.append(
            "Where the cut must pass the steady rest, make it in two settings, or let a follower rest travel "
            "with the tool."
        )
        lines.append(
            "The error goes with the force: a keen tool, a small nose and a fine last cut bend the bar less, "
            "and a spring pass takes out part of what is left."
        )
        return listed(lines)

    def record_line(self) -> dict | None:
        """How much thicker the turned bar is at its worst."""
        if self.turned is None:
            return None
        found, work = self.turned, self.turned.work
        return {
            "step": self.step,
            "quantity": "diameter along a slender bar, thickest less thinnest",
            "value": round(found.spread_mm, 5),
            "uncertainty": float(np.sqrt(2) * found.uncertainty_mm),
            "unit": "mm",
            "predicted": round(float(np.ptp(found.predicted_mm)), 5),
            "formula": "bending of the bar under the cut",
            "lower": None,
            "upper": work.allowed_mm,
            "where_from": "own choice: what the fit of this work allows",
            "conditions": {
                "held": f"{work.holding}, {work.diameter_mm:g} mm, {work.length_mm:g} mm free",
                "cut": f"{work.depth_mm:g} mm deep, {work.feed_mm:g} mm a turn, {work.material}",
            },
            "instrument": {"name": "micrometer", "U_from": "its doubt at both places"},
        }

    def post(self) -> Post | None:
        """The bar, every way to hold it, and what was measured."""
        if self.turned is None:
            return None
        ways = self.ways.reset_index(names="held")
        shown = [one for one in (self.turned_picture, self.push_picture) if isinstance(one, Picture)]
        return Post(
            f"Slender work on {self.machine.name}",
            (
                Paragraph(self.turned.headline),
                calculation(
                    self.working,
                    verdict=self.verdict,
                    meaning="Bending at the end of the bar.",
                    assumptions=(
                        "a solid round bar, held by the chuck only",
                        "the chuck as stiff as it was pushed; where it was not, as good as stiff",
                        "the force of the cut from the tables for a keen tool, unless it was typed",
                    ),
                ),
                Table(tuple(ways.columns), tuple(map(tuple, ways.to_numpy())), "Held in every way"),
                Notes(tuple(self.decision.text.removeprefix("- ").split("\n- ")), "What to do"),
                *for_post(*shown),
            ),
        )


def _about_heat(work: SlenderWork) -> str:
    grown = thermal_growth_mm(work.length_mm, WARM_K, work.expansion_per_k)
    told = work.lengths.told
    return (
        f"A bar of {told(work.length_mm, 0)} that warms by {WARM_K:.0f} K grows {told(grown, 3)} and pushes "
        "on a centre: ease the tailstock and set it again, or use a sprung centre."
    )


def _hold_it(here: SlenderView, ways: tuple[SlenderView, ...]) -> str:
    if here.keeps:
        return f"Held as it is ({here.work.holding}) it keeps the limit. {here.length_told}."
    kept = [view for view in ways if view.keeps]
    if not kept:
        return (
            f"No way to hold it keeps the limit with this cut; the least error comes with "
            f"{min(ways, key=lambda view: view.worst_mm).work.holding}. Take a finer cut."
        )
    first, lengths = kept[0], here.work.lengths
    where = f", {lengths.told(first.work.steady_mm, 0)} from the chuck" if first.work.has_steady else ""
    return (
        f"Held by {here.work.holding} it breaks the limit: {lengths.told(here.worst_mm, 3)} of "
        f"{lengths.number(here.work.allowed_mm, 3)}. Hold it by {first.work.holding}{where}, which leaves "
        f"{lengths.told(first.worst_mm, 3)}; or cut no deeper than {lengths.short(here.deepest_mm, 2)}."
    )
