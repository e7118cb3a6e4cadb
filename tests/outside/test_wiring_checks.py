"""Wires, fuses, contacts and cables of the control box against printed tables and hand calculation."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import EXAMPLE, EXCERPT, MEMORY, STANDARD, Source, source_of

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
from machinelab.controls.electrical_limits import check_points
from machinelab.controls.isolation import cable_separation_mm, open_points
from machinelab.errors import RangeError
from machinelab.spindle.brake_contact import dc_breaking_current_a

ROOM = "controls"
CABLES = Source(
    EXAMPLE, "two drive manuals that differ: 75 mm, and 25 mm for each metre side by side", EXCERPT
)
DATA = Path(__file__).parent / "data" / "electrical.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
RELAY, SWITCH = "small relay marked 10 A 250 V AC", "snap switch marked 10 A 250 V AC"
IN_DUCT = "in conduit or duct"


@pytest.mark.parametrize("area", ROWS["iz_en60204"]["value"])
def test_every_current_of_the_european_table(compare, area):
    """EN 60204-1 as reprinted in a drive manual."""
    for laying, expected in zip(LAYINGS, ROWS["iz_en60204"]["value"][area], strict=True):
        found = conductor_currents(float(area), laying=laying, air_degc=40, loaded_circuits=1)
        compare(
            f"current of {area} mm2, {laying}, 40 degC",
            found.iec_a,
            expected,
            source_of(ROWS["iz_en60204"]),
            unit="A",
        )


def test_warm_air_and_neighbours_take_current_away(compare):
    """The same manual for the air; bundles from memory."""
    base = conductor_currents(2.5, laying=IN_DUCT, air_degc=40, loaded_circuits=1).iec_a
    for air, factor in ROWS["iz_temp"]["value"].items():
        found = conductor_currents(2.5, laying=IN_DUCT, air_degc=float(air), loaded_circuits=1)
        compare(
            f"current of 2.5 mm2 in a duct at {air} degC",
            found.iec_a,
            base * factor,
            source_of(ROWS["iz_temp"]),
            rel=1e-6,
            unit="A",
        )
    between = conductor_currents(2.5, laying=IN_DUCT, air_degc=47, loaded_circuits=1).iec_a
    assert between == pytest.approx(base * 0.82), "between two rows the hotter one holds"
    four = conductor_currents(2.5, laying=IN_DUCT, air_degc=40, loaded_circuits=4).iec_a
    compare(
        "current of four circuits in one duct",
        four,
        base * 0.65,
        Source(STANDARD, "EN 60204-1, bundles", MEMORY),
        rel=1e-6,
        unit="A",
    )


def test_american_gauges_and_their_fuses(compare):
    """NEC 240.4(D), excerpt; NFPA 79 from memory. Sections as every wire table prints them."""
    gauges = np.array([18, 16, 14, 12, 10])
    compare(
        "section of a wire gauge",
        awg_area_mm2(gauges),
        [0.823, 1.31, 2.08, 3.31, 5.26],
        Source(STANDARD, "American wire gauge, as every wire table prints it", MEMORY),
        abs=0.005,
        unit="mm2",
        each=[f"{one} AWG" for one in gauges],
        why="one tolerance for five sections, printed to three figures",
    )
    found = conductor_currents(awg_area_mm2(gauges), laying=IN_DUCT, air_degc=40, loaded_circuits=1)
    machine, building = ROWS["nfpa79_small"], ROWS["nec_small"]
    compare(
        "fuse of machine wire of 18 and 16 AWG",
        found.us_a[:2],
        machine["value"],
        source_of(machine),
        unit="A",
    )
    compare(
        "fuse of wire of 14, 12 and 10 AWG", found.us_a[2:], building["value"], source_of(building), unit="A"
    )


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


def test_five_metres_of_bonding_wire(compare):
    """0.0175 ohm for a metre of a square millimetre, by hand; measured and back."""
    wire = bond_resistance_ohm(5, area_mm2=1.5)
    compare(
        "five metres of 1.5 mm2 copper",
        wire,
        ROWS["bond_pred"]["value"],
        source_of(ROWS["bond_pred"]),
        abs=5e-5,
        unit="ohm",
    )
    read = bond_voltage_v(10.0, bond_ohm=wire + 0.02)
    assert measured_bond_ohm(read, test_current_a=10.0, lead_ohm=0.02) == pytest.approx(wire)


def test_a_ten_ampere_relay_breaks_half_an_ampere_of_direct_current(compare):
    """A relay maker's rating page, excerpt; the data sheets of the brake's table lie on both sides of it."""
    compare(
        "current that a 10 A relay may open at 30 V DC",
        may_open_a(30, device=RELAY, load="resistive", poles=1),
        10,
        source_of(ROWS["relay_dc"]),
        unit="A",
    )
    found = may_open_a(110, device=RELAY, load="resistive", poles=1)
    compare(
        "current that a 10 A relay may open at 110 V DC",
        found,
        ROWS["relay_dc"]["value"],
        source_of(ROWS["relay_dc"]),
        unit="A",
    )
    sheets = [dc_breaking_current_a(110, relay=name) for name in ("10 A relay of another", "8 A relay")]
    assert sheets[0] < found < sheets[1]


def test_a_snap_switch_on_direct_current(compare):
    """A switch's data sheet page, excerpt."""
    for load, expected in (
        ("resistive", ROWS["switch_dc"]["value"]),
        ("inductive", ROWS["switch_dc"]["inductive"]),
    ):
        compare(
            f"current that a snap switch may open at 125 and 250 V DC, {load}",
            list(may_open_a(np.array([125, 250]), device=SWITCH, load=load, poles=1)),
            expected,
            source_of(ROWS["switch_dc"]),
            unit="A",
        )
    assert set(switches()) == {RELAY, SWITCH}


def test_between_two_voltages_the_worse_figure_holds_and_above_the_last_none():
    assert may_open_a(60, device=RELAY, load="resistive", poles=1) == 0.5
    assert may_open_a(130, device=RELAY, load="resistive", poles=1) == 0
    assert may_open_a(130, device=RELAY, load="resistive", poles=2) == 0.5
    with pytest.raises(RangeError, match="inductive"):
        may_open_a(60, device=RELAY, load="inductive", poles=1)


def test_a_plain_diode_makes_a_relay_five_to_ten_times_slower(compare):
    """A comparison of suppressors, excerpt."""
    found = suppressed_release_s(0.010, suppressor="plain diode")
    compare(
        "release of a relay of 10 ms with a plain diode",
        [found.shortest_s, found.longest_s],
        [0.010 * times for times in ROWS["diode_slow"]["value"]],
        source_of(ROWS["diode_slow"]),
        rel=1e-6,
        unit="s",
        each=("shortest", "longest"),
    )
    assert suppressed_release_s(0.010, suppressor="none").longest_s == 0.010
    with pytest.raises(RangeError, match="plain diode"):
        suppressed_release_s(0.010, suppressor="hope")


def test_a_cable_keeps_the_larger_of_two_distances(compare):
    """Two drive manuals that differ, excerpts: 75 mm, and 25 mm for each metre side by side."""
    compare(
        "cable separation",
        cable_separation_mm(np.array([0.0, 1.0, 3.0, 6.0])),
        [75, 75, 75, 150],
        CABLES,
        rel=1e-6,
        unit="mm",
        each=[f"{one:g} m side by side" for one in (0, 1, 3, 6)],
    )
    assert len(open_points("noise", {})) == len(check_points("noise")) == 6
