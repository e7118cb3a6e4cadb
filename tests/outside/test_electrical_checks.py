"""Electrical checks of the control box against printed figures and against hand calculation."""

import json
from pathlib import Path

import numpy as np
import pytest

from machinelab import tables
from machinelab.controls.bonding import bond_resistance_ohm, bond_voltage_v, measured_bond_ohm
from machinelab.controls.conductors import (
    LAYINGS,
    awg_area_mm2,
    conductor_currents,
    continuous_wire_a,
    fuse_fit,
    protective_area_mm2,
)
from machinelab.controls.dc_contacts import may_open_a, suppressed_release_s, switches
from machinelab.controls.electrical_limits import check_points, electrical_limit, electrical_limits
from machinelab.controls.isolation import cable_separation_mm, open_points, taken_as_live
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
from machinelab.spindle.brake_contact import dc_breaking_current_a, overlap_current_a

DATA = Path(__file__).parent / "data" / "electrical.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
RELAY, SWITCH = "small relay marked 10 A 250 V AC", "snap switch marked 10 A 250 V AC"
IN_DUCT = "in conduit or duct"
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
def test_each_single_figure_is_the_one_that_was_read_with_its_unit_and_source(row, name):
    found = electrical_limit(name)
    assert (found.limit_value, found.limit_unit) == (ROWS[row]["value"], ROWS[row]["unit"])
    assert found.source


def test_a_bond_is_tested_with_ten_amperes_against_a_tenth_of_an_ohm():
    """IEC 61439-1, 10.5.2, excerpt."""
    values = [electrical_limit(name).limit_value for name in ("bond", "bond test current")]
    assert values == ROWS["bond"]["value"]
    assert bond_voltage_v(10, bond_ohm=0.1) == pytest.approx(1.0)


def test_what_is_from_memory_says_so():
    """Where a figure was not read, its row admits it; 500 V was read, the megohm was not."""
    assert "from memory" in electrical_limit("insulation").source
    assert "from memory" not in electrical_limit("insulation test voltage").source
    assert all("memory" in row["source"] for row in tables.read("us_conductors") if "NFPA" in row["source"])


@pytest.mark.parametrize(("row", "bus"), BLEEDERS.items())
def test_the_largest_bleed_resistor_of_four_buses(row, bus):
    """R = t / (C ln(V0/60)), worked out by hand."""
    (capacitance, voltage), expected = bus, ROWS[row]
    limit = bleed_resistor_limit_ohm(5.0, capacitance_f=capacitance, bus_voltage_v=voltage)
    assert limit == pytest.approx(expected["value"], abs=1)
    assert bleed_power_w(voltage, bleed_resistor_ohm=limit) == pytest.approx(expected["power_W"], abs=0.01)
    assert stored_energy_j(voltage, capacitance_f=capacitance) == pytest.approx(
        expected["energy_J"], abs=0.05
    )


def test_a_chosen_bleed_resistor_with_all_tolerances_against_it():
    """Worked out by hand: 6.8 kohm and 5 %, 470 uF and 20 %, from 170 V."""
    expected = ROWS["bleeder_tol"]
    found = residual_voltage(capacitance_f=470e-6, bleed_resistor_ohm=6800, bus_voltage_v=170)
    assert found.bleed_time_s == pytest.approx(expected["value"], abs=0.001)
    assert found.bleed_power_w == pytest.approx(expected["power_W"], abs=0.001)
    assert found.rating_wanted_w < 10, "a 10 W resistor will do"
    assert not found.exempt_by_charge
    assert found.one_open_s == pytest.approx(2 * expected["value"], abs=0.001)


def test_a_bus_without_bleed_resistor_stays_charged_for_most_of_a_minute():
    """Worked out by hand: leakage alone; and by following the voltage in small steps."""
    found = bleed_time_s(capacitance_f=470e-6, bleed_resistor_ohm=100e3, bus_voltage_v=170)
    assert found == pytest.approx(ROWS["unbled"]["value"], abs=0.1)
    voltage, time, dt = 170.0, 0.0, 1e-3
    while voltage > 60:
        voltage -= voltage / 100e3 / 470e-6 * dt
        time += dt
    assert found == pytest.approx(time, rel=1e-3)


def test_sixty_microcoulombs_at_the_peak_of_230_volts():
    """Worked out by hand."""
    assert 1e6 * exempt_capacitance_f(325) == pytest.approx(ROWS["charge_C_325"]["value"], abs=0.0005)
    assert residual_voltage(capacitance_f=0.18e-6, bleed_resistor_ohm=1e6, bus_voltage_v=325).exempt_by_charge


