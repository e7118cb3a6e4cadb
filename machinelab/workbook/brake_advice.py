"""What a measured brake means for the machine, in plain words, the most pressing first."""

import math
from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from machinelab.controls.residual_voltage import bleed_resistor_limit_ohm, bleed_time_s, recharge_speed_rpm
from machinelab.spindle.brake_chuck import SHORTEST_STOP_S
from machinelab.spindle.brake_design import late_stop, resistor_for_current_ohm, two_stage_stop
from machinelab.units import show
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.brake_tables import belt_words, chuck_words, hot_stop, nearest, top_stop
from machinelab.workbook.braked_result import BrakedResult
from machinelab.workbook.machine import Machine
from machinelab.workbook.shop_lengths import shop_lengths

# Beyond this share, something in the machine file is not as it is; common practice, no source.
OFF_SHARE = 0.05
# Electrolytics, resistors and mains at the ends of their tolerance; common practice, no source.
LARGEST_CAPACITANCE, LARGEST_RESISTANCE, HIGHEST_MAINS = 1.2, 1.05, 1.1
BLED_WITHIN_S = 5.0


def what_a_brake_would_change(numbers: BrakeNumbers, free_s: float) -> str:
    """For a machine without a brake: what one would do."""
    braked = late_stop(
        numbers.top_rpm, contact_delay_s=numbers.contact_delay_s, **numbers.circuit, **numbers.drags
    )
    return (
        f"This machine has no brake. A resistor of {numbers.resistor_ohm:.3g} ohm across the motor would "
        f"bring the spindle from {numbers.top_rpm:.0f} rpm to rest in {float(braked.time_s):.2g} s instead "
        f"of {free_s:.3g} s, with {float(braked.peak_current_a):.2g} A at the first moment. What stands "
        "below is worked out for that resistor; nothing is asked of you."
    )


def stop_in_time(result: BrakedResult, wanted_s: float | None, top_rpm: float) -> Iterator[str]:
    """Whether it stops in the owner's time, and from which speed it does."""
    if wanted_s is None:
        return
    fit = result.fit
    furthest = min(top_rpm, 1.5 * fit.tested_rpm)
    speeds = np.linspace(1.0, furthest, 400)
    latest = fit.stop_time_s(speeds).interval[1]
    if latest[-1] <= wanted_s:
        yield f"It stops within {wanted_s:g} s from every speed up to {furthest:.0f} rpm."
        return
    kept = speeds[latest <= wanted_s]
    if kept.size:
        yield f"It stops within {wanted_s:g} s only from {kept[-1]:.0f} rpm down."
    else:
        yield f"It stops within {wanted_s:g} s from no speed: friction alone ends the stop too slowly."
    yield from _what_would_help(result.numbers, wanted_s)


def _what_would_help(numbers: BrakeNumbers, wanted_s: float) -> Iterator[str]:
    limit = nearest(numbers)
    if limit is None:
        return
    circuit = {name: value for name, value in numbers.circuit.items() if name != "resistor_ohm"}
    least_ohm = float(
        resistor_for_current_ohm(
            limit.limit_a,
            start_speed_rpm=numbers.top_rpm,
            **{name: value for name, value in circuit.items() if name != "inertia_kg_m2"},
        )
    )
    one = late_stop(
        numbers.top_rpm,
        contact_delay_s=numbers.contact_delay_s,
        resistor_ohm=least_ohm,
        **circuit,
        **numbers.drags,
    )
    two = two_stage_stop(
        numbers.top_rpm,
        resistor_ohm=least_ohm,
        second_resistor_ohm=least_ohm / 4,
        **circuit,
        **numbers.drags,
    )
    two_s = float(two.time_s) + numbers.contact_delay_s
    yield (
        f"The smallest resistor that the nearest limit allows ({limit.concern}, {limit.limit_a:.3g} A) has "
        f"{least_ohm:.3g} ohm: {float(one.time_s):.2f} s from {numbers.top_rpm:.0f} rpm, the contact as "
        f"designed. With a second stage of a quarter of that, switched in at "
        f"{float(two.switch_speed_rpm):.0f} rpm: {two_s:.2f} s."
    )
    if min(float(one.time_s), two_s) > wanted_s:
        yield (
            "Neither is enough from the top speed: work at a lower speed, allow more time, or accept that "
            "the guard and not the brake keeps hands away."
        )


def contact(result: BrakedResult, threading_rpm: float, top_rpm: float) -> Iterator[str]:
    """Whether the brake comes in when it should."""
    if not result.contact_is_late:
        return
    fit, designed = result.fit, result.numbers.contact_delay_s
    yield (
        f"The brake comes in {fit.contact_delay_s.value:.2f} s after the drive lets go, not {designed:g} s: "
        f"that alone costs {result.turns_lost(threading_rpm):.2g} turns at {threading_rpm:.0f} rpm and "
        f"{result.turns_lost(top_rpm):.2g} at {top_rpm:.0f} rpm. A plain diode across the relay's coil "
        "does that: put a zener diode in series with it, or a resistor and capacitor in its place. Then "
        "look for a worn contact, and measure again."
    )


