"""Tables for a thread up to a shoulder: standard grooves, what gains most, the pass in its order, heat."""

import math
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pandas as pd

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.spindle.brake_heat import adiabatic_rise_k, rise_after_stops_k
from machinelab.threads.shoulder import ShoulderJob, ThreadingPass, passes
from machinelab.threads.shoulder_cycle import EVENTS, pass_events, pull_out_mm
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS, standard_groove_mm
from machinelab.threads.shoulder_speed import groove_slopes
from machinelab.threads.shoulder_start import lead_in_mm
from machinelab.threads.shoulder_stop import braked_by_resistor
from machinelab.units import show
from machinelab.workbook.brake_numbers import NEEDED, brake_numbers
from machinelab.workbook.brake_tables import COOLING_TIME_S, RISE_AT_RATING_K, SPECIFIC_HEAT
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shoulder_machine import COUNT, ShoulderNumbers
from machinelab.workbook.shoulder_numbers import groove_limit_rpm

STANDARD_PITCHES_MM = tuple(Fraction(hundredths, 100) for hundredths in (50, 75, 100, 125, 150, 200, 300))
SPRING_ROOM_MM = 0.02
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
    half = numbers.tool_half_width_mm / 2
    yield (
        f"a tool {half:g} mm beside its point in place of {2 * half:g} mm",
        replace(numbers, tool_half_width_mm=half),
        groove_mm,
    )
    air = numbers.wall_clearance_mm / 2
    yield (
        f"{air:g} mm of air at the wall in place of {2 * air:g} mm",
        replace(numbers, wall_clearance_mm=air),
        groove_mm,
    )
    yield "a groove one millimetre wider", numbers, groove_mm + 1


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
    columns = ["change one thing", f"highest rpm in {groove_mm:.3g} mm", "gain"]
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
        ("a tool 0.1 mm wider beside its point", 0.1),
    ]
    if not numbers.braked:
        rows = [row for row in rows if "brake" not in row[0]]
    heading = f"wider groove, at {speed_rpm:.0f} rpm"
    shown = [(words, f"{float(more):.2f} mm") for words, more in rows]
    return pd.DataFrame(shown, columns=["for", heading]).set_index("for")


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
    length = thread.length_mm or 20 * float(thread.pitch_mm)
    return numbers.work(thread_length_mm=length, lead_in_mm=lead_in, return_speed_rpm=speed_rpm)


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
        (name, f"{float(time):.2f} s", f"{float(turns):.2f}", f"{float(travel):.2f} mm")
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
    if found.heat is not None:
        rows += _warming(machine, found, thread_passes)
    return pd.DataFrame(rows, columns=["", "time and heat"]).set_index("")


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
    whole_tool = 2 * numbers.tool_half_width_mm + numbers.wall_clearance_mm
    rows = [
        (
            "towards the shoulder, into a groove",
            f"groove of {found.groove_mm.in_99_mm:.1f} mm",
            "stop, then draw the tool back, and only then reverse",
        ),
        (
            "towards the shoulder, pulled out while it turns",
            f"the thread fades over {fading:.1f} mm and its end wanders by {wandering:.1f} mm",
            "only where the nut need not reach the shoulder; the spindle must still stop before the wall",
        ),
        (
            "away from the shoulder, spindle backwards, tool upside down or behind",
            f"groove of {whole_tool:.1f} mm, for the whole tool to start in",
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


def _rpm(speed: float) -> str:
    return f"{math.floor(speed)}" if speed > 0 else "tool fills it"
