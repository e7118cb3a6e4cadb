"""Where to take the readings along a screw, and what they mean for threads and for the machine file."""

from fractions import Fraction

from machinelab.leadscrew.backlash import periodic_targets_mm, take_up_mm, trimmed_lead_mm
from machinelab.workbook.axis_results import AxisResult
from machinelab.workbook.machine import fields
from machinelab.workbook.shop_lengths import ShopLengths

# What screw and bearing give under a light threading cut; common practice, no source.
USUAL_SPRING_MM = 0.01
# Leads of the thread in hand before a pass begins; common practice, no source.
MARGIN_LEADS = 1.0


def where_to_read(screw_lead_mm: float, lengths: ShopLengths) -> str:
    """Places for the two rows of readings on a screw."""
    close = ", ".join(lengths.number(place, 2) for place in periodic_targets_mm(screw_lead_mm, turns=1)[:-1])
    return (
        "**Along the bed**: five places or more, spread over the travel, *not* whole turns of the screw "
        f"({lengths.short(screw_lead_mm, 5)}) apart; five runs from either side at each.\n\n**Within a "
        "turn**, if you look for an error of every turn: every "
        f"{lengths.told(screw_lead_mm / 8, 3)} over three turns, that is at {close} {lengths.unit} and so "
        "on, from the same side."
    )


def for_threading(found: AxisResult, longest_lead_mm: float) -> list[str]:
    """How far to send the carriage back for every thread of a machine."""
    play = found.evaluated.reversal_um / 1000
    start = float(take_up_mm(play, spring_mm=USUAL_SPRING_MM, margin_mm=MARGIN_LEADS * longest_lead_mm))
    return [
        f"For threading, send the carriage back {found.limits.lengths.told(start, 2)} beyond the start of "
        "the thread and correct nothing: every pass cuts on the same flank. A correcting move inside a "
        "thread would spoil it."
    ]


def for_the_file(found: AxisResult, screw_lead_mm: Fraction) -> list[str]:
    """What to type on page 01, and the screw's true lead where it is proven."""
    error, lengths = found.evaluated.lead_error_ppm, found.limits.lengths
    called = {line.path: line.label for line in fields()}
    play = lengths.told(found.evaluated.reversal_um / 1000, 2)
    lines = [
        f"On the page *01 machine as built* type `{play}` into *{called['carriage.backlash']}* and "
        f"`{lengths.slope(error.value)}` into *{called['leadscrew.lead_error']}*."
    ]
    if error.interval[0] * error.interval[1] > 0:
        trimmed = float(trimmed_lead_mm(screw_lead_mm, round(error.value)))
        lines.append(
            f"The screw's true lead is {trimmed:.6f} mm against {float(screw_lead_mm):g} mm: enter it only "
            "for feeds and for threads longer than a nut. Measure again afterwards; the slope must vanish at "
            "once."
        )
    return lines