def test_an_emergency_stop_is_of_category_0_or_1():
    """IEC 60204-1, 9.2, excerpt."""
    allowed = [number for number in (0, 1, 2) if stop_category(number).for_emergency]
    assert allowed == ROWS["stop0"]["value"]
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


def test_the_bounds_of_the_performance_levels():
    """ISO 13849-1, table 2, as reprinted."""
    for letter, (least, below) in zip("abcde", ROWS["pfhd"]["value"], strict=True):
        assert performance_level(least) == letter
        assert performance_level(0.999 * below) == letter
        assert performance_level(below) != letter
    assert performance_level(1.0) == performance_level(1e-9) == ""


def test_no_distance_at_a_lathe_saves_a_hand():
    """ISO 13855, excerpts that disagree on which speed is the hand's; K times T by hand."""
    assert list(APPROACH_MM_S) == ROWS["k_approach"]["value"]
    found = reach_distance_mm(0.8, approach_mm_s=np.array(APPROACH_MM_S))
    assert found == pytest.approx(ROWS["sep_0.8s"]["value"])


@pytest.mark.parametrize("area", ROWS["iz_en60204"]["value"])
def test_every_current_of_the_european_table(area):
    """EN 60204-1 as reprinted in a drive manual."""
    for laying, expected in zip(LAYINGS, ROWS["iz_en60204"]["value"][area], strict=True):
        found = conductor_currents(float(area), laying=laying, air_degc=40, loaded_circuits=1)
        assert found.iec_a == expected


def test_warm_air_and_neighbours_take_current_away():
    """The same manual for the air; bundles from memory."""
    base = conductor_currents(2.5, laying=IN_DUCT, air_degc=40, loaded_circuits=1).iec_a
    for air, factor in ROWS["iz_temp"]["value"].items():
        found = conductor_currents(2.5, laying=IN_DUCT, air_degc=float(air), loaded_circuits=1)
        assert found.iec_a == pytest.approx(base * factor)
    between = conductor_currents(2.5, laying=IN_DUCT, air_degc=47, loaded_circuits=1).iec_a
    assert between == pytest.approx(base * 0.82), "between two rows the hotter one holds"
    four = conductor_currents(2.5, laying=IN_DUCT, air_degc=40, loaded_circuits=4).iec_a
    assert four == pytest.approx(base * 0.65)


def test_american_gauges_and_their_fuses():
    """NEC 240.4(D), excerpt; NFPA 79 from memory. Sections as every wire table prints them."""
    gauges = np.array([18, 16, 14, 12, 10])
    assert awg_area_mm2(gauges) == pytest.approx([0.823, 1.31, 2.08, 3.31, 5.26], abs=0.005)
    found = conductor_currents(awg_area_mm2(gauges), laying=IN_DUCT, air_degc=40, loaded_circuits=1)
    assert list(found.us_a) == ROWS["nfpa79_small"]["value"] + ROWS["nec_small"]["value"]


def test_both_rules_are_given_and_the_smaller_is_kept():
    """By hand from both tables: 1.5 mm2 is 13.1 A, or 10 A as 16 gauge; 0.75 mm2 is thinner than 18 gauge."""
    both = conductor_currents(1.5, laying=IN_DUCT, air_degc=40, loaded_circuits=1)
    assert (both.iec_a, both.us_a, both.lower_a) == (13.1, 10.0, 10.0)
    thin = conductor_currents(0.75, laying=IN_DUCT, air_degc=40, loaded_circuits=1)
    assert np.isnan(thin.us_a)
    assert thin.lower_a == 8.5
    thick = conductor_currents(4.0, laying=IN_DUCT, air_degc=50, loaded_circuits=1)
    assert thick.lower_a == pytest.approx(23 * 0.82)


def test_a_wire_or_air_that_no_table_knows_is_refused():
    with pytest.raises(RangeError, match=r"begins at 0\.75"):
        conductor_currents(0.5, laying=IN_DUCT, air_degc=40, loaded_circuits=1)
    with pytest.raises(RangeError, match="above 60"):
        conductor_currents(1.5, laying=IN_DUCT, air_degc=65, loaded_circuits=1)
    with pytest.raises(RangeError, match="electrician"):
        conductor_currents(1.5, laying=IN_DUCT, air_degc=40, loaded_circuits=6)
    with pytest.raises(RangeError, match="on a wall"):
        conductor_currents(1.5, laying="in a sack", air_degc=40, loaded_circuits=1)
    with pytest.raises(RangeError, match="ends at 16"):
        protective_area_mm2(25.0)


