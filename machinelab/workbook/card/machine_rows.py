"""The card of a machine: a row for each thread of its list, from what the other steps have found."""

import math
from datetime import date

import numpy as np

from machinelab.errors import MachinelabError
from machinelab.leadscrew.gearing import nearest_ratio, pitch_error_ppm
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS
from machinelab.threads.shoulder_stop import overtravel_turns, run_on
from machinelab.workbook.card import Card
from machinelab.workbook.card.row import CardRow
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.pages.gearing import USUAL_LARGEST
from machinelab.workbook.record import Record
from machinelab.workbook.shoulder_machine import ShoulderNumbers, shoulder_numbers
from machinelab.workbook.shoulder_numbers import highest_speed
from machinelab.workbook.thread_plan import thread_plan

NO_RECORD = "nothing in the record yet"
MARK_LETTERS = 8


def card_of(machine: Machine, numbers: ShoulderNumbers | None = None, *, day: date | None = None) -> Card:
    """The threading card of a machine, with a person's own hand where its numbers are given; made today."""
    numbers = numbers or shoulder_numbers(machine)
    rows = tuple(
        card_row(machine, thread, numbers, f"thread {count}")
        for count, thread in enumerate(machine.threads, start=1)
        if thread.pitch_mm
    )
    day = day or date.today()
    made = f"{day.day} {day:%B %Y}"
    return Card(machine.name, made, record_words(machine), rows)


def record_words(machine: Machine) -> str:
    """The latest line of the machine's record, and a mark of its machine file."""
    try:
        lines = Record(machine.folder).lines_in_force() if machine.folder else ()
    except MachinelabError:
        lines = ()
    latest = f"record {max(lines, key=lambda line: line.time).id}" if lines else NO_RECORD
    return f"{latest} · machine file {machine.fingerprint()[:MARK_LETTERS]}"


def card_row(machine: Machine, thread: ThreadToCut, numbers: ShoulderNumbers, else_called: str) -> CardRow:
    """The row of one thread whose pitch is known."""
    plan = thread_plan(machine, thread)
    speed = highest_speed(machine, thread, numbers)
    wanted = machine.steps_per_count(thread)
    used = nearest_ratio(wanted, *largest_numbers(machine)) if wanted else None
    schedule = plan.schedule
    return CardRow(
        designation=thread.designation or thread.name or else_called,
        name=(thread.name or "") if thread.designation else "",
        pitch_mm=thread.pitch_mm,
        starts=thread.starts or 1,
        left_hand=thread.hand == "left",
        wanted=wanted,
        used=used,
        error_ppm=pitch_error_ppm(used, wanted) if used else math.nan,
        screw_error_ppm=_or_missing(machine.leadscrew.lead_error_ppm),
        speed_rpm=speed.speed_rpm,
        limit=speed.limit,
        why_not=speed.why_not,
        groove_mm=speed.groove.width_mm,
        groove_from=speed.groove.where_from,
        run_out_mm=run_out_mm(numbers, thread, speed.speed_rpm),
        depths_mm=schedule.depths_mm if schedule else (),
        spring_passes=schedule.spring_passes if schedule else 0,
        blank_mm=plan.blank_mm,
        tool=plan.tool,
        wire_mm=plan.wire_mm,
        over_wires_mm=plan.over_wires_mm,
        measured_against=plan.measured_against,
        notes=(*plan.notes, *_about_hand(thread, plan.thread)),
        lengths=plan.lengths,
    )


def run_out_mm(numbers: ShoulderNumbers, thread: ThreadToCut, speed_rpm: float) -> float:
    """How far past the end of the thread the tool comes to rest in 99 passes of 100; NaN without a speed."""
    if math.isnan(speed_rpm):
        return math.nan
    draws = numbers.draws
    speeds = speed_rpm * np.asarray(draws.speed_share, dtype=float)
    ran_on = run_on(speeds, stopping=draws.stopping).run_on_turns
    past = overtravel_turns(speeds, reaction_s=numbers.reactions_s, run_on_turns=ran_on)
    return max(float(np.quantile(past, NEARLY_ALWAYS)), 0.0) * float(abs(thread.lead_mm))


def largest_numbers(machine: Machine) -> tuple[int, int]:
    """The largest numerator and denominator that the controller holds; a common size until it is known."""
    held = machine.controller
    return held.largest_numerator or USUAL_LARGEST, held.largest_denominator or USUAL_LARGEST


def _about_hand(thread: ThreadToCut, named) -> tuple[str, ...]:
    if named is None or named.hand == (thread.hand or "right"):
        return ()
    return (
        f"The designation says {named.hand} hand, the list {thread.hand or 'right'}: put it right first.",
    )


def _or_missing(number: float | None) -> float:
    return math.nan if number is None else number
