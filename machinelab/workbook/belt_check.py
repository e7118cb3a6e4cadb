"""The belt of the spindle drive, checked: wrap, speed, smallest pulley, and the distance it asks."""

import math

import pandas as pd

from machinelab import tables
from machinelab.errors import MachinelabError
from machinelab.spindle.belt_grip import belt_speed_m_s
from machinelab.spindle.pulleys import centre_distance_mm, wrap_deg
from machinelab.workbook.machine import Machine
from machinelab.workbook.shop_lengths import ShopLengths, shop_lengths
from machinelab.workbook.torque_words import torque_words

# Room to slip a belt on and to tighten it as it stretches, share of its length; common practice, no source.
FITTING_SHARE, STRETCH_SHARE = 0.015, 0.03


def belt_table(machine: Machine) -> pd.DataFrame | None:
    """What is found, what is allowed, and where that comes from; None for a drive without plain pulleys."""
    drive = machine.spindle_drive
    if drive.motor_pulley_mm is None or drive.spindle_pulley_mm is None:
        return None
    rows = [*_distance(drive, shop_lengths(machine)), *_against_the_table(machine), *_grip(machine)]
    columns = ["", "found", "allowed", "source"]
    return pd.DataFrame(rows, columns=columns).set_index("") if rows else None


def _distance(drive, lengths: ShopLengths):
    """The centre distance that the belt's length asks."""
    if drive.belt_length_mm is None:
        return
    length = drive.belt_length_mm
    try:
        asked = centre_distance_mm(length, **_pulleys(drive))
    except MachinelabError as slip:
        yield "belt", str(slip), "", "derived here"
        return
    built = drive.centre_distance_mm
    found = lengths.told(asked, 1) + (f"; the machine file has {lengths.short(built, 4)}" if built else "")
    allowed = (
        f"{lengths.short(FITTING_SHARE * length / 2, 2)} nearer to fit it, "
        f"{lengths.short(STRETCH_SHARE * length / 2, 2)} farther"
    )
    yield "distance that its length asks", found, allowed, "room to move: common practice, no source"


def _against_the_table(machine: Machine):
    """Wrap, speed and smallest pulley against the mildest belt of its kind in the table."""
    drive = machine.spindle_drive
    kinds = [row for row in tables.read("belts") if row["machine_word"] == drive.belt]
    if not kinds:
        return
    kind = min(kinds, key=lambda row: float(row["least_pulley_mm"]))
    source = f"{kind['belt']}: {kind['source']}"
    small, large = sorted(float(one) for one in _pulleys(drive).values())
    lengths = shop_lengths(machine)
    least = f"at least {lengths.short(float(kind['least_pulley_mm']))}"
    yield "smaller pulley", lengths.short(small, 4), least, source
    if drive.centre_distance_mm:
        wrap = float(wrap_deg(small, other_pulley_mm=large, centre_distance_mm=drive.centre_distance_mm))
        yield "wrap on it", f"{wrap:.0f}°", f"at least {kind['least_wrap_deg']}°", source
    top = machine.motor.highest_speed_rpm or machine.motor.rated_speed_rpm or math.nan
    if not math.isnan(top):
        speed = float(belt_speed_m_s(float(drive.motor_pulley_mm), motor_speed_rpm=top))
        yield "belt speed at the top", f"{speed:.3g} m/s", f"at most {kind['highest_m_s']} m/s", source


def _grip(machine: Machine):
    """Where the belt slips, beside the most that the motor makes within the drive's limit."""
    slips, motor = machine.spindle_drive.slip_torque_nm, machine.motor
    if slips is None or motor.drive_current_a is None or motor.back_emf_v_s_per_rad is None:
        return
    most = motor.drive_current_a * motor.back_emf_v_s_per_rad
    asked = f"more than the {torque_words(most)} of the motor at the drive's limit"
    yield "slips at, on the motor's pulley", torque_words(slips), asked, "machine file"


def _pulleys(drive) -> dict[str, float]:
    return {
        "motor_pulley_mm": float(drive.motor_pulley_mm),
        "spindle_pulley_mm": float(drive.spindle_pulley_mm),
    }
