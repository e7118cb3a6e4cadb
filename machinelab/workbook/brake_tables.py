"""What the brake is held against: limits of the first moment, heat of a morning, two stages."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd

from machinelab.spindle.brake import Stop, stop
from machinelab.spindle.brake_chuck import chuck_inertia_kg_m2, seating_torque_needed_nm
from machinelab.spindle.brake_circuit import RPM, brake_time_constant_s
from machinelab.spindle.brake_design import two_stage_stop
from machinelab.spindle.brake_heat import (
    adiabatic_rise_k,
    average_power_w,
    hot_resistor_ohm,
    steady_peak_rise_k,
)
from machinelab.spindle.brake_limits import (
    CurrentLimit,
    belt_torque_nm,
    binding_limit,
    current_at_deceleration_a,
    resistor_pulse_current_a,
)
from machinelab.spindle.motor_temperature import hot_resistance_ohm
from machinelab.workbook.brake_numbers import BrakeNumbers, motor_limits_a
from machinelab.workbook.machine import Machine
from machinelab.workbook.torque_words import torque_words

# From stop to stop while threading, and a wirewound body; common practice, no source.
USUAL_PERIOD_S = 20.0
COOLING_TIME_S = 240.0
SPECIFIC_HEAT = 900.0
# Warming of a wirewound resistor at its rating, in free air; from memory (200 to 350 degC at its surface).
RISE_AT_RATING_K = 250.0
BOXED_SHARE = 0.5
HOT_WINDING_DEGC = 100.0

MAGNETS = "magnets"
COMMUTATOR = "brushes and commutator"
PULSE = "resistor, first second"
CONTACT = "contact, making"
BELT = "belt, before it slips"


def top_stop(numbers: BrakeNumbers) -> Stop:
    """The stop from the top speed, brake in at once: the hardest that the machine will see."""
    return stop(numbers.top_rpm, **numbers.circuit, **numbers.drags)


def current_limits(numbers: BrakeNumbers) -> dict[str, float]:
    """Each limit of the first moment from the top speed, NaN where it is not known; none for teeth."""
    magnets_a, commutator_a = motor_limits_a(numbers)
    circuit = {name: value for name, value in numbers.circuit.items() if name != "brush_drop_v"}
    limits = {
        MAGNETS: magnets_a,
        COMMUTATOR: commutator_a,
        PULSE: float(
            resistor_pulse_current_a(
                numbers.resistor_rating_w,
                resistor_ohm=numbers.resistor_ohm,
                brake_time_constant_s=brake_time_constant_s(**circuit),
            )
        ),
        CONTACT: numbers.contact_makes_a,
        BELT: belt_limit_a(numbers),
    }
    return {concern: limit for concern, limit in limits.items() if not math.isinf(limit)}


def belt_limit_a(numbers: BrakeNumbers) -> float:
    """Brake current at which the belt begins to slip; NaN where it is not known, infinite for teeth."""
    ratio = numbers.motor_turns_per_spindle_turn
    return float(
        current_at_deceleration_a(
            numbers.slip_torque_nm * ratio / numbers.driven_inertia_kg_m2,
            free_deceleration_rad_s2=numbers.free_deceleration_rad_s2(numbers.top_rpm),
            inertia_kg_m2=numbers.inertia_kg_m2,
            spindle_emf_v_s_per_rad=numbers.spindle_emf_v_s_per_rad,
        )
    )


WHERE_FROM = {
    MAGNETS: "three times the rated current, where the plate says no more (from memory)",
    COMMUTATOR: "two and a half times the rated current, less above rated speed (from memory)",
    PULSE: "five times its rating for a second (from memory; the data sheet's pulse curve comes first)",
    CONTACT: "machine file",
    BELT: "machine file; derived here from the torque at which it slips",
}


def nearest(numbers: BrakeNumbers) -> CurrentLimit | None:
    """The limit that binds."""
    return binding_limit(current_limits(numbers))


def limits_table(numbers: BrakeNumbers) -> pd.DataFrame:
    """The peak current from the top speed against every limit."""
    peak = float(top_stop(numbers).peak_current_a)
    rows = [
        (concern, _amperes(peak), _amperes(limit), _against(peak, limit), WHERE_FROM[concern])
        for concern, limit in current_limits(numbers).items()
    ]
    columns = ["what bears it", "peak", "bears", "so", "where from"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def heat_table(numbers: BrakeNumbers, threading_rpm: float) -> pd.DataFrame:
    """Where the energy of one stop goes, and what a steady rhythm of them makes of resistor and winding."""
    speeds = (numbers.top_rpm, threading_rpm)
    columns = [dict(_heat(numbers, stop(rpm, **numbers.circuit, **numbers.drags))) for rpm in speeds]
    table = pd.DataFrame(columns, index=[f"one stop from {rpm:.0f} rpm" for rpm in speeds]).T
    return table.rename_axis("")


def _heat(numbers: BrakeNumbers, one: Stop):
    yield "resistor", f"{float(one.resistor_energy_j):.3g} J"
    yield "motor's winding", f"{float(one.armature_energy_j):.3g} J"
    yield "brushes", f"{float(one.brush_energy_j):.3g} J"
    yield "bearings, belt and air", f"{float(one.friction_energy_j):.3g} J"
    yield from _warming(numbers, float(one.resistor_energy_j))
    winding_w = average_power_w(float(one.armature_energy_j), period_s=USUAL_PERIOD_S)
    yield "winding's mean power, on top of the work's", _watts(winding_w)


def _warming(numbers: BrakeNumbers, energy_j: float):
    mean_w = average_power_w(energy_j, period_s=USUAL_PERIOD_S)
    yield f"mean power, a stop every {USUAL_PERIOD_S:g} s", _watts(mean_w)
    if math.isnan(numbers.resistor_rating_w):
        yield "rating to look for, boxed in", f"at least {_watts(mean_w / BOXED_SHARE)}"
        return
    # What stores the heat: at its rating the body loses as much as it gets, with its cooling time.
    mass_kg = numbers.resistor_rating_w * COOLING_TIME_S / (RISE_AT_RATING_K * SPECIFIC_HEAT)
    rise_k = adiabatic_rise_k(energy_j, heated_mass_kg=mass_kg, specific_heat_j_per_kg_k=SPECIFIC_HEAT)
    peak_k = float(steady_peak_rise_k(rise_k, period_s=USUAL_PERIOD_S, cooling_time_s=COOLING_TIME_S))
    share = mean_w / (BOXED_SHARE * numbers.resistor_rating_w)
    yield "share of its rating, boxed in", f"{100 * share:.2g} %"
    yield "warming by one stop", _kelvins(rise_k)
    yield "warming after a long morning", f"{_kelvins(peak_k)}, {_kelvins(peak_k / BOXED_SHARE)} boxed in"


def hot_stop(numbers: BrakeNumbers) -> Stop:
    """The same stop with winding and resistor hot: what an emergency at the end of a morning gets."""
    hot = replace(
        numbers,
        armature_resistance_ohm=float(
            hot_resistance_ohm(numbers.armature_resistance_ohm, winding_degc=HOT_WINDING_DEGC)
        ),
        resistor_ohm=float(hot_resistor_ohm(numbers.resistor_ohm, resistor_rise_k=RISE_AT_RATING_K)),
    )
    return top_stop(hot)


def stages_table(numbers: BrakeNumbers) -> pd.DataFrame:
    """One resistor against two in turn, from the top speed."""
    one = top_stop(numbers)
    rows = [("one resistor", "", _seconds(one.time_s), _turns(one.turns))]
    for share in (1 / 2, 1 / 4, 1 / 8):
        second = share * numbers.resistor_ohm
        two = two_stage_stop(numbers.top_rpm, second_resistor_ohm=second, **numbers.circuit, **numbers.drags)
        switch = f"at {float(two.switch_speed_rpm):.0f} rpm"
        rows.append((f"then {second:.3g} ohm", switch, _seconds(two.time_s), _turns(two.turns)))
    ideal = float((numbers.top_rpm * RPM) ** 2 / (2 * one.peak_deceleration_rad_s2) / (2 * np.pi))
    rows.append(("as hard all the way (no brake does better)", "", "", _turns(ideal)))
    columns = [f"from {numbers.top_rpm:.0f} rpm", "switch over", "time", "turns"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def chuck_words(numbers: BrakeNumbers, machine: Machine) -> str | None:
    """What a screw-on chuck has to bear; None where the chuck is held in another way."""
    spindle = machine.spindle
    if spindle.nose not in ("screw-on", "not known", None):
        return None
    if spindle.chuck_mass_kg is None or spindle.chuck_diameter_mm is None:
        return (
            "If the chuck screws on: with its mass and diameter in the machine file this page can say how "
            "tight it must sit. Until then brake gently or fit a clamp."
        )
    inertia = chuck_inertia_kg_m2(spindle.chuck_mass_kg, chuck_diameter_mm=spindle.chuck_diameter_mm)
    slowing = float(top_stop(numbers).peak_deceleration_rad_s2)
    needed = float(seating_torque_needed_nm(slowing, chuck_inertia_kg_m2=inertia))
    return (
        f"Braked from {numbers.top_rpm:.0f} rpm, its own momentum pulls the chuck with "
        f"{torque_words(needed / 3)} the way it unscrews. To bear that three times over it must have been "
        f"screwed home with {torque_words(needed)} at the least, and after light cuts nobody knows how tight "
        "it sits. Fit a clamp, or take a larger resistor."
    )


def belt_words(numbers: BrakeNumbers) -> str:
    """What the belt has to carry at the first moment, beside what it carries at the motor's rated current."""
    ratio = numbers.motor_turns_per_spindle_turn
    torque = float(
        belt_torque_nm(
            float(top_stop(numbers).peak_deceleration_rad_s2),
            driven_inertia_kg_m2=numbers.driven_inertia_kg_m2,
            motor_turns_per_spindle_turn=ratio,
        )
    )
    told = f"At the first moment the belt must hold {torque_words(torque)} at the motor's pulley"
    if not math.isnan(numbers.slip_torque_nm):
        told += f"; it slips at {torque_words(numbers.slip_torque_nm)}"
    elif not math.isnan(numbers.rated_current_a):
        usual = numbers.rated_current_a * numbers.spindle_emf_v_s_per_rad / ratio
        told += f", {torque / usual:.2g} times what it carries at the motor's rated current"
    return f"{told}. If it slips, the belt sets the turns and not the resistor."


def _watts(power_w: float) -> str:
    return f"{power_w:.2g} W"


def _kelvins(rise_k: float) -> str:
    return f"{rise_k:.0f} °C" if rise_k >= 10 else f"{rise_k:.2g} °C"


def _amperes(limit: float) -> str:
    # A number and its unit stay on one line beside the long sources.
    return "not known" if math.isnan(limit) else f"{limit:.3g}\u00a0A"


def _against(peak: float, limit: float) -> str:
    return "look it up" if math.isnan(limit) else ("within" if peak <= limit else "TOO MUCH")


def _seconds(value) -> str:
    return f"{float(value):.2f} s"


def _turns(value) -> str:
    return f"{float(value):.3g}"
