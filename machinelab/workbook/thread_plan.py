"""How to cut and measure each thread of a machine: depth for the tool, cuts, wires and what they read."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from machinelab.errors import RangeError
from machinelab.threads.form import Thread
from machinelab.threads.infeed import thread_depth_mm
from machinelab.threads.infeed_schedule import InfeedSchedule, infeed_schedule, passes_for_first_cut
from machinelab.threads.limits import classes_of, limits
from machinelab.threads.wires import WireRange, best_wire_mm, wire_range
from machinelab.threads.wires_on_helix import over_wires_on_helix_mm
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths, shop_lengths

# Common practice, no source, all three.
USUAL_FIRST_CUT_MM = 0.2
LAST_CUT_MM = 0.03
SPRING_PASSES = 1
# The classes that are meant where a drawing names none; common practice, no source.
USUAL_CLASSES = ("6g", "2A", "7e", "medium screw", "A")
BASIC = "basic size"
ON_PAGE_01 = "on page 01"


@dataclass(frozen=True)
class ThreadPlan:
    """What a thread asks of tool and micrometer; what is not known is None, NaN or empty.

    Parameters
    ----------
    thread : Thread or None
        What its designation means.
    pitch_diameters_mm : tuple of float
        Smallest and largest pitch diameter; one figure where only the basic size is known.
    measured_against : str
        The tolerance in words.
    blank_mm : float
        Diameter of the blank: the middle of its limits, or the nominal one.
    tool : str
        The tip of the tool in words.
    schedule : InfeedSchedule or None
        The cuts.
    wire_mm : float
        Wires to measure with: the owner's, else the best.
    wires : WireRange or None
        The wires that would do.
    over_wires_mm : tuple of float
        What the micrometer reads over them, for each pitch diameter.
    notes : tuple of str
        What is missing, or does not fit, in words.
    lengths : ShopLengths
        How the shop writes lengths.
    """

    thread: Thread | None = None
    pitch_diameters_mm: tuple[float, ...] = ()
    measured_against: str = ""
    blank_mm: float = math.nan
    tool: str = ""
    schedule: InfeedSchedule | None = None
    wire_mm: float = math.nan
    wires: WireRange | None = None
    over_wires_mm: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()
    lengths: ShopLengths = MILLIMETRES

    @property
    def target_mm(self) -> float:
        """The pitch diameter to come to: the middle of its limits."""
        return sum(self.pitch_diameters_mm) / len(self.pitch_diameters_mm)

    def noting(self, *notes: str) -> "ThreadPlan":
        """The same plan with more to mind."""
        return replace(self, notes=(*self.notes, *notes))


def thread_plan(machine: Machine, thread: ThreadToCut) -> ThreadPlan:
    """How to cut and measure a thread on a machine; what cannot be told yet is noted in words."""
    plan = replace(_sized(thread), lengths=shop_lengths(machine))
    if not plan.pitch_diameters_mm:
        return plan
    return _with_wires(_with_cuts(plan, machine, thread), thread)


def _sized(thread: ThreadToCut) -> ThreadPlan:
    """The thread and its pitch diameter."""
    if not thread.designation:
        return ThreadPlan(notes=(f"For depth and wires say its designation {ON_PAGE_01}, such as M10x1.",))
    if thread.named is None:
        return ThreadPlan(
            notes=(f"For depth and wires its designation is not understood: look {ON_PAGE_01}.",)
        )
    plan = ThreadPlan(thread.named)
    diameter = thread.named.nominal_diameter_mm or thread.diameter_mm
    if diameter is None:
        return plan.noting(f"For depth and wires say its outside diameter {ON_PAGE_01}.")
    return _toleranced(plan, float(diameter))


def _toleranced(plan: ThreadPlan, nominal_mm: float) -> ThreadPlan:
    """The blank and the pitch diameter between their limits, or as the basic sizes where none are known."""
    named = plan.thread
    asked = named.tolerance_class.rpartition("/")[2]
    usual = next((one for one in classes_of(named) if one in USUAL_CLASSES), "")
    try:
        found = limits(named, asked or usual) if asked or usual else None
    except RangeError:
        found = None
    if named.taper or (found and found.side == "nut"):
        return plan.noting("A taper or an inside thread: gauge it with its mate. No depth, no wires here.")
    if found is None:
        basic = nominal_mm - 2 * named.form.crest_height * float(named.pitch_mm)
        return replace(plan, blank_mm=nominal_mm, pitch_diameters_mm=(basic,), measured_against=BASIC)
    against = asked or f"usual {usual}"
    blank = round(sum(found.major_mm) / 2, 2)
    return replace(plan, blank_mm=blank, pitch_diameters_mm=found.pitch_mm, measured_against=against)


def _with_cuts(plan: ThreadPlan, machine: Machine, thread: ThreadToCut) -> ThreadPlan:
    """Depth and cuts for the tool in hand."""
    if thread.tip_flat_mm is None and thread.tip_radius_mm is None:
        return plan.noting(f"For the depth say the tip of its tool {ON_PAGE_01}: flat or radius.")
    tool = {
        "included_angle_deg": plan.thread.form.included_angle_deg,
        "tip_flat_mm": thread.tip_flat_mm or 0.0,
        "tip_radius_mm": thread.tip_radius_mm or 0.0,
    }
    pitch = float(plan.thread.pitch_mm)
    try:
        depth = float(thread_depth_mm(plan.blank_mm, plan.target_mm, pitch_mm=pitch, **tool))
        first = min(machine.threading.first_cut_mm or USUAL_FIRST_CUT_MM, depth)
        cuts = passes_for_first_cut(depth, first_cut_mm=first, **tool)
        floor = min(LAST_CUT_MM, depth)
        schedule = infeed_schedule(
            depth, infeed_passes=cuts, last_cut_mm=floor, spring_passes=SPRING_PASSES, **tool
        )
    except RangeError:
        return plan.noting("The tip of the tool is too blunt for this thread: grind it narrower.")
    return replace(plan, schedule=schedule, tool=_tip_words(thread, plan.lengths.short))


def _with_wires(plan: ThreadPlan, thread: ThreadToCut) -> ThreadPlan:
    """Wires and what the micrometer reads over them."""
    named = plan.thread
    form, pitch = named.form, float(named.pitch_mm)
    try:
        wires = wire_range(
            pitch,
            crest_height_mm=form.crest_height * pitch,
            flank_height_mm=form.flank_height * pitch,
            flank_depth_mm=form.flank_depth * pitch,
            included_angle_deg=form.included_angle_deg,
        )
    except RangeError:
        return plan.noting("No wire fits this form: measure it with its nut or a gauge.")
    wire = thread.wire_mm or float(best_wire_mm(pitch, form.included_angle_deg))
    plan, length = replace(plan, wire_mm=wire, wires=wires), plan.lengths
    if not wires.smallest_wire_mm <= wire <= wires.largest_wire_mm:
        return plan.noting(
            f"Wires of {length.short(wire)} do not fit: take {length.number(wires.smallest_wire_mm, 2)} to "
            f"{length.told(wires.largest_wire_mm, 2)}, best {length.told(wires.best_wire_mm, 3)}."
        )
    readings = tuple(
        float(
            over_wires_on_helix_mm(
                diameter,
                wire_mm=wire,
                pitch_mm=pitch,
                thread_lead_mm=named.lead_mm,
                included_angle_deg=form.included_angle_deg,
            )
        )
        for diameter in plan.pitch_diameters_mm
    )
    return replace(plan, over_wires_mm=readings)


def _tip_words(thread: ThreadToCut, length: Callable[[float], str]) -> str:
    if thread.tip_flat_mm and thread.tip_radius_mm:
        return f"tip flat {length(thread.tip_flat_mm)}, corners {length(thread.tip_radius_mm)}"
    if thread.tip_flat_mm:
        return f"tip flat {length(thread.tip_flat_mm)}"
    return f"tip radius {length(thread.tip_radius_mm)}" if thread.tip_radius_mm else "sharp tip"
