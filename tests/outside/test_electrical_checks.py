"""Electrical checks of the control box against printed figures and against hand calculation."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import by_hand, run_here, source_of

from machinelab import tables
from machinelab.controls.bonding import bond_voltage_v
from machinelab.controls.electrical_limits import check_points, electrical_limit, electrical_limits
from machinelab.controls.isolation import open_points, taken_as_live
from machinelab.controls.residual_voltage import (
    bleed_power_w,
    bleed_resistor_limit_ohm,
    bleed_time_s,
    exempt_capacitance_f,
    residual_voltage,
    stored_energy_j,
)
from machinelab.controls.stopping import (
    APPROACH_MM_S,
    performance_level,
    reach_distance_mm,
    stop_category,
    stopping_times,
)
from machinelab.errors import RangeError
from machinelab.spindle.brake_chuck import unscrewing_torque_nm
from machinelab.spindle.brake_contact import overlap_current_a

ROOM = "controls"
TWICE = by_hand("one of two capacitors' resistors open: twice the time")
DATA = Path(__file__).parent / "data" / "electrical.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
BLEEDERS = {
    "bleeder_470u_170": (470e-6, 170),
    "bleeder_1000u_170": (1000e-6, 170),
    "bleeder_470u_325": (470e-6, 325),
    "bleeder_940u_325": (940e-6, 325),
}
SINGLE = {
    "resid_60V": "residual voltage",
    "resid_5s": "residual time",
    "resid_plug": "residual time at a plug",
    "resid_charge": "exempt charge",
    "stop_glossary": "power off in a stop of category 0",
    "ins": "insulation",
    "enc_sep": "encoder cable from power",
    "guided_gap": "gap of guided contacts",
    "gap": "from drive off to brake on",
}


@pytest.mark.parametrize(("row", "name"), SINGLE.items())
def test_each_single_figure_is_the_one_that_was_read_with_its_unit_and_source(compare, row, name):
    found = electrical_limit(name)
    compare(
        f"limit: {name}",
        (found.limit_value, found.limit_unit),
        (ROWS[row]["value"], ROWS[row]["unit"]),
        source_of(ROWS[row]),
    )
    assert found.source


def test_a_bond_is_tested_with_ten_amperes_against_a_tenth_of_an_ohm(compare):
    """IEC 61439-1, 10.5.2, excerpt."""
    values = [electrical_limit(name).limit_value for name in ("bond", "bond test current")]
    compare(
        "bond in ohm, and current to test it with in A",
        values,
        ROWS["bond"]["value"],
        source_of(ROWS["bond"]),
    )
    compare(
        "voltage along a bond of a tenth of an ohm",
        bond_voltage_v(10, bond_ohm=0.1),
        1.0,
        by_hand("Ohm's law"),
        rel=1e-6,
        unit="V",
    )


def test_what_is_from_memory_says_so():
    """Where a figure was not read, its row admits it; 500 V was read, the megohm was not."""
    assert "from memory" in electrical_limit("insulation").source
    assert "from memory" not in electrical_limit("insulation test voltage").source
    assert all("memory" in row["source"] for row in tables.read("us_conductors") if "NFPA" in row["source"])


@pytest.mark.parametrize(("row", "bus"), BLEEDERS.items())
def test_the_largest_bleed_resistor_of_four_buses(compare, row, bus):
    """R = t / (C ln(V0/60)), worked out by hand."""
    (capacitance, voltage), expected = bus, ROWS[row]
    limit = bleed_resistor_limit_ohm(5.0, capacitance_f=capacitance, bus_voltage_v=voltage)
    compare(
        f"largest bleed resistor, {row}", limit, expected["value"], source_of(expected), abs=1, unit="ohm"
    )
    compare(
        f"power of the largest bleed resistor, {row}",
        bleed_power_w(voltage, bleed_resistor_ohm=limit),
        expected["power_W"],
        source_of(expected),
        abs=0.01,
        unit="W",
    )
    compare(
        f"stored energy, {row}",
        stored_energy_j(voltage, capacitance_f=capacitance),
        expected["energy_J"],
        source_of(expected),
        abs=0.05,
        unit="J",
    )


def test_a_chosen_bleed_resistor_with_all_tolerances_against_it(compare):
    """Worked out by hand: 6.8 kohm and 5 %, 470 uF and 20 %, from 170 V."""
    expected = ROWS["bleeder_tol"]
    found = residual_voltage(capacitance_f=470e-6, bleed_resistor_ohm=6800, bus_voltage_v=170)
    compare(
        "time to 60 V with all tolerances against it",
        found.bleed_time_s,
        expected["value"],
        source_of(expected),
        abs=0.001,
        unit="s",
    )
    compare(
        "power of a chosen bleed resistor",
        found.bleed_power_w,
        expected["power_W"],
        source_of(expected),
        abs=0.001,
        unit="W",
    )
    assert found.rating_wanted_w < 10, "a 10 W resistor will do"
    assert not found.exempt_by_charge
    compare(
        "time with one of two resistors open",
        found.one_open_s,
        2 * expected["value"],
        TWICE,
        abs=0.001,
        unit="s",
    )


def test_a_bus_without_bleed_resistor_stays_charged_for_most_of_a_minute(compare):
    """Worked out by hand: leakage alone; and by following the voltage in small steps."""
    found = bleed_time_s(capacitance_f=470e-6, bleed_resistor_ohm=100e3, bus_voltage_v=170)
    compare(
        "time to 60 V by leakage alone",
        found,
        ROWS["unbled"]["value"],
        source_of(ROWS["unbled"]),
        abs=0.1,
        unit="s",
    )
    voltage, time, dt = 170.0, 0.0, 1e-3
    while voltage > 60:
        voltage -= voltage / 100e3 / 470e-6 * dt
        time += dt
    compare(
        "time to 60 V by leakage alone, in small steps",
        found,
        time,
        run_here("the voltage followed in steps of a millisecond", "the size of the step"),
        rel=1e-3,
        unit="s",
    )


def test_sixty_microcoulombs_at_the_peak_of_230_volts(compare):
    """Worked out by hand."""
    compare(
        "capacitance of 60 uC at the peak of 230 V",
        1e6 * exempt_capacitance_f(325),
        ROWS["charge_C_325"]["value"],
        source_of(ROWS["charge_C_325"]),
        abs=0.0005,
        unit="uF",
    )
    assert residual_voltage(capacitance_f=0.18e-6, bleed_resistor_ohm=1e6, bus_voltage_v=325).exempt_by_charge


def test_an_emergency_stop_is_of_category_0_or_1(compare):
    """IEC 60204-1, 9.2, excerpt."""
    allowed = [number for number in (0, 1, 2) if stop_category(number).for_emergency]
    compare(
        "categories that an emergency stop may have",
        allowed,
        ROWS["stop0"]["value"],
        source_of(ROWS["stop0"]),
    )
    with pytest.raises(RangeError, match="0, 1 or 2"):
        stop_category(3)


def test_the_list_for_the_emergency_stop_holds_what_was_read():
    """2006/42/EC and ISO 13850, excerpts: a release permits, red on yellow, no words."""
    points = {one.point: one for one in check_points("emergency_stop")}
    assert list(points) == [f"e{number}" for number in range(1, 13)]
    assert ROWS["estop_release"]["value"] is True
    assert "permits a start and does not cause one" in points["e4"].asked
    assert ROWS["estop_colour"]["what"].startswith("red actuator, yellow")
    assert "red" in points["e5"].asked
    assert "yellow" in points["e5"].asked
    assert "No words" in points["e6"].asked


def test_a_machine_that_must_not_start_by_itself_after_a_power_cut_is_a_caution():
    """29 CFR 1910.213(b)(3), excerpt: the caution names it."""
    told = [row for row in tables.read("cautions") if "power cut" in row["words"]]
    assert len(told) == 1
    assert ROWS["restart"]["source"].split(";")[0] in told[0]["source"]


def test_the_bounds_of_the_performance_levels(compare):
    """ISO 13849-1, table 2, as reprinted."""
    for letter, (least, below) in zip("abcde", ROWS["pfhd"]["value"], strict=True):
        compare(
            f"performance level of {least:g} an hour",
            performance_level(least),
            letter,
            source_of(ROWS["pfhd"]),
        )
        assert performance_level(0.999 * below) == letter
        assert performance_level(below) != letter
    assert performance_level(1.0) == performance_level(1e-9) == ""


def test_no_distance_at_a_lathe_saves_a_hand(compare):
    """ISO 13855, excerpts that disagree on which speed is the hand's; K times T by hand."""
    compare(
        "speed of a hand or body that comes near, both readings",
        list(APPROACH_MM_S),
        ROWS["k_approach"]["value"],
        source_of(ROWS["k_approach"]),
        unit="mm/s",
    )
    found = reach_distance_mm(0.8, approach_mm_s=np.array(APPROACH_MM_S))
    compare(
        "way of a hand in 0.8 s",
        found,
        ROWS["sep_0.8s"]["value"],
        source_of(ROWS["sep_0.8s"]),
        rel=1e-6,
        unit="mm",
        each=("slower", "faster"),
    )


