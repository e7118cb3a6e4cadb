"""Which resistor the turns that are wanted ask for, speed by speed, and whether the motor bears it."""

import pandas as pd

from machinelab.errors import RangeError
from machinelab.spindle.brake import resistor_for_turns
from machinelab.spindle.brake_circuit import RPM, peak_brake_current_a
from machinelab.spindle.brake_contact import turns_while_waiting
from machinelab.spindle.brake_design import late_stop
from machinelab.spindle.brake_limits import binding_limit
from machinelab.spindle.coast_law import coast_turns
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.brake_tables import PULSE, current_limits

# Speeds of threading and of ordinary work; the top speed comes last.
SPEEDS_RPM = (100.0, 300.0, 600.0)
# Turns of an ordinary run-out, where the owner has named none; common practice, no source.
USUAL_TURNS = 3.0


def resistors_table(numbers: BrakeNumbers, wanted_turns: float | None) -> pd.DataFrame:
    """Turns without brake and with this one, and the resistor for the turns that are wanted."""
    wanted = USUAL_TURNS if wanted_turns is None else wanted_turns
    speeds = (*(rpm for rpm in SPEEDS_RPM if rpm < numbers.top_rpm), numbers.top_rpm)
    columns = [
        "from",
        "without a brake",
        f"with {numbers.resistor_ohm:.3g} ohm",
        f"for at most {wanted:g} turns",
    ]
    rows = [(f"{rpm:.0f} rpm", *_turns(numbers, rpm), _choice(numbers, rpm, wanted)) for rpm in speeds]
    return pd.DataFrame(rows, columns=columns).set_index(columns[0])


def _turns(numbers: BrakeNumbers, speed_rpm: float):
    free = float(coast_turns(speed_rpm * RPM, **numbers.drags))
    braked = late_stop(speed_rpm, contact_delay_s=numbers.contact_delay_s, **numbers.circuit, **numbers.drags)
    return f"{free:.3g} turns", f"{float(braked.turns):.3g} turns"


def _choice(numbers: BrakeNumbers, speed_rpm: float, wanted: float) -> str:
    left = wanted - float(turns_while_waiting(speed_rpm, contact_delay_s=numbers.contact_delay_s))
    if left <= 0:
        return "none: gone before the contact closes"
    motor = {name: value for name, value in numbers.circuit.items() if name != "resistor_ohm"}
    if float(coast_turns(speed_rpm * RPM, **numbers.drags)) <= wanted:
        return "no brake is needed"
    try:
        ohm = resistor_for_turns(left, speed_rpm, **motor, **numbers.drags)
    except RangeError:
        return "none: not even the motor short-circuited"
    circuit = {name: value for name, value in motor.items() if name != "inertia_kg_m2"}
    peak_a = float(peak_brake_current_a(speed_rpm, resistor_ohm=ohm, **circuit))
    return f"{ohm:.2g} ohm, {peak_a:.3g} A{_too_much(numbers, peak_a)}"


def _too_much(numbers: BrakeNumbers, peak_a: float) -> str:
    """What does not bear a current; the pulse that a resistor bears is its own affair."""
    limits = {concern: limit for concern, limit in current_limits(numbers).items() if concern != PULSE}
    limit = binding_limit(limits)
    return f": TOO MUCH, {limit.concern}" if limit and peak_a > limit.limit_a else ""
