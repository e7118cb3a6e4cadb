"""What the figures of motor and pulleys mean for a machine, in plain sentences."""

import math
from collections.abc import Sequence
from dataclasses import replace

from machinelab.spindle.brake_limits import demagnetising_current_a
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, continuous_current_a
from machinelab.spindle.motor_limits import (
    BRUSHES,
    DRIVE,
    HEAT,
    MAGNETS,
    SUPPLY,
    continuous_envelope,
    top_speed_rpm,
)
from machinelab.spindle.motor_overload import minutes_to_limit
from machinelab.spindle.motor_regulation import (
    USUAL_COMPENSATION_SHARE,
    USUAL_HAND_DEG,
    USUAL_REGULATION_SHARE,
    droop_rpm,
    settable_step_rpm,
    speed_drift_rpm,
)
from machinelab.spindle.motor_temperature import (
    DAMAGED_FLUX_SHARE,
    FLUX_LOSS_PER_K,
    hot_back_emf_v_s_per_rad,
    hot_resistance_ohm,
)
from machinelab.spindle.ratio_choice import step_change_rpm
from machinelab.workbook.motor_tests import MotorTests
from machinelab.workbook.ratio_table import SPEEDS_RPM, THREADING, RatioColumn
from machinelab.workbook.torque_words import torque_words

READ_SPEED = SPEEDS_RPM[THREADING]
# After an hour of work; from memory.
HOT_WINDING_DEGC, HOT_MAGNET_RISE_K = 100.0, 60.0
PLAIN_KNOB_DEG, TEN_TURN_DEG = 270.0, 3600.0
MORE_BY_BLOWER = 1.1
REMEDIES = {
    HEAT: "heat: a blower of its own, or a larger ratio",
    DRIVE: "the drive's current limit: raise it if motor and wiring allow, or a larger ratio",
    SUPPLY: "the supply's voltage: a smaller ratio, or more volts if the motor allows",
    MAGNETS: "what unknown magnets are trusted with: the motor's data sheet may allow more",
    BRUSHES: "sparking at the brushes: a larger ratio does not help, less current does",
}


def holding_speed(train: DriveTrain, allowed_rpm: float) -> list[str]:
    """How far the speed sags, how far the drive drifts, and how finely the knob sets it."""
    ratio = float(train.motor_turns_per_spindle_turn)
    top = min(top_speed_rpm(train), allowed_rpm)
    sag = droop_rpm(
        train.rated_current_a,
        armature_resistance_ohm=train.armature_resistance_ohm,
        compensation_ohm=0.0,
        back_emf_v_s_per_rad=train.back_emf_v_s_per_rad,
    )
    sag /= ratio
    drift = speed_drift_rpm(top, regulation_share=USUAL_REGULATION_SHARE)
    plain, fine = (
        settable_step_rpm(top, turn_angle_deg=angle, hand_deg=USUAL_HAND_DEG)
        for angle in (PLAIN_KNOB_DEG, TEN_TURN_DEG)
    )
    trim = USUAL_COMPENSATION_SHARE * train.armature_resistance_ohm
    return [
        f"From no load to rated current the spindle loses {sag:.0f} rpm at any setting, if the drive does "
        f"not make up for it: {_share(sag, top)} of the top speed, {_share(sag, READ_SPEED)} of "
        f"{READ_SPEED:.0f} rpm.",
        f"A drive that makes up for it (IR trim) is set to about {trim:.2g} V for each ampere, cold; at the "
        "resistance of the cold armature it begins to hunt and run away (common practice, no source).",
        f"A plain speed knob can be set to {plain:.0f} rpm by hand, one of ten turns to {fine:.2g} rpm; the "
        f"drive itself wanders some {drift:.0f} rpm (from memory), so anything finer than that is of no use.",
        "A knob whose wiper has lost its contact must mean no speed. Prove it once: plug out, capacitors "
        "measured, take the wire off the wiper; belt off, guard shut, plug in: the motor must stay still.",
    ]


def what_to_change(columns: Sequence[RatioColumn], train: DriveTrain, allowed_rpm: float) -> list[str]:
    """What limits this machine at threading speed, which ratio helps, and what that costs."""
    built = next(column for column in columns if column.as_built)
    binding = str(built.gives.binding[THREADING])
    lines = [
        f"As built, {READ_SPEED:.0f} rpm leaves {torque_words(built.gives.torque_nm[THREADING])} for hours "
        f"and {torque_words(built.gives.short_torque_nm[THREADING])} for a pass. For hours it is limited by "
        f"{REMEDIES.get(binding, binding)}."
    ]
    lines += _about_threads(columns, built)
    lines.append(_torque_or_power(built))
    lines += _about_a_blower(train)
    lines += _about_speed(columns, built, train, allowed_rpm)
    lines.append(
        "The tables of cutting forces may be a quarter out either way; that much is kept in hand here. A "
        "blunt tool asks a third more."
    )
    return lines


def _about_threads(columns: Sequence[RatioColumn], built: RatioColumn) -> list[str]:
    if not built.threads:
        return ["No thread with pitch and diameter is on the machine's list; add them on page 01."]
    if not built.not_carried:
        hardest = max(built.threads, key=lambda thread: thread.torque_nm)
        return [
            "Every thread on the list is carried, pass by pass, with the pulleys as built; the hardest, "
            f"{hardest.words}, asks {torque_words(hardest.torque_nm)}."
        ]
    helping = [column.heading for column in columns if not column.not_carried]
    lost = ", ".join(built.not_carried)
    cure = f"carried with {helping[0]}" if helping else "take more and thinner passes, or a keener tool"
    return [f"Not carried as built: {lost}; {cure}."]


