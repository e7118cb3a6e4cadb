"""The electrical checks of a machine file: what they find on the demo, on another, on an empty sheet."""

from pathlib import Path

import pytest

from machinelab.workbook.electrics import (
    AT_STANDSTILL,
    BROKEN,
    KEPT,
    NOT_KNOWN,
    electrical_rows,
    electrical_table,
)
from machinelab.workbook.machine import load
from machinelab.workbook.machine.file import parse

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks/machines/demo/machine.toml"
CAPACITORS, FUSE, WIRE = (
    "capacitors below 60 V",
    "fuse before the thinnest wire",
    "wire of a motor that runs on",
)


def stand(machine):
    return {one.check: one.word for one in electrical_rows(machine)}


def changed(*pairs):
    text = DEMO.read_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return parse(text)


def test_the_demo_keeps_its_limits_and_an_ordinary_switch_may_turn_at_standstill_only():
    found = stand(load(DEMO.parent))
    assert [found[check] for check in (CAPACITORS, FUSE, WIRE)] == [KEPT] * 3
    assert {word for check, word in found.items() if "turned while" in check} == {AT_STANDSTILL}


def test_on_an_empty_sheet_nothing_is_claimed():
    rows = electrical_rows(load(HOUSE / "tests/machines/empty"))
    assert {one.word for one in rows} == {NOT_KNOWN}
    assert all("Add" in one.advice for one in rows)


def test_a_wire_too_thin_for_its_fuse_is_found_by_both_rules():
    row = {one.check: one for one in electrical_rows(load(HOUSE / "tests/machines/metric"))}[FUSE]
    assert row.word == BROKEN
    assert "IEC 8.08 A" in row.limit
    assert "US 7 A" in row.limit
    assert "thicker wire" in row.advice


def test_a_wire_thinner_than_any_table_is_not_waved_through():
    found = {one.check: one for one in electrical_rows(changed(('wire = "1.5 mm^2"', 'wire = "0.5 mm^2"')))}
    assert found[FUSE].word == BROKEN
    assert "thicker wire" in found[FUSE].advice


def test_a_bleed_resistor_that_is_advised_keeps_the_limit_and_a_larger_one_does_not():
    """470 uF and 20 %, 170 V and 10 %, 5 s: R = 5 / (564e-6 ln(187/60)) less 5 %, by hand 7.43 kohm."""
    without = {one.check: one for one in electrical_rows(changed(('bleed_resistor = "6.8 kohm"', "")))}
    assert without[CAPACITORS].word == NOT_KNOWN
    assert "7.4 kΩ" in without[CAPACITORS].advice
    for resistor, word in (("7.4 kohm", KEPT), ("7.5 kohm", BROKEN)):
        machine = changed(('bleed_resistor = "6.8 kohm"', f'bleed_resistor = "{resistor}"'))
        assert stand(machine)[CAPACITORS] == word


def test_a_small_motor_on_low_voltage_may_be_switched_by_an_ordinary_relay():
    machine = changed(('supply = "130 V"', 'supply = "24 V"'), ('back_emf = "0.288 V s/rad"', ""))
    found = stand(machine)
    assert found["small relay marked 10 A 250 V AC, turned while the motor runs"] == KEPT


@pytest.mark.parametrize("capacitance", ["220 uF", "330 uF", "470 uF", "680 uF", "1000 uF", "4700 uF"])
def test_what_is_advised_for_the_capacitors_always_keeps_the_limit(capacitance):
    bus = ('capacitance = "470 uF"', f'capacitance = "{capacitance}"')
    asked = changed(('bleed_resistor = "6.8 kohm"', ""), bus)
    advice = next(one.advice for one in electrical_rows(asked) if one.check == CAPACITORS)
    kohm = advice.split("Fit ")[1].split(" kΩ")[0]
    fitted = changed(('bleed_resistor = "6.8 kohm"', f'bleed_resistor = "{kohm} kohm"'), bus)
    assert stand(fitted)[CAPACITORS] == KEPT


@pytest.mark.parametrize(
    "name",
    [
        "notebooks/machines/demo",
        "tests/machines/metric",
        "tests/machines/inch",
        "tests/machines/empty",
    ],
)
def test_every_row_of_the_table_names_its_source(name):
    table = electrical_table(load(HOUSE / name))
    assert (table["limit from"].str.len() > 0).all()
    assert "safe" not in table.to_string()
