"""The highest speed up to a shoulder, as tables: in standard grooves, and with one thing changed."""

import math
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pandas as pd

from machinelab.errors import RangeError
from machinelab.threads.shoulder_groove import standard_groove_mm
from machinelab.threads.shoulder_speed import groove_slopes
from machinelab.threads.shoulder_stop import braked_by_resistor
from machinelab.units import show
from machinelab.workbook.brake_numbers import NEEDED, brake_numbers
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shoulder_machine import COUNT, ShoulderNumbers
from machinelab.workbook.shoulder_numbers import groove_limit_rpm

STANDARD_PITCHES_MM = tuple(Fraction(hundredths, 100) for hundredths in (50, 75, 100, 125, 150, 200, 300))
NONE = "none"


def standard_table(numbers: ShoulderNumbers) -> pd.DataFrame:
    """The highest speed in the standard's grooves, pitch by pitch, by hand and by a count."""
    counted = numbers if numbers.stopped_by == COUNT else numbers.stopped_by_count()
    rows = []
    for pitch in STANDARD_PITCHES_MM:
        thread = ThreadToCut.model_construct(pitch_mm=pitch, starts=1, hand="right")
        regular, short = (
            float(standard_groove_mm(float(pitch), groove=kind)) for kind in ("regular", "short")
        )
        rows.append(
            (
                show(pitch, "mm", kind="lead").split(" · ")[0],
                f"{regular:.3g} mm",
                allowed(numbers, thread, regular),
                f"{short:.3g} mm",
                allowed(numbers, thread, short),
                allowed(counted, thread, regular),
            )
        )
    columns = ["pitch", "regular groove", "rpm", "short groove", "rpm in it", "rpm by a count, regular"]
    return pd.DataFrame(rows, columns=columns).set_index("pitch")


def allowed(numbers: ShoulderNumbers, thread: ThreadToCut, groove_mm: float) -> str:
    """The highest speed in a groove, as whole rpm; "none" where it is below the lowest steady speed."""
    speed = allowed_rpm(numbers, thread, groove_mm)
    return NONE if speed < numbers.lowest_rpm else f"{math.floor(speed)}"


def allowed_rpm(numbers: ShoulderNumbers, thread: ThreadToCut, groove_mm: float) -> float:
    """The same as a number; zero where the tool alone fills the groove."""
    try:
        return groove_limit_rpm(numbers, thread, groove_mm)
    except RangeError:
        return 0.0


def changes(
    machine: Machine, numbers: ShoulderNumbers, groove_mm: float
) -> Iterator[tuple[str, ShoulderNumbers, float]]:
    """What could be changed, in words, with the machine as it would be then and the groove."""
    stopping = numbers.stopping
    if machine.threading.stopped_by != COUNT:
        yield "stopped by a count in place of the hand", numbers.stopped_by_count(), groove_mm
        words = "a hand that moves with the tool: early as often as late, so some passes end short"
        yield words, numbers.with_the_tool(), groove_mm
        quicker = max(numbers.reaction_s - 0.1, 0.0)
        yield "a reaction a tenth of a second shorter", numbers.with_reaction(quicker), groove_mm
    designed = machine.brake.contact_delay_s
    if numbers.braked and designed is not None and designed < 0.9 * float(stopping.contact_delay_s):
        mended = replace(stopping, contact_delay_s=designed)
        words = (
            f"the brake contact mended: {designed:g} s in place of {float(stopping.contact_delay_s):.2f} s"
        )
        yield words, replace(numbers, stopping=mended), groove_mm
    if numbers.braked:
        harder = replace(stopping, brake_drag_per_s=2 * stopping.brake_drag_per_s)
        yield "a brake that bites twice as hard", replace(numbers, stopping=harder), groove_mm
    elif not machine.missing(*NEEDED):
        proposed = brake_numbers(machine, None)
        braked = braked_by_resistor(
            **proposed.circuit, contact_delay_s=proposed.contact_delay_s, **stopping.drags
        )
        words = f"a resistor brake of {proposed.resistor_ohm:.3g} ohm (step 06)"
        yield words, replace(numbers, stopping=braked, braked=True), groove_mm
    length = numbers.lengths.short
    half = numbers.tool_half_width_mm / 2
    yield (
        f"a tool {length(half)} beside its point in place of {length(2 * half)}",
        replace(numbers, tool_half_width_mm=half),
        groove_mm,
    )
    air = numbers.wall_clearance_mm / 2
    yield (
        f"{length(air)} of air at the wall in place of {length(2 * air)}",
        replace(numbers, wall_clearance_mm=air),
        groove_mm,
    )
    yield f"a groove {length(1)} wider", numbers, groove_mm + 1


def gains_table(
    machine: Machine, numbers: ShoulderNumbers, thread: ThreadToCut, groove_mm: float
) -> pd.DataFrame:
    """The highest speed in the groove as it is and with one thing changed at a time, the most first."""
    own = allowed_rpm(numbers, thread, groove_mm)
    others = [
        (words, allowed_rpm(other, thread, width))
        for words, other, width in changes(machine, numbers, groove_mm)
    ]
    others.sort(key=lambda row: -row[1])
    rows = [("as it is", _rpm(own), "")]
    rows += [(words, _rpm(speed), f"{math.floor(speed) - math.floor(own):+d}") for words, speed in others]
    columns = ["change one thing", f"highest rpm in {numbers.lengths.short(groove_mm)}", "gain"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def slopes_table(numbers: ShoulderNumbers, thread: ThreadToCut, speed_rpm: float) -> pd.DataFrame:
    """How much wider the groove must be for a little more of each cause, at one speed."""
    slopes = groove_slopes(
        speed_rpm, reaction_s=numbers.reaction_s, stopping=numbers.stopping, thread_lead_mm=thread.lead_mm
    )
    rows = [
        ("10 rpm more", 10 * slopes.per_rpm),
        ("0.1 s of reaction more", 0.1 * slopes.per_reaction_second),
        ("0.1 s later brake contact", 0.1 * slopes.per_delay_second),
        ("a brake 10 % weaker", 0.1 * slopes.per_brake_share),
        ("10 % less friction", -0.1 * slopes.per_friction_share),
        (f"a tool {numbers.lengths.short(0.1, 2)} wider beside its point", 0.1),
    ]
    if not numbers.braked:
        rows = [row for row in rows if "brake" not in row[0]]
    heading = f"wider groove, at {speed_rpm:.0f} rpm"
    shown = [(words, numbers.lengths.told(more, 2)) for words, more in rows]
    return pd.DataFrame(shown, columns=["for", heading]).set_index("for")


def _rpm(speed: float) -> str:
    return f"{math.floor(speed)}" if speed > 0 else "tool fills it"
