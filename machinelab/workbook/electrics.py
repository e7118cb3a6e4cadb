"""The electrical checks that a machine file lets one make: capacitors, wires, fuse, switches."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from machinelab.controls.conductors import conductor_currents, continuous_wire_a, fuse_fit
from machinelab.controls.dc_contacts import may_open_a, switches
from machinelab.controls.electrical_limits import electrical_limit
from machinelab.controls.residual_voltage import bleed_resistor_limit_ohm, bleed_time_s, residual_voltage
from machinelab.errors import RangeError
from machinelab.workbook.machine import Machine
from machinelab.workbook.share import Calculation, calculation
from machinelab.worked import Working, worked

KEPT, BROKEN, NOT_KNOWN = "kept", "broken", "not known yet"
# In a closed box in summer, two circuits side by side; common practice, no source.
USUAL_LAYING, USUAL_AIR_DEGC, USUAL_CIRCUITS = "in conduit or duct", 40.0, 2
# Mains, capacitors and resistor at the ends of their tolerance; common practice, no source.
HIGHEST_MAINS, LARGEST_CAPACITANCE, LARGEST_RESISTANCE = 1.1, 1.2, 1.05
AT_STANDSTILL = "only at standstill"


@dataclass(frozen=True)
class ElectricalRow:
    """One check: what was found, the limit, how it stands, what to do, where the limit is from."""

    check: str
    found: str
    limit: str
    word: str
    advice: str
    source: str


def electrical_rows(machine: Machine) -> tuple[ElectricalRow, ...]:
    """Every check; what the machine file does not say is not known yet."""
    return (*_capacitors(machine), *_wires(machine), *_switches(machine))


def electrical_table(machine: Machine) -> pd.DataFrame:
    """The same as a table."""
    rows = [
        (one.check, one.found, one.limit, one.word, one.advice, one.source)
        for one in electrical_rows(machine)
    ]
    columns = ["", "found", "limit", "how it stands", "what to do", "limit from"]
    return pd.DataFrame(rows, columns=columns).set_index("").rename_axis(None)


def bleed_working(machine: Machine) -> Working | None:
    """How long the capacitors stay charged, everything at the bad end; None while a figure is wanting."""
    bus = machine.bus
    if None in (bus.voltage_v, bus.capacitance_f, bus.bleed_resistor_ohm):
        return None
    return worked(
        bleed_time_s,
        capacitance_f=LARGEST_CAPACITANCE * bus.capacitance_f,
        bleed_resistor_ohm=LARGEST_RESISTANCE * bus.bleed_resistor_ohm,
        bus_voltage_v=HIGHEST_MAINS * bus.voltage_v,
        low_voltage_v=60.0,
    )


def bleed_calculation(machine: Machine) -> tuple[Calculation, ...]:
    """The same for others; nothing while a figure is wanting."""
    working = bleed_working(machine)
    if working is None:
        return ()
    limit = electrical_limit("residual time")
    return (
        calculation(
            working,
            meaning=(
                "At the least so long after the plug is out a hand stays away; the limit is "
                f"{limit.limit_value:g} s ({limit.source}). A resistor that has "
                "failed is invisible: measure all the same."
            ),
            assumptions=(
                f"mains {_percent(HIGHEST_MAINS)} high, capacitors {_percent(LARGEST_CAPACITANCE)} and "
                f"resistor {_percent(LARGEST_RESISTANCE)} over what is printed (common practice, no source)",
                "a bleed resistor that is whole, and a spindle that stands",
            ),
        ),
    )


def _percent(times: float) -> str:
    return f"{100 * (times - 1):.0f} %"


def _capacitors(machine: Machine) -> Iterator[ElectricalRow]:
    bus, limit = machine.bus, electrical_limit("residual time")
    check = "capacitors below 60 V"
    if bus.voltage_v is None or bus.capacitance_f is None:
        yield _unknown(
            check, f"{limit.limit_value:g} s", "Add voltage and capacitors of the bus.", limit.source
        )
        return
    highest_v = HIGHEST_MAINS * bus.voltage_v
    most_ohm = bleed_resistor_limit_ohm(
        limit.limit_value, capacitance_f=LARGEST_CAPACITANCE * bus.capacitance_f, bus_voltage_v=highest_v
    )
    largest_kohm = _rounded_down(float(most_ohm) / LARGEST_RESISTANCE / 1000)
    fit = f"Fit {largest_kohm:g} kΩ at most; measure before you touch."
    if bus.bleed_resistor_ohm is None:
        yield _unknown(check, f"{limit.limit_value:g} s", fit, limit.source)
        return
    found = residual_voltage(
        capacitance_f=bus.capacitance_f,
        bleed_resistor_ohm=bus.bleed_resistor_ohm,
        bus_voltage_v=highest_v,
    )
    time_s = float(found.bleed_time_s)
    kept = time_s <= limit.limit_value
    advice = (
        f"Two resistors side by side, rated {float(found.rating_wanted_w):.2g} W together and for the "
        "voltage: one that fails is invisible. Measure all the same."
    )
    yield ElectricalRow(
        check,
        f"{time_s:.2g} s at worst, {float(found.stored_energy_j):.2g} J stored",
        f"{limit.limit_value:g} s",
        _word(kept),
        advice if kept else f"{fit} Until then a label with the waiting time.",
        limit.source,
    )


def _wires(machine: Machine) -> Iterator[ElectricalRow]:
    mains, motor = machine.mains, machine.motor
    check, source = (
        "fuse before the thinnest wire",
        "EN 60204-1 as reprinted; NEC 240.4(D); NFPA 79 from memory",
    )
    if mains.wire_mm2 is None or mains.fuse_a is None:
        yield _unknown(check, "", "Add fuse and thinnest wire of the mains.", source)
        return
    try:
        bears = conductor_currents(
            mains.wire_mm2,
            laying=USUAL_LAYING,
            air_degc=USUAL_AIR_DEGC,
            loaded_circuits=USUAL_CIRCUITS,
        )
    except RangeError as thin:
        yield ElectricalRow(check, f"{mains.fuse_a:g} A", "no figure", BROKEN, str(thin), source)
        return
    lower = float(bears.lower_a)
    us = "no figure" if math.isnan(bears.us_a) else f"{float(bears.us_a):.3g} A"
    limit = f"{lower:.3g} A (IEC {float(bears.iec_a):.3g} A, two circuits in a duct at 40 °C; US {us})"
    load = motor.current_a or 0.0
    fit = fuse_fit(mains.fuse_a, load_a=load, wire_a=lower)
    yield ElectricalRow(
        check,
        f"fuse {mains.fuse_a:g} A, wire {mains.wire_mm2:.3g} mm²",
        limit,
        _word(bool(fit.guards_wire)),
        "" if fit.guards_wire else "A smaller fuse, or thicker wire.",
        source,
    )
    if motor.current_a is None:
        return
    wanted = float(continuous_wire_a(motor.current_a))
    yield ElectricalRow(
        "wire of a motor that runs on",
        f"{mains.wire_mm2:.3g} mm² bears {lower:.3g} A",
        f"{wanted:.3g} A",
        _word(lower >= wanted),
        "Its overload guards the motor; the output of a drive seldom blows a fuse.",
        "NEC 430.22, from memory",
    )


def _switches(machine: Machine) -> Iterator[ElectricalRow]:
    motor = machine.motor
    for device in switches():
        check = f"{device}, turned while the motor runs"
        if motor.supply_v is None or motor.current_a is None:
            yield _unknown(check, "", "Add supply and current of the motor.", "see the table dc_switches")
            continue
        bears = float(may_open_a(motor.supply_v, device=device, load="resistive", poles=1))
        yield ElectricalRow(
            check,
            f"{motor.current_a:g} A at {motor.supply_v:g} V",
            f"{bears:g} A" if bears else "no figure at this voltage",
            KEPT if motor.current_a <= bears else AT_STANDSTILL,
            "In the motor's leads let it change over only at standstill, or take one for direct current.",
            "makers' pages, read as excerpts: resistive loads; a motor is worse",
        )


def _unknown(check: str, limit: str, advice: str, source: str) -> ElectricalRow:
    return ElectricalRow(check, NOT_KNOWN, limit, NOT_KNOWN, advice, source)


def _rounded_down(value: float) -> float:
    """Two figures, never more than the value: what is advised must keep the limit itself."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return round(math.floor(value / step) * step, 9)


def _word(kept: bool) -> str:
    return KEPT if kept else BROKEN