def circuit_off(result: BrakedResult) -> Iterator[str]:
    """Whether the brake bites as the machine file says."""
    measured = result.fit.brake_time_constant_s
    share = measured.value / result.time_constant_s - 1
    if abs(share) <= OFF_SHARE:
        return
    yield (
        f"The brake bites {abs(share):.0%} {'less' if share > 0 else 'more'} than the machine file makes "
        "likely: the ohms (leads and contact count), the back EMF or the inertia differ. Read together with "
        f"the circuit, this run gives an inertia of {result.inertia_kg_m2.value:.3g} kg m²."
    )


def chuck(numbers: BrakeNumbers, machine: Machine) -> Iterator[str]:
    """What a screw-on chuck says to such a brake."""
    told = chuck_words(numbers, machine)
    if told is None:
        return
    yield told
    quickest = float(top_stop(numbers).time_s)
    if quickest < SHORTEST_STOP_S:
        yield (
            f"Owners of screw-on chucks without a clamp allow no stop shorter than {SHORTEST_STOP_S:g} s "
            f"(reports, no source); this one would take {quickest:.2g} s."
        )


def what_bears_it(numbers: BrakeNumbers, machine: Machine) -> Iterator[str]:
    """Chuck, belt, hot resistor and charged capacitors."""
    yield from chuck(numbers, machine)
    if not math.isinf(numbers.slip_torque_nm):
        yield belt_words(numbers)
    hot = float(hot_stop(numbers).turns / top_stop(numbers).turns - 1)
    yield f"Hot winding and hot resistor make the stop {hot:.0%} longer in turns; size it for that."
    yield from capacitors(machine)
    recharge = float(recharge_speed_rpm(spindle_emf_v_s_per_rad=numbers.spindle_emf_v_s_per_rad))
    if recharge < numbers.top_rpm:
        yield (
            f"Above {recharge:.0f} rpm the coasting motor makes more than 60 V and charges the drive's "
            "capacitors again: nothing in there is dead before the spindle stands."
        )


def capacitors(machine: Machine) -> Iterator[str]:
    """How long the drive's capacitors stay dangerous once the supply is off."""
    bus = machine.bus
    if bus.voltage_v is None or bus.capacitance_f is None or bus.bleed_resistor_ohm is None:
        return
    worst_s = float(
        bleed_time_s(
            capacitance_f=LARGEST_CAPACITANCE * bus.capacitance_f,
            bleed_resistor_ohm=LARGEST_RESISTANCE * bus.bleed_resistor_ohm,
            bus_voltage_v=HIGHEST_MAINS * bus.voltage_v,
        )
    )
    most_ohm = float(
        bleed_resistor_limit_ohm(
            BLED_WITHIN_S,
            capacitance_f=LARGEST_CAPACITANCE * bus.capacitance_f,
            bus_voltage_v=HIGHEST_MAINS * bus.voltage_v,
        )
    )
    cure = (
        ""
        if worst_s <= BLED_WITHIN_S
        else (
            f" That is longer than {BLED_WITHIN_S:g} s: fit at most {_kilohm(most_ohm / LARGEST_RESISTANCE)} "
            "as a bleed resistor, or a durable notice beside the lid with the time to wait."
        )
    )
    yield (
        f"Once the supply is off, the drive's capacitors are below 60 V after {worst_s:.2g} s at worst, as "
        f"long as their bleed resistor of {_kilohm(bus.bleed_resistor_ohm)} is whole, which nobody can see: "
        f"measure before touching (IEC 60204-1, 6.2.4, as quoted by secondary pages).{cure}"
    )


def _kilohm(resistance_ohm: float) -> str:
    return f"{resistance_ohm / 1000:.2g} kohm"


def in_a_thread(result: BrakedResult, machine: Machine, threading_rpm: float) -> str:
    """How far the tool travels on in the first thread of the list."""
    leads = [abs(thread.turning_lead_mm) for thread in machine.threads if thread.turning_lead_mm]
    lead = leads[0] if leads else Fraction(1)
    turns = float(result.fit.turns_to_stop(threading_rpm).value)
    return (
        f"At {threading_rpm:.0f} rpm the spindle makes {turns:.2f} turns after the drive lets go: in a "
        f"thread with a lead of {show(lead, 'mm', kind='lead')} the tool travels "
        f"{shop_lengths(machine).short(float(turns * lead), 2)} further, before your hand's own delay."
    )
