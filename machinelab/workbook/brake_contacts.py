"""What the brake's contact may break, how long it must wait for the drive, and the turns made meanwhile."""

import pandas as pd

from machinelab import tables
from machinelab.errors import MachinelabError
from machinelab.spindle.brake_contact import (
    contact_wait_s,
    opening_speed_rpm,
    overlap_current_a,
    turns_while_waiting,
)
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.machine import Machine

# The run contactor's arc, the drive's output dying away, and the brake contact closing; from memory.
USUAL_ARC_S, USUAL_DECAY_S, USUAL_CLOSING_S = 0.01, 0.02, 0.02


def contacts_table(numbers: BrakeNumbers) -> pd.DataFrame:
    """Up to which speed common relays may open the brake current, one pole and two in series."""
    circuit = {name: value for name, value in numbers.circuit.items() if name != "inertia_kg_m2"}
    relays = dict.fromkeys(row["relay"] for row in tables.read("dc_breaking"))
    rows = [(relay, *(_opens(circuit, relay, poles) for poles in (1, 2))) for relay in relays]
    columns = ["relay, rated for alternating current", "one pole", "two poles in series"]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def _opens(circuit, relay: str, poles: int) -> str:
    try:
        return f"up to {opening_speed_rpm(**circuit, relay=relay, poles=poles):.0f} rpm"
    except MachinelabError:
        return "only at standstill"


def waits_table(numbers: BrakeNumbers, threading_rpm: float) -> pd.DataFrame:
    """How long the brake must wait at worst, by what lets the drive go, and the turns made meanwhile."""
    rows = [_wait(row, numbers, threading_rpm) for row in tables.read("release_times")]
    turns = (f"turns at {rpm:.0f} rpm" for rpm in (threading_rpm, numbers.top_rpm))
    columns = ["what lets the drive go", "lets go within", "brake in, at worst, after", *turns]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def _wait(row, numbers: BrakeNumbers, threading_rpm: float):
    longest_s = float(row["longest_s"])
    waits_s = contact_wait_s(
        release_s=longest_s, arc_s=USUAL_ARC_S, drive_decay_s=USUAL_DECAY_S, closing_s=USUAL_CLOSING_S
    )
    turns = (turns_while_waiting(rpm, contact_delay_s=waits_s) for rpm in (threading_rpm, numbers.top_rpm))
    return (
        row["contact"],
        f"{1e3 * longest_s:.0f} ms",
        f"{1e3 * waits_s:.0f} ms",
        *(f"{t:.2g}" for t in turns),
    )


def overlap_words(numbers: BrakeNumbers, machine: Machine) -> str:
    """What flows if the brake comes in while the drive is still on, and how the brake is let go again."""
    supply_v = machine.motor.supply_v
    through = "" if supply_v is None else _overlap(supply_v, numbers.resistor_ohm)
    return (
        f"**Never both at once.** A brake that comes in before the drive is off short-circuits the "
        f"drive{through}. And the drive comes back only after the brake is out and the spindle stands: a "
        "turning motor feeds its own volts into a drive that is set lower."
    )


def _overlap(supply_v: float, resistor_ohm: float) -> str:
    current = float(overlap_current_a(supply_v, resistor_ohm=resistor_ohm))
    return (
        f" through the resistor: {current:.3g} A at {supply_v:g} V, and a thyristor drive does not switch off"
    )
