"""Page 15: what the mill head can drive, how square it stands, and how long it runs on."""

from typing import ClassVar

import pandas as pd

from machinelab.spindle.speed_meter import wait_after_switching_s
from machinelab.work.cutting_force import DOUBT_SHARE, cutting_material
from machinelab.work.cutting_speeds import cutting_speed_m_min, speed_for_cutting_rpm
from machinelab.work.rotating_tools import milling
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.coastdown import CoastDown
from machinelab.workbook.figures.mill import HeadLean, MillTorque
from machinelab.workbook.measured import with_interval
from machinelab.workbook.mill_cut import MillCut, MillHead, mill_cut, mill_head
from machinelab.workbook.mill_tests import TramResult
from machinelab.workbook.pages.mill_readings import MillReadings
from machinelab.workbook.pages.page import Said, for_post, listed, once_known
from machinelab.workbook.panels.coast_bench import CoastBench
from machinelab.workbook.panels.mill import USUAL_CUT, mill_panel
from machinelab.workbook.share import Notes, Paragraph, Post, Table, calculation
from machinelab.workbook.verdict import Verdict, agrees
from machinelab.worked import Working, worked

# Usual sizes, in the unit of the shop.
CUTTERS = {"mm": (3, 6, 10, 16, 25, 50), "in": (0.125, 0.25, 0.375, 0.625, 1, 2)}
SHOWN_MATERIALS = ("mild steel", "grey iron", "brass", "aluminium")
# 0.02 mm in 300 mm; common practice, no source.
NOD_PPM = 0.02 / 300 * 1e6
USUAL_LAG_S, USUAL_UPDATE_S = 0.8, 0.25
NOT_SWEPT = Said("The head has not been swept yet: see *Measure*.")
NOT_COUNTED = Said("The display has not been compared with counted turns yet: see *Measure*.")
NOT_TIMED = Said("The head's run-down has not been timed yet: see *Measure*.")
NO_LOG = Said("No run-down of the head has been logged; the clock will do.")