def test_what_is_not_known_is_taken_as_live():
    """Common practice: not known counts as no."""
    assert taken_as_live({})
    assert taken_as_live({"i1": None})
    assert taken_as_live({"i1": False})
    assert not taken_as_live({"i1": True})
    every = {one.point: True for one in check_points("isolation")}
    assert open_points("isolation", every) == ()
    assert [one.point for one in open_points("isolation", every | {"i3": False})] == ["i3"]
    assert all(one.otherwise for one in check_points("isolation"))
    with pytest.raises(RangeError, match="no point i9"):
        open_points("isolation", {"i9": True})
    with pytest.raises(RangeError, match="yes, no or not known"):
        open_points("isolation", {"i1": "perhaps"})


def test_the_torque_that_unscrews_a_chuck_in_two_stops(compare):
    """J w / t by hand: 0.006 kg m2 from 1000 rpm in 2 s and in 0.5 s."""
    slowing = 1000 * np.pi / 30 / np.array([2.0, 0.5])
    found = unscrewing_torque_nm(slowing, chuck_inertia_kg_m2=0.006)
    compare(
        "torque that unscrews a chuck of 0.006 kg m2",
        found,
        ROWS["unscrew"]["value"],
        source_of(ROWS["unscrew"]),
        abs=0.001,
        unit="N m",
        each=("stop in 2 s", "stop in 0.5 s"),
    )