def _torque_or_power(built: RatioColumn) -> str:
    power_w, speed_rpm = built.most_power
    return (
        f"Below {speed_rpm:.0f} rpm the depth of a cut is limited by torque and never by power: there the "
        f"motor gives its most, {power_w:.0f} W for hours, and at every lower speed less. A large diameter "
        "turned slowly asks for torque; a finer feed asks for less of it."
    )


def _about_a_blower(train: DriveTrain) -> list[str]:
    plain = float(continuous_envelope(READ_SPEED, train).torque_nm)
    blown = float(continuous_envelope(READ_SPEED, replace(train, standstill_share=1.0)).torque_nm)
    if blown < MORE_BY_BLOWER * plain:
        return []
    return [
        f"A blower that cools the motor at every speed would raise {torque_words(plain)} to "
        f"{torque_words(blown)} at {READ_SPEED:.0f} rpm, at no cost in top speed."
    ]


def _about_speed(
    columns: Sequence[RatioColumn], built: RatioColumn, train: DriveTrain, allowed_rpm: float
) -> list[str]:
    top = built.gives.top_speed_rpm
    if top > 1.01 * allowed_rpm:
        wasted = f"The motor could turn the spindle at {top:.0f} rpm, {allowed_rpm:.0f} rpm are allowed"
        return [f"{wasted}: a larger ratio costs nothing up to there and gives torque at every speed."]
    slow = columns[-1].gives.motor_turns_per_spindle_turn
    fast = built.gives.motor_turns_per_spindle_turn
    change = step_change_rpm(train, slow_ratio=slow, fast_ratio=fast)
    return [
        f"A larger ratio takes top speed, which is {top:.0f} rpm now. Pulleys with two steps keep both: with "
        f"a second step of {float(slow):.3g} to 1 the belt is changed at about {change:.0f} rpm.",
        "At a tenth of its speed the motor gives a tenth of its power, whatever the ratio. Only a second "
        "step brings the motor back to its speed.",
    ]


def overload(train: DriveTrain, speed_rpm: float) -> list[str]:
    """How long more than the daily load lasts, and what endangers the magnets."""
    all_day = float(
        continuous_current_a(
            train.motor_speed_rpm(speed_rpm),
            rated_current_a=train.rated_current_a,
            rated_motor_speed_rpm=train.rated_motor_speed_rpm,
            standstill_share=train.standstill_share,
            form_factor=train.form_factor,
            rated_form_factor=USUAL_FORM_FACTORS["smoothed"],
        )
    )
    loads = {
        "its rated current": train.rated_current_a,
        "the drive's current limit": train.drive_current_a,
    }
    lasting = (
        f"{name}, {current:.3g} A, for {_minutes(minutes_to_limit(current, continuous_current_a=all_day))}"
        for name, current in loads.items()
        if not math.isnan(current)
    )
    most = float(demagnetising_current_a(train.rated_current_a))
    return [
        f"At {speed_rpm:.0f} rpm the motor carries {all_day:.2g} A for hours. From cold it carries "
        f"{'; '.join(lasting)}. Then let it cool, running light. The times rest on usual time constants "
        "(from memory): a hand on the housing feels the frame, never the winding.",
        f"Unknown magnets are not asked to bear more than {most:.3g} A, three times the rated current (from "
        "memory), and braking counts. Ferrite is weakest cold, neodymium hot. The proof: the back EMF turned "
        f"by a drill before the first hard stop and after it; {100 * DAMAGED_FLUX_SHARE:.0f} % less is "
        "damage.",
        "Never reverse it under power while it turns: back EMF and supply then add.",
    ]


def hot(train: DriveTrain) -> list[str]:
    """What an hour of work makes of the constants that were measured cold."""
    cold_ohm, cold_emf, rated_a = (
        train.armature_resistance_ohm,
        train.back_emf_v_s_per_rad,
        train.rated_current_a,
    )
    ohm = hot_resistance_ohm(cold_ohm, winding_degc=HOT_WINDING_DEGC)
    emf = hot_back_emf_v_s_per_rad(
        cold_emf, magnet_rise_k=HOT_MAGNET_RISE_K, flux_loss_per_k=FLUX_LOSS_PER_K["ferrite"]
    )
    weaker = emf / cold_emf
    # Heat goes with ohms and the current's square, sag with ohms and current over the back EMF: both alike.
    grown = ohm / cold_ohm / weaker**2
    return [
        f"Hot, with the winding at {HOT_WINDING_DEGC:.0f} °C and ferrite magnets "
        f"{HOT_MAGNET_RISE_K:.0f} °C warmer (from memory), the armature has {ohm:.3g} ohm and each "
        f"ampere makes {100 * (1 - weaker):.0f} % less torque. The torque of {rated_a:.3g} A then takes "
        f"{rated_a / weaker:.3g} A, makes {grown:.2g} times the heat, and the speed sags {grown:.2g} times "
        "as far."
    ]


def what_to_write(found: MotorTests) -> list[str]:
    """The lines of the machine file with the measured constants."""
    wanted = {
        "armature_resistance": (found.resistance, "ohm"),
        "back_emf": (found.back_emf, "V s/rad"),
        "brush_drop": (found.brush_drop, "V"),
    }
    return [
        f'{key} = "{estimate.value:.4g} {unit}"'
        for key, (estimate, unit) in wanted.items()
        if estimate is not None
    ]


def _share(part: float, whole: float) -> str:
    return f"{100 * part / whole:.0f} %" if part < whole else "all"


def _minutes(minutes: float) -> str:
    if minutes == float("inf"):
        return "hours"
    return f"{minutes:.0f} minutes" if minutes >= 2 else f"{60 * minutes:.0f} seconds"