def test_load_then_fuse_then_wire():
    assert fuse_fit(10.0, load_a=6.0, wire_a=13.1) == fuse_fit(6.0, load_a=6.0, wire_a=6.0)
    assert not fuse_fit(16.0, load_a=6.0, wire_a=13.1).guards_wire
    assert not fuse_fit(6.0, load_a=7.5, wire_a=13.1).carries_load
    assert continuous_wire_a(8.0) == 10.0


def test_five_metres_of_bonding_wire():
    """0.0175 ohm for a metre of a square millimetre, by hand; measured and back."""
    wire = bond_resistance_ohm(5, area_mm2=1.5)
    assert wire == pytest.approx(ROWS["bond_pred"]["value"], abs=5e-5)
    read = bond_voltage_v(10.0, bond_ohm=wire + 0.02)
    assert measured_bond_ohm(read, test_current_a=10.0, lead_ohm=0.02) == pytest.approx(wire)


def test_a_ten_ampere_relay_breaks_half_an_ampere_of_direct_current():
    """A relay maker's rating page, excerpt; the data sheets of the brake's table lie on both sides of it."""
    assert may_open_a(30, device=RELAY, load="resistive", poles=1) == 10
    found = may_open_a(110, device=RELAY, load="resistive", poles=1)
    assert found == ROWS["relay_dc"]["value"]
    sheets = [dc_breaking_current_a(110, relay=name) for name in ("10 A relay of another", "8 A relay")]
    assert sheets[0] < found < sheets[1]


def test_a_snap_switch_on_direct_current():
    """A switch's data sheet page, excerpt."""
    for load, expected in (
        ("resistive", ROWS["switch_dc"]["value"]),
        ("inductive", ROWS["switch_dc"]["inductive"]),
    ):
        assert list(may_open_a(np.array([125, 250]), device=SWITCH, load=load, poles=1)) == expected
    assert set(switches()) == {RELAY, SWITCH}


def test_between_two_voltages_the_worse_figure_holds_and_above_the_last_none():
    assert may_open_a(60, device=RELAY, load="resistive", poles=1) == 0.5
    assert may_open_a(130, device=RELAY, load="resistive", poles=1) == 0
    assert may_open_a(130, device=RELAY, load="resistive", poles=2) == 0.5
    with pytest.raises(RangeError, match="inductive"):
        may_open_a(60, device=RELAY, load="inductive", poles=1)


def test_a_plain_diode_makes_a_relay_five_to_ten_times_slower():
    """A comparison of suppressors, excerpt."""
    found = suppressed_release_s(0.010, suppressor="plain diode")
    assert [found.shortest_s, found.longest_s] == pytest.approx(
        [0.010 * times for times in ROWS["diode_slow"]["value"]]
    )
    assert suppressed_release_s(0.010, suppressor="none").longest_s == 0.010
    with pytest.raises(RangeError, match="plain diode"):
        suppressed_release_s(0.010, suppressor="hope")


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


def test_a_cable_keeps_the_larger_of_two_distances():
    """Two drive manuals that differ, excerpts: 75 mm, and 25 mm for each metre side by side."""
    assert cable_separation_mm(np.array([0.0, 1.0, 3.0, 6.0])) == pytest.approx([75, 75, 75, 150])
    assert len(open_points("noise", {})) == len(check_points("noise")) == 6


def test_the_torque_that_unscrews_a_chuck_in_two_stops():
    """J w / t by hand: 0.006 kg m2 from 1000 rpm in 2 s and in 0.5 s."""
    slowing = 1000 * np.pi / 30 / np.array([2.0, 0.5])
    found = unscrewing_torque_nm(slowing, chuck_inertia_kg_m2=0.006)
    assert found == pytest.approx(ROWS["unscrew"]["value"], abs=0.001)


def test_the_first_moment_of_a_brake_resistor():
    """Ohm's law by hand: 130 V into 10 ohm."""
    current, power = ROWS["brake_I"]["value"]
    assert overlap_current_a(130, resistor_ohm=10) == pytest.approx(current)
    assert bleed_power_w(130, bleed_resistor_ohm=10) == pytest.approx(power)


def test_the_worst_of_ten_stops_counts():
    times = [1.9, 2.0, 2.1, 1.95, 2.05, 2.0, 1.9, 2.2, 2.0, 1.9]
    found = stopping_times(times)
    assert (found.worst_stop_s, found.stop_runs, found.enough_runs) == (2.2, 10, True)
    assert found.mean_stop_s == pytest.approx(2.0)
    with pytest.raises(RangeError, match="at least one"):
        stopping_times([])


def test_every_row_that_was_handed_over_is_used_and_names_its_source():
    text = Path(__file__).read_text(encoding="utf-8")
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