def test_the_first_moment_of_a_brake_resistor(compare):
    """Ohm's law by hand: 130 V into 10 ohm."""
    current, power = ROWS["brake_I"]["value"]
    compare(
        "first current of a 10 ohm brake on 130 V",
        overlap_current_a(130, resistor_ohm=10),
        current,
        source_of(ROWS["brake_I"]),
        rel=1e-6,
        unit="A",
    )
    compare(
        "first power of a 10 ohm brake on 130 V",
        bleed_power_w(130, bleed_resistor_ohm=10),
        power,
        source_of(ROWS["brake_I"]),
        rel=1e-6,
        unit="W",
    )


def test_the_worst_of_ten_stops_counts():
    times = [1.9, 2.0, 2.1, 1.95, 2.05, 2.0, 1.9, 2.2, 2.0, 1.9]
    found = stopping_times(times)
    assert (found.worst_stop_s, found.stop_runs, found.enough_runs) == (2.2, 10, True)
    assert found.mean_stop_s == pytest.approx(2.0)
    with pytest.raises(RangeError, match="at least one"):
        stopping_times([])


def test_every_row_that_was_handed_over_is_used_and_names_its_source():
    files = (Path(__file__), Path(__file__).with_name("test_wiring_checks.py"))
    text = "".join(file.read_text(encoding="utf-8") for file in files)
    assert len(ROWS) == 34
    assert [name for name, row in ROWS.items() if f'"{name}"' not in text or not row["source"]] == []


def test_every_limit_of_the_table_says_where_it_comes_from():
    for one in electrical_limits():
        assert one.meaning
        assert any(word in one.source for word in ("excerpt", "memory", "no source"))
    with pytest.raises(RangeError, match="residual voltage"):
        electrical_limit("luck")
    with pytest.raises(RangeError, match="isolation"):
        check_points("wishes")
