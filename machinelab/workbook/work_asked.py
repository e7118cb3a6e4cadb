"""What the work asks of the spindle: each thread on the machine's list, and some cuts that everyone makes."""

from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.work.cutting import Cut, threading, turning
from machinelab.work.cutting_capacity import deepest_cut_mm, largest_drill_mm
from machinelab.work.cutting_force import DOUBT_SHARE, CuttingMaterial, cutting_material
from machinelab.work.rotating_tools import drilling
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

# ISO 68-1: depth of an outside thread over its pitch. Other forms lie between 0.5 and 0.64; step 10 has them.
DEPTH_OVER_PITCH = 0.613
USUAL_PASSES = 10
USUAL_ANGLE_DEG = 60.0
USUAL_MATERIAL = "mild steel"
# Cuts to compare drives by; common practice, no source.
BAR_MM, BAR_DEPTH_MM, BAR_FEED_MM = 50.0, 1.0, 0.1
DRILL_MM, DRILL_FEED_MM, DRILL_FACTOR = 10.0, 0.1, 1.2


@dataclass(frozen=True)
class Asked:
    """Some work and the torque that it asks at the spindle, doubt of the tables included."""

    words: str
    torque_nm: float


def threads_asked(machine: Machine) -> tuple[Asked, ...]:
    """Each thread on the list whose pitch and diameter are known, with the torque of its heaviest pass."""
    known = ((count, thread) for count, thread in enumerate(machine.threads, 1) if thread.diameter_mm)
    return tuple(_thread(thread, f"thread {count}") for count, thread in known if thread.pitch_mm)


def usual_cuts(lengths: ShopLengths = MILLIMETRES) -> tuple[Asked, ...]:
    """A turning cut and a drill in mild steel, to see the drive's torque by."""
    steel = _law(cutting_material(USUAL_MATERIAL))
    turned = turning(depth_mm=BAR_DEPTH_MM, feed_mm=BAR_FEED_MM, diameter_mm=BAR_MM, speed_rpm=100.0, **steel)
    drilled = drilling(
        diameter_mm=DRILL_MM, feed_mm=DRILL_FEED_MM, speed_rpm=100.0, force_factor=DRILL_FACTOR, **steel
    )
    return (
        Asked(
            f"turning {lengths.short(BAR_MM)} {USUAL_MATERIAL} {lengths.short(BAR_DEPTH_MM)} deep",
            float(turned.torque_with_doubt.interval[1]),
        ),
        Asked(
            f"drilling {lengths.short(DRILL_MM)} into {USUAL_MATERIAL}",
            float(drilled.torque_with_doubt.interval[1]),
        ),
    )


def cut_carried_mm(torque_nm: float) -> float:
    """How deep a cut in a mild steel bar a torque carries, the tables' doubt kept in hand."""
    steel = _law(cutting_material(USUAL_MATERIAL))
    in_hand = torque_nm / (1 + DOUBT_SHARE)
    return float(deepest_cut_mm(in_hand, diameter_mm=BAR_MM, feed_mm=BAR_FEED_MM, **steel))


def drill_carried_mm(torque_nm: float) -> float:
    """How large a drill a torque turns into mild steel, the tables' doubt kept in hand."""
    steel = _law(cutting_material(USUAL_MATERIAL))
    in_hand = torque_nm / (1 + DOUBT_SHARE)
    return float(largest_drill_mm(in_hand, feed_mm=DRILL_FEED_MM, force_factor=DRILL_FACTOR, **steel))


def thread_force_n(thread: ThreadToCut) -> float:
    """Force along the cut of the heaviest pass of a thread whose pitch is known, the tables' doubt on top."""
    return (1 + DOUBT_SHARE) * float(_heaviest_pass(thread, thread.diameter_mm or BAR_MM).force_n)


def _thread(thread: ThreadToCut, else_called: str) -> Asked:
    name = thread.designation or thread.name or else_called
    return Asked(name, float(_heaviest_pass(thread, thread.diameter_mm).torque_with_doubt.interval[1]))


def _heaviest_pass(thread: ThreadToCut, diameter_mm: float) -> Cut:
    return threading(
        pitch_mm=thread.pitch_mm,
        thread_depth_mm=DEPTH_OVER_PITCH * float(thread.pitch_mm),
        diameter_mm=diameter_mm,
        thread_passes=USUAL_PASSES,
        included_angle_deg=thread.named.form.included_angle_deg if thread.named else USUAL_ANGLE_DEG,
        speed_rpm=100.0,
        **_law(_material(thread.material)),
    )


def _material(name: str | None) -> CuttingMaterial:
    try:
        return cutting_material(name or USUAL_MATERIAL)
    except RangeError:
        return cutting_material(USUAL_MATERIAL)


def _law(material: CuttingMaterial) -> dict[str, float]:
    return {
        "specific_force_1_n_mm2": material.specific_force_1_n_mm2,
        "chip_exponent": material.chip_exponent,
    }
