"""The sheet of every thread: speed up to the shoulder, ratio, passes, wires, and why."""

from dataclasses import dataclass

import pandas as pd

from machinelab.errors import MachineFileError
from machinelab.leadscrew.gearing import nearest_ratio
from machinelab.threads.infeed_schedule import infeed_schedule
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.panels.gearing import fraction_text
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.shoulder_machine import ShoulderNumbers
from machinelab.workbook.shoulder_numbers import HighestSpeed, highest_speed
from machinelab.workbook.stepper_built import stepper_built
from machinelab.workbook.stepper_numbers import bands_to_avoid, thread_work
from machinelab.workbook.thread_plan import LAST_CUT_MM, SPRING_PASSES, ThreadPlan, thread_plan
from machinelab.workbook.work_asked import DEPTH_OVER_PITCH, USUAL_PASSES

USUAL_LARGEST = 65535


@dataclass(frozen=True)
class SheetRow:
    """One thread: the speed for it, and what to set and measure."""

    name: str
    speed: HighestSpeed
    ratio: str
    thread_passes: int
    over_wires: str
    keep_out_of: tuple[str, ...] = ()
    lengths: ShopLengths = MILLIMETRES

    @property
    def groove_words(self) -> str:
        """How wide the groove is."""
        return self.lengths.short(self.speed.groove.width_mm)

    @property
    def line(self) -> str:
        """The row as a sentence: what, at which speed, and why."""
        ratio = f"; {self.ratio} steps an edge" if self.ratio else ""
        wires = f", {self.over_wires}" if self.over_wires else ""
        groove = f"with a groove of {self.groove_words} ({self.speed.groove.where_from})"
        bands = f"; keep out of {' and '.join(self.keep_out_of)}" if self.keep_out_of else ""
        rest = f"{ratio}, {self.thread_passes} passes{wires}{bands}."
        return f"{self.name} {groove}: {self.speed.words.removesuffix('.')}{rest}"


def name_of(thread: ThreadToCut, place: int = 1) -> str:
    """What to call a thread."""
    return thread.designation or thread.name or f"thread {place}"


def sheet_rows(machine: Machine, numbers: ShoulderNumbers) -> tuple[SheetRow, ...]:
    """Every thread on the list whose pitch is known."""
    known = ((place, one) for place, one in enumerate(machine.threads, start=1) if one.pitch_mm)
    return tuple(_row(machine, numbers, thread, place) for place, thread in known)


def sheet_table(rows: tuple[SheetRow, ...]) -> pd.DataFrame:
    """The sheet as a table."""
    shown = [
        (
            row.name,
            f"{row.groove_words}, {row.speed.groove.where_from}",
            f"{row.speed.speed_rpm:.0f} rpm" if row.speed.feasible else "no speed",
            row.speed.limit,
            row.ratio,
            row.thread_passes,
            row.over_wires,
        )
        for row in rows
    ]
    columns = ["thread", "groove", "at most", "set by", "steps an edge", "passes", "measure"]
    return pd.DataFrame(shown, columns=columns).set_index("thread").rename_axis(None)


def passes_of(machine: Machine, thread: ThreadToCut) -> int:
    """Passes of a thread with its own tool, spring pass too; as many as usual while the tool is not known."""
    schedule = thread_plan(machine, thread).schedule
    if schedule:
        return schedule.thread_passes
    usual = infeed_schedule(
        DEPTH_OVER_PITCH * float(thread.pitch_mm),
        infeed_passes=USUAL_PASSES,
        last_cut_mm=LAST_CUT_MM,
        spring_passes=SPRING_PASSES,
    )
    return usual.thread_passes


def _row(machine: Machine, numbers: ShoulderNumbers, thread: ThreadToCut, place: int) -> SheetRow:
    speed = highest_speed(machine, thread, numbers)
    return SheetRow(
        name=name_of(thread, place),
        speed=speed,
        ratio=_ratio(machine, thread),
        thread_passes=passes_of(machine, thread),
        over_wires=_over_wires(thread_plan(machine, thread)),
        keep_out_of=_bands(machine, thread, speed) if speed.feasible else (),
        lengths=numbers.lengths,
    )


def _bands(machine: Machine, thread: ThreadToCut, speed: HighestSpeed) -> tuple[str, ...]:
    """The bands in which the stepper shakes or hunts, as far as the speeds for this thread reach."""
    try:
        stepper = stepper_built(machine)
    except MachineFileError:
        return ()
    return tuple(
        str(one)
        for one in bands_to_avoid(stepper, thread_work(thread))
        if one.band.highest_rpm > speed.lowest_rpm and one.band.lowest_rpm <= speed.speed_rpm
    )


def _ratio(machine: Machine, thread: ThreadToCut) -> str:
    wanted = machine.steps_per_count(thread)
    if wanted is None:
        return ""
    largest = machine.controller
    limits = largest.largest_numerator or USUAL_LARGEST, largest.largest_denominator or USUAL_LARGEST
    used = nearest_ratio(wanted, *limits)
    return fraction_text(used) + ("" if used == wanted else " (nearest)")


def _over_wires(plan: ThreadPlan) -> str:
    """The largest reading over wires that is allowed; empty where form or size is not known."""
    if not plan.over_wires_mm:
        return ""
    lengths = plan.lengths
    most = lengths.told(max(plan.over_wires_mm), 3)
    return f"{most} at most over wires of {lengths.short(plan.wire_mm)}"