class MillPage(MillReadings):
    """The mill head of the chosen machine: drive, lean, meter, run-down."""

    step: ClassVar[str] = "15"

    @property
    def head(self) -> MillHead:
        """The head in plain numbers."""
        return mill_head(self.machine)

    @property
    def cut(self) -> MillCut:
        """A usual cut on it."""
        return mill_cut(head=self.head, **USUAL_CUT)

    @once_known
    def working(self) -> Working:
        """Torque and power of a usual cut, with the numbers in place."""
        cut, law = self.cut, cutting_material(self.cut.material)
        return worked(
            milling,
            depth_mm=cut.depth_mm,
            width_mm=cut.width_mm,
            feed_per_tooth_mm=cut.tooth_feed_mm,
            cutter_teeth=cut.teeth,
            diameter_mm=cut.diameter_mm,
            speed_rpm=round(cut.speed_rpm),
            specific_force_1_n_mm2=law.specific_force_1_n_mm2,
            chip_exponent=law.chip_exponent,
        )

    @once_known
    def picture(self) -> Picture:
        """What the cut asks beside what the head turns."""
        return MillTorque.draw(self.cut)

    @once_known
    def panel(self):
        """The same with cutter, cut and chip to move."""
        return mill_panel(self.head)

    @once_known
    def drive_told(self) -> Said:
        """Speeds, torque and gearing of the head."""
        head, ratio = self.head, self.machine.mill_head.motor_turns_per_turn
        lines = [f"The spindle turns {head.lowest_rpm:.0f} to {head.highest_rpm:.0f} rpm.", head.drive_told]
        if ratio is not None:
            lines.append(
                f"The motor turns {float(ratio):.3g} times for each turn of the spindle "
                f"({ratio.numerator}:{ratio.denominator} in lowest terms), at most "
                f"{float(ratio) * head.highest_rpm:.0f} rpm."
            )
        return listed(lines)

    @once_known
    def speeds(self) -> pd.DataFrame:
        """The speed that the tables want for each cutter, as far as the head has it."""
        head, rows, lengths = self.head, [], self.lengths
        for size in CUTTERS[lengths.unit]:
            cutter = size * lengths.unit_mm
            cut = {**USUAL_CUT, "diameter_mm": float(cutter), "width_mm": cutter / 2}
            wanted = [
                mill_cut(head=head, **{**cut, "material": name}).wanted_rpm[1] for name in SHOWN_MATERIALS
            ]
            rim = lengths.rim.told(cutting_speed_m_min(head.lowest_rpm, diameter_mm=cutter))
            rows.append((f"{size:g} {lengths.unit}", *(_within(speed, head) for speed in wanted), rim))
        columns = ["cutter", *SHOWN_MATERIALS, "rim at the slowest speed"]
        return pd.DataFrame(rows, columns=columns).set_index("cutter").rename_axis(None)

    @once_known
    def largest_cutter(self) -> Said:
        """The largest cutter that the slowest speed does not burn."""
        wanted = self.cut.wanted
        slowest = self.head.lowest_rpm
        # Speed and diameter change places in the formula.
        across = float(speed_for_cutting_rpm(wanted.high_m_min, diameter_mm=slowest))
        low, high = (self.lengths.rim.told(speed) for speed in (wanted.low_m_min, wanted.high_m_min))
        return Said(
            f"With high-speed steel in mild steel ({low.split()[0]} to {high}: {wanted.source}) the slowest "
            f"speed of {slowest:.0f} rpm bears a cutter of up to {self.lengths.told(across, 0)}."
        )

    @once_known
    def wait_told(self) -> Said:
        """How long the display means nothing after the selector was turned."""
        meter = self.machine.meter
        if meter.fitted is False:
            return Said("The machine file says there is no meter: count turns of the spindle by a mark.")
        lag = USUAL_LAG_S if meter.lag_s is None else meter.lag_s
        update = USUAL_UPDATE_S if meter.update_period_s is None else meter.update_period_s
        wait = float(wait_after_switching_s(dead_time_s=update, lag_s=lag, gate_s=0.0))
        known = "" if meter.lag_s is not None else " (its lag is not in the machine file: 0.8 s is taken)"
        return Said(
            f"One meter serves both spindles. After the selector is turned the display still shows the other "
            f"spindle's speed for up to {wait:.1f} s{known}. Until then it means nothing; and a 0 is no "
            "standstill: look at the spindle."
        )

    @once_known
    def bench(self) -> CoastBench:
        """Where the sweep comes in."""
        return CoastBench(self.sweep_entry, analyse=self.analyse_sweep, tell=_told, chart=HeadLean)

    @once_known
    def run_bench(self) -> CoastBench:
        """Where a logged run-down comes in."""
        return CoastBench(
            self.run_entry,
            analyse=self.analyse_run,
            tell=lambda found: [f"From {found.tested_rpm:.0f} rpm: {_run_words(found)}.", *found.warnings],
        )

    @once_known
    def lean_picture(self) -> Picture | Said:
        """The lean, seen from above, with the way to tap."""
        return HeadLean.draw(self.sweep) if self.sweep else NOT_SWEPT

    @once_known
    def run_picture(self) -> Picture | Said:
        """The logged run-down."""
        return CoastDown.draw(self.run) if self.run else NO_LOG

    @once_known
    def lean(self) -> pd.DataFrame | Said:
        """The lean in both directions with its doubt."""
        if self.sweep is None:
            return NOT_SWEPT
        one = self.sweep.found
        rows = [
            ("top to the right", self.lengths.lean.estimate(one.lean_right_mm_m)),
            ("top to the back", self.lengths.lean.estimate(one.lean_back_mm_m)),
            ("dial, highest less lowest", self.lengths.told(one.total_mm, 3)),
            ("of that explained by no lean", self.lengths.told(one.uneven_mm, 4)),
        ]
        return pd.DataFrame(rows, columns=["", "found, 95 %"]).set_index("").rename_axis(None)

    @once_known
    def face(self) -> Said:
        """What the lean does to a milled face."""
        if self.sweep is None:
            return NOT_SWEPT
        cutter, step_over = self.number("cutter"), self.number("step_over")
        return Said(
            self.sweep.face_told(cutter_mm=cutter, width_mm=0.8 * cutter, step_over_mm=step_over)
            + f" A head that nods {self.lengths.slope(NOD_PPM)} on purpose, its heel clear of the work, is "
            "a choice (common practice, no source), not a fault."
        )

    @once_known
    def compared(self) -> pd.DataFrame:
        """The reader's guess, the limit and the sweep side by side."""
        limit = self.machine.target.tram_ppm
        swept = "not swept yet"
        if self.sweep:
            doubt = self.lengths.slope(1000 * self.sweep.uncertainty_mm_m).split()[0]
            swept = f"{self.lengths.slope(1000 * self.sweep.lean_mm_m)} +/- {doubt}"
        rows = [
            ("your guess", self.guess.shown),
            ("you allow", "no limit set" if limit is None else self.lengths.slope(limit)),
            ("swept", swept),
        ]
        return pd.DataFrame(rows, columns=["", "lean of the head"]).set_index("").rename_axis(None)

    @once_known
    def verdict(self) -> Verdict | Said:
        """Whether the head stands as square as the owner wants."""
        return self.sweep.verdict() if self.sweep else NOT_SWEPT

    @once_known
    def meter_told(self) -> Said:
        """Which spindle the meter shows."""
        check = self.meter_sheet.result
        return Said(check.told) if check else NOT_COUNTED

    @once_known
    def stop_told(self) -> Said:
        """What the run-down means for stopping."""
        if self.stop is None:
            return NOT_TIMED
        return listed([self.stop.told, *(f"Mind: {one}" for one in (self.run.warnings if self.run else ()))])

    @once_known
    def clock_and_log(self) -> Said:
        """Whether the clock and the log tell the same run-down."""
        typed = self.run_sheet.result
        if typed is None or self.run is None:
            return Said("With a log and a time by the clock, the two would be compared here.")
        logged = self.run.stop_time_s(float(typed["from_rpm"]))
        found = agrees(
            float(typed["stop_s"]),
            uncertainty=float(typed["doubt_s"]),
            predicted=round(logged.value, 2),
            predicted_uncertainty=logged.expanded_uncertainty,
            unit="s",
        )
        return Said(f"By the clock: {found}")

    @once_known
    def stop_verdict(self) -> Verdict | Said:
        """Whether the head stands before the timer lets the box go on."""
        return self.stop.verdict() if self.stop else NOT_TIMED

    @once_known
    def decision(self) -> Said:
        """What to do with the head, the most pressing first."""
        lines = []
        if self.stop:
            lines.append(self.stop.told)
        check = self.meter_sheet.result
        if check and not check.agreement().agrees:
            lines.append(check.told)
        if self.sweep:
            lines += [self.sweep.cure, f"The lean of the head: {self.sweep.verdict()}"]
        lines += [self.cut.headline, self.cut.chip_told]
        lines.append("The table's screw, the holder or the head's clamp mostly give up before the motor.")
        if not self.sweep:
            lines.append("Sweep the head before a face is to be flat: see *Measure*.")
        return listed(lines)

    def record_line(self) -> dict | None:
        """The lean, with the run-down as its condition; the run-down where there was no sweep."""
        if self.sweep is not None:
            return self._lean_line()
        return self._stop_line() if self.stop else None

    def _lean_line(self) -> dict:
        limit = self.machine.target.tram_ppm
        why = self.machine.target.why.get("tram", "no reason given")
        return {
            "step": self.step,
            "quantity": "lean of the mill spindle to the table",
            "value": round(1000 * self.sweep.lean_mm_m, 2),
            "uncertainty": 1000 * self.sweep.uncertainty_mm_m,
            "unit": "ppm",
            "lower": None,
            "upper": None if limit is None else round(limit, 1),
            "where_from": f"own choice: {why}" if limit else "",
            "conditions": {
                "top leans to the": self.sweep.side,
                "run-down": self.stop.took if self.stop else "not timed",
            },
            "instrument": {"name": "dial indicator", "U_from": "its division and the spread of the sweep"},
        }

    def _stop_line(self) -> dict:
        return {
            "step": self.step,
            "quantity": "free run-down of the mill head",
            "value": round(self.stop.stop_s, 3),
            "uncertainty": self.stop.uncertainty_s,
            "unit": "s",
            "lower": None,
            "upper": self.stop.timer_s or None,
            "where_from": "standstill timer of the control box" if self.stop.timer_s else "",
            "conditions": {"from": f"{self.stop.from_rpm:.0f} rpm"},
            "instrument": {"name": self.stop.how, "U_from": "as typed, or by the fit"},
        }

    def post(self) -> Post | None:
        """Cut, lean and run-down with their pictures."""
        if self.still_needed or (self.sweep is None and self.stop is None):
            return None
        speeds = self.speeds().reset_index(names="cutter")
        shown = [one for one in (self.lean_picture(), self.picture()) if isinstance(one, Picture)]
        return Post(
            f"Mill head of {self.machine.name}",
            (
                Paragraph(self.sweep.headline if self.sweep else self.stop.told),
                calculation(
                    self.working(),
                    meaning=self.cut.headline,
                    assumptions=(
                        "a keen cutter that cuts with its side, each tooth its share",
                        f"the mean force; {100 * DOUBT_SHARE:.0f} % are on top of it where the torque "
                        "asked is told, the doubt of the tables",
                    ),
                ),
                Table(tuple(speeds.columns), tuple(map(tuple, speeds.to_numpy())), "Speeds, rpm"),
                Notes(tuple(self.decision().text.removeprefix("- ").split("\n- ")), "What to do"),
                *for_post(*shown),
            ),
        )


def _told(found: TramResult) -> list[str]:
    return [found.headline, str(found.verdict()), found.cure]


def _run_words(found) -> str:
    return f"{with_interval(found.stop_time_s(found.tested_rpm))} s to standstill"


def _within(speed_rpm: float, head: MillHead) -> str:
    if speed_rpm > head.highest_rpm:
        return f"{head.highest_rpm:.0f} (wants {speed_rpm:.0f})"
    return f"too fast at {head.lowest_rpm:.0f}" if speed_rpm < head.lowest_rpm else f"{speed_rpm:.0f}"
