"""What a thread up to a shoulder asks of this machine, in plain words, the most pressing first."""

import math
from collections.abc import Iterator

from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.coast_law import coast_turns
from machinelab.threads.shoulder_groove import standard_groove_mm
from machinelab.workbook import stepper_numbers
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shoulder_machine import COUNT, HAND, OWN, ShoulderNumbers
from machinelab.workbook.shoulder_sheet import SheetRow
from machinelab.workbook.shoulder_tables import STANDARD_PITCHES_MM, allowed_rpm, changes

# From this pitch on the tool is a small part of the groove.
LEAST_PITCH_MM = 1
LATE_SHARE = 1.1
MOST_WAYS = 4


def begun(machine: Machine, numbers: ShoulderNumbers) -> str:
    """How a pass ends on this machine."""
    ended = {
        COUNT: f"The controller ends each pass at a count, {1000 * numbers.reaction_s:.0f} ms late",
        HAND: f"You end each pass by hand, with a usual reaction of {numbers.reaction_s:.2f} s",
        OWN: f"By your own stops a pass is ended {numbers.reaction_s:.2f} s after the end of the thread",
    }[numbers.stopped_by]
    if numbers.braked:
        return f"{ended}, and the brake stops the spindle."
    turns = float(coast_turns(numbers.lowest_rpm * RPM, **numbers.stopping.drags))
    return (
        f"{ended}. **This machine has no brake:** friction alone ends the pass, and from "
        f"{numbers.lowest_rpm:.0f} rpm, the slowest steady speed, the spindle still makes {turns:.2g} turns."
    )


def one_number(numbers: ShoulderNumbers) -> str:
    """The headline: written in turns, the standard's groove leaves nearly the same room at every pitch."""
    pitches = [pitch for pitch in STANDARD_PITCHES_MM if pitch >= LEAST_PITCH_MM]
    speeds = [
        allowed_rpm(
            numbers,
            ThreadToCut.model_construct(pitch_mm=pitch, starts=1, hand="right"),
            float(standard_groove_mm(float(pitch))),
        )
        for pitch in pitches
    ]
    if max(speeds) < numbers.lowest_rpm:
        return (
            "In no standard groove is any steady speed slow enough on this machine as it stands; *Decide* "
            "below says what would change that."
        )
    return (
        f"**From {float(pitches[0]):g} mm pitch up, {int(min(speeds))} to {int(max(speeds))} rpm "
        "in a regular groove: nearly one number for the whole machine.** A groove of so many pitches is a "
        "groove of so many turns, whatever the pitch; only the tool's own width weighs more in fine threads."
    )


def told(machine: Machine, numbers: ShoulderNumbers, rows: tuple[SheetRow, ...]) -> Iterator[str]:
    """What to set and what to change."""
    yield from _late_contact(machine, numbers)
    threads = [one for one in machine.threads if one.pitch_mm]
    for row, thread in zip(rows, threads, strict=True):
        yield row.line if row.speed.feasible else _what_would_do(machine, numbers, row, thread)
    if numbers.stopped_by == HAND:
        yield "The hand is a usual one, not yours: make twenty stops on scrap before you trust these figures."
    if not numbers.braked:
        yield (
            "Without a brake the last turns can be made by hand: stop well short of the end, lock the drive "
            "of the spindle off while stepper and controller stay live, and pull the chuck round. Or cut "
            "away from the shoulder."
        )
    yield from _reversing(machine)


def _late_contact(machine: Machine, numbers: ShoulderNumbers) -> Iterator[str]:
    designed, found = machine.brake.contact_delay_s, float(numbers.stopping.contact_delay_s)
    if not numbers.braked or designed is None or found <= LATE_SHARE * designed:
        return
    yield (
        f"The brake comes in {found:.2f} s after the drive lets go and not {designed:g} s, as designed; all "
        "that while the tool travels on. Mend the contact first (step 06): every thread gains by it."
    )


def _what_would_do(machine: Machine, numbers: ShoulderNumbers, row: SheetRow, thread: ThreadToCut) -> str:
    groove = row.speed.groove.width_mm
    lowest = numbers.lowest_rpm
    speeds = {
        words: allowed_rpm(other, thread, width) for words, other, width in changes(machine, numbers, groove)
    }
    best = sorted((words for words in speeds if speeds[words] >= lowest), key=speeds.get, reverse=True)
    helped = [f"{words} ({math.floor(speeds[words])} rpm)" for words in best[:MOST_WAYS]]
    ways = f" Any one of these would do: {'; '.join(helped)}." if helped else " No single change is enough."
    return f"{row.line}{ways}"


def _reversing(machine: Machine) -> Iterator[str]:
    if machine.spindle.nose == "screw-on":
        yield (
            "The way back runs the spindle backwards, and this chuck screws on: clamp it, start backwards "
            "gently, and never brake hard on the way out."
        )
    limits = (stepper_numbers.highest_speed(machine, one) for one in machine.threads if one.pitch_mm)
    known = [one.speed_rpm for one in limits if math.isfinite(one.speed_rpm)]
    if known:
        yield (
            f"Turn back no faster than {math.floor(min(known))} rpm, whatever the thread: the stepper must "
            "follow on the way back as well."
        )
    yield "Draw the tool back before the spindle reverses: the backlash would drag it through the thread."
