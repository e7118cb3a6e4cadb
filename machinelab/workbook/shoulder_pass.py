"""The threading pass of a machine, as tables: its events, time, lag and heat; other ways to a shoulder."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from machinelab import tables
from machinelab.errors import MachineFileError
from machinelab.spindle.brake_heat import adiabatic_rise_k, rise_after_stops_k
from machinelab.threads.shoulder import ShoulderJob, ThreadingPass, passes
from machinelab.threads.shoulder_cycle import EVENTS, pass_events, pull_out_mm
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS
from machinelab.threads.shoulder_start import lead_in_mm
from machinelab.workbook.brake_tables import COOLING_TIME_S, RISE_AT_RATING_K, SPECIFIC_HEAT
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shoulder_machine import ShoulderNumbers
from machinelab.workbook.stepper_built import stepper_built
from machinelab.workbook.stepper_numbers import thread_work

# What the force of the cut winds up; common practice, no source.
SPRING_ROOM_MM = 0.02
# Of a thread whose length is not known.
USUAL_TURNS = 20


def one_thread(
    machine: Machine,
    numbers: ShoulderNumbers,
    thread: ThreadToCut,
    *,
    speed_rpm: float,
    groove_mm: float,
    thread_passes: int,
) -> ThreadingPass:
    """Every pass of a thread on the machine, at one speed."""
    return passes(
        speed_rpm * numbers.draws.speed_share,
        reaction_s=numbers.reactions_s,
        stopping=numbers.draws.stopping,
        job=ShoulderJob(
            thread_lead_mm=thread.lead_mm,
            groove_mm=groove_mm,
            tool_half_width_mm=numbers.tool_half_width_mm,
            wall_clearance_mm=numbers.wall_clearance_mm,
            thread_passes=thread_passes,
        ),
        work=work_of(machine, numbers, thread, speed_rpm),
        circuit=numbers.circuit,
    )


def work_of(machine: Machine, numbers: ShoulderNumbers, thread: ThreadToCut, speed_rpm: float):
    """A pass in a thread, as long as the machine file has it, back at the same speed."""
    lead_in = lead_in_mm(
        thread_lead_mm=thread.lead_mm, backlash_mm=numbers.backlash_mm, spring_mm=SPRING_ROOM_MM
    )
    length = thread.length_mm or USUAL_TURNS * float(thread.pitch_mm)
    work = numbers.work(thread_length_mm=length, lead_in_mm=lead_in, return_speed_rpm=speed_rpm)
    return replace(work, **_stepper_in_the_cut(machine, thread, speed_rpm))


def _stepper_in_the_cut(machine: Machine, thread: ThreadToCut, speed_rpm: float) -> dict[str, float]:
    """A full step at the carriage, and the share of the stepper's torque that the heaviest pass asks."""
    try:
        stepper = stepper_built(machine)
    except MachineFileError:
        return {}
    asked_nm = float(stepper.load_nm(thread_work(thread).along_n))
    given_nm = float(stepper.available_nm(stepper.stepper_rpm(speed_rpm, thread.lead_mm)))
    if asked_nm > given_nm:
        return {}
    return {
        "full_step_mm": float(machine.step_mm * stepper.microsteps),
        "torque_share": asked_nm / given_nm,
    }


def pass_table(
    machine: Machine, numbers: ShoulderNumbers, thread: ThreadToCut, speed_rpm: float
) -> pd.DataFrame:
    """An ordinary pass, event by event."""
    events = pass_events(
        speed_rpm,
        reaction_s=float(np.median(numbers.reactions_s)),
        stopping=numbers.stopping,
        thread_lead_mm=thread.lead_mm,
        work=work_of(machine, numbers, thread, speed_rpm),
    )
    rows = [
        (name, f"{float(time):.2f} s", f"{float(turns):.2f}", numbers.lengths.told(travel, 2))
        for name, time, turns, travel in zip(
            EVENTS, events.times_s, events.angles_turns, events.travels_mm, strict=True
        )
    ]
    columns = [f"at {speed_rpm:.0f} rpm", "time", "turns", "carriage"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def heat_table(machine: Machine, found: ThreadingPass, thread_passes: int) -> pd.DataFrame:
    """What two stops in every pass make of the resistor."""
    rows = [
        ("from one pass to the next", f"{found.cycle_s:.1f} s"),
        (f"the whole thread, {thread_passes} passes", f"{found.thread_s / 60:.1f} min"),
    ]
    if np.isfinite(found.following_error_mm):
        rows.append(("carriage behind the spindle in the cut", f"{1000 * found.following_error_mm:.1f} µm"))
    if found.heat is not None:
        rows += _warming(machine, found, thread_passes)
    return pd.DataFrame(rows, columns=["", "time, lag and heat"]).set_index("")


def _warming(machine: Machine, found: ThreadingPass, thread_passes: int) -> Iterator[tuple[str, str]]:
    energy_j = float(found.heat.resistor_energy_j)
    yield "into the resistor in one pass, two stops", f"{energy_j:.3g} J"
    yield "its mean power", f"{float(found.heat.mean_power_w):.2g} W"
    yield "its power at the first moment", f"{found.heat.peak_power_w:.3g} W"
    rating = machine.brake.resistor_rating_w
    if rating is None:
        return
    # What stores the heat: at its rating the body loses as much as it gets, with its cooling time.
    mass_kg = rating * COOLING_TIME_S / (RISE_AT_RATING_K * SPECIFIC_HEAT)
    rise_k = adiabatic_rise_k(energy_j, heated_mass_kg=mass_kg, specific_heat_j_per_kg_k=SPECIFIC_HEAT)
    after = rise_after_stops_k(
        rise_k, stops=thread_passes, period_s=found.cycle_s, cooling_time_s=COOLING_TIME_S
    )
    yield f"warmer after the last pass ({rating:g} W body, roughly)", f"{float(after):.2g} K"


def emergency_table() -> pd.DataFrame:
    """What an emergency stop in the middle of a pass does to thread and shoulder, wiring by wiring."""
    rows = [
        (row["wiring"], row["in_the_pass"], row["afterwards"]) for row in tables.read("emergency_wirings")
    ]
    columns = ["if the emergency stop leaves", "in the middle of a pass", "afterwards"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def ways_table(
    machine: Machine, numbers: ShoulderNumbers, thread: ThreadToCut, speed_rpm: float
) -> pd.DataFrame:
    """A groove, a tool pulled out without one, and cutting away from the shoulder, side by side."""
    found = one_thread(machine, numbers, thread, speed_rpm=speed_rpm, groove_mm=np.nan, thread_passes=1)
    lead = abs(float(thread.lead_mm))
    fading = float(pull_out_mm(speed_rpm, retract_s=numbers.retract_s, thread_lead_mm=lead))
    early, late = np.quantile(numbers.reactions_s, (1 - NEARLY_ALWAYS, NEARLY_ALWAYS))
    wandering = speed_rpm / 60 * (late - early) * lead
    length = numbers.lengths.told
    whole_tool = 2 * numbers.tool_half_width_mm + numbers.wall_clearance_mm
    rows = [
        (
            "towards the shoulder, into a groove",
            f"groove of {length(found.groove_mm.in_99_mm, 1)}",
            "stop, then draw the tool back, and only then reverse",
        ),
        (
            "towards the shoulder, pulled out while it turns",
            f"the thread fades over {length(fading, 1)} and its end wanders by {length(wandering, 1)}",
            "only where the nut need not reach the shoulder; the spindle must still stop before the wall",
        ),
        (
            "away from the shoulder, spindle backwards, tool upside down or behind",
            f"groove of {length(whole_tool, 1)}, for the whole tool to start in",
            _chuck_words(machine),
        ),
    ]
    columns = [f"at {speed_rpm:.0f} rpm", "room it takes", "mind"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def _chuck_words(machine: Machine) -> str:
    if machine.spindle.nose == "screw-on":
        return "this chuck screws on and can unscrew: not without a clamp that holds it in reverse"
    if machine.spindle.nose in (None, "not known"):
        return "a chuck that screws on can unscrew: not without a clamp that holds it in reverse"
    return "the chuck is held in both directions; reaction and run-on then end in free air"
