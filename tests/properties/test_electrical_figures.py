"""Tables of the control box: a refusal tells what they know, and each answer is that of its own row."""

import math
import re

import numpy as np
import pytest

from machinelab.controls.conductors import conductor_currents, fuse_fit, protective_area_mm2
from machinelab.controls.dc_contacts import may_open_a, suppressed_release_s, switches
from machinelab.controls.electrical_limits import check_points, electrical_limit, electrical_limits
from machinelab.controls.isolation import open_points, taken_as_live
from machinelab.controls.stopping import performance_level, stop_category, stopping_times
from machinelab.errors import RangeError
from machinelab.tables import read

WIRE = {"laying": "on a wall", "air_degc": 40, "loaded_circuits": 1}
RELAY = "small relay marked 10 A 250 V AC"
LONG = "x" * 45


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            lambda: conductor_currents(1.5, **WIRE | {"laying": "in a sack"}),
            "laying is 'in a sack'; type one of: in conduit or duct, on a wall, in free air.",
        ),
        (lambda: conductor_currents(1.5, **WIRE | {"laying": LONG}), f"laying is '{LONG[:40]}'; type one of"),
        (
            lambda: conductor_currents([np.nan, 2.5, 0.5, 0.6], **WIRE),
            "area_mm2 is 0.5; the table begins at 0.75 mm2. Take a thicker wire for power.",
        ),
        (
            lambda: conductor_currents(1.5, **WIRE | {"air_degc": [np.nan, 61, 70]}),
            "air_degc is 70; above 60 the table has no figure.",
        ),
        (
            lambda: conductor_currents(1.5, **WIRE | {"loaded_circuits": 5}),
            "loaded_circuits is 5; for more than 4 ask an electrician.",
        ),
        (lambda: protective_area_mm2([np.nan, 16, 25]), "area_mm2 is 25; this rule ends at 16 mm2."),
        (
            lambda: may_open_a(24, device="sledge", load="resistive", poles=1),
            f"The table has no 'sledge' for a load 'resistive'. It has: {RELAY} (resistive)",
        ),
        (
            lambda: may_open_a(24, device=LONG, load=LONG, poles=1),
            f"The table has no '{LONG[:40]}' for a load '{LONG[:20]}'.",
        ),
        (
            lambda: suppressed_release_s(0.01, suppressor="prayer"),
            "There is no suppressor 'prayer'. There are: none, plain diode,",
        ),
        (
            lambda: suppressed_release_s(0.01, suppressor=LONG),
            f"There is no suppressor '{LONG[:40]}'. There are:",
        ),
        (
            lambda: electrical_limit("fun"),
            "There is no limit 'fun'. There are: residual voltage, residual time,",
        ),
        (lambda: electrical_limit(LONG), f"There is no limit '{LONG[:40]}'. There are:"),
        (
            lambda: check_points("fun"),
            "There is no list 'fun'. There are: emergency_stop, isolation, noise.",
        ),
        (lambda: check_points(LONG), f"There is no list '{LONG[:40]}'. There are:"),
        (
            lambda: open_points("isolation", {"i9": True, "a1": True}),
            "The list has no point a1, i9. It has: i1, i2, i3, i4, i5, i6, i7.",
        ),
        (
            lambda: taken_as_live({"i2": True, "i1": "perhaps"}),
            "Point i1 is answered 'perhaps'; answer yes, no or not known.",
        ),
        (lambda: stop_category(3), "category_number is 3; stops are of category 0, 1 or 2."),
        (lambda: stopping_times([]), "stop_times_s is empty; time at least one stop, better ten."),
    ],
)
def test_a_refusal_says_what_was_typed_and_what_is_known(asked, told):
    with pytest.raises(RangeError, match="^" + re.escape(told)):
        asked()


def test_each_answer_is_that_of_the_row_that_was_asked_for():
    assert [stop_category(number).category_number for number in (0, 1, 2)] == [0, 1, 2]
    for one in electrical_limits():
        assert electrical_limit(one.limit_name) == one
        assert one.limit_unit
        assert one.meaning
    for name in ("emergency_stop", "isolation", "noise"):
        points = check_points(name)
        assert len({point.point for point in points}) == len(points) > 2
        assert all(point.asked.strip() and point.source.strip() for point in points)
    assert any(point.otherwise for point in check_points("isolation"))


def test_every_switch_of_the_table_is_listed_once_and_may_open_something():
    assert len(set(switches())) == len(switches())
    for device in switches():
        currents = []
        for load in ("resistive", "inductive"):
            try:
                currents.append(float(may_open_a(12, device=device, load=load, poles=1)))
            except RangeError:
                currents.append(0.0)
        assert max(currents) > 0


def test_a_wire_that_is_nearly_the_thinnest_of_the_table_is_taken_for_it():
    assert conductor_currents(0.75 / 1.005, **WIRE).iec_a == conductor_currents(0.75, **WIRE).iec_a
    with pytest.raises(RangeError, match=r"the table begins at 0\.75 mm2"):
        conductor_currents(0.7462, **WIRE)


def test_a_suppressor_is_told_with_the_source_of_its_own_row():
    rows = {row["suppressor"]: row for row in read("coil_suppressors")}
    for name, row in rows.items():
        found = suppressed_release_s([0.01, 0.02], suppressor=name)
        assert found.source == row["source"]
        np.testing.assert_allclose(found.shortest_s, np.array([0.01, 0.02]) * float(row["least_times"]))
        np.testing.assert_allclose(found.longest_s, np.array([0.01, 0.02]) * float(row["most_times"]))


def test_poles_in_series_share_the_voltage():
    for volts in (20, 60, 110, 200):
        alone = may_open_a(volts / 2, device=RELAY, load="resistive", poles=1)
        assert may_open_a(volts, device=RELAY, load="resistive", poles=2) == alone


def test_what_is_not_answered_yes_stays_open():
    answers = {"i1": True, "i2": False, "i3": None, "i4": True, "i5": True, "i7": True}
    assert [point.point for point in open_points("isolation", answers)] == ["i2", "i3", "i6"]
    assert [taken_as_live(said) for said in ({}, {"i1": False}, {"i1": True, "i2": False})] == [1, 1, 0]


def test_ten_stops_are_enough_and_nine_are_not():
    times = [2.0, 2.5, *[1.5] * 7]
    nine, ten = stopping_times(times), stopping_times([*times, 3.0])
    assert (nine.mean_stop_s, nine.worst_stop_s, nine.stop_runs, nine.enough_runs) == (15 / 9, 2.5, 9, False)
    assert (ten.mean_stop_s, ten.worst_stop_s, ten.stop_runs, ten.enough_runs) == (1.8, 3.0, 10, True)
    assert stopping_times(2).mean_stop_s == 2
    assert math.isnan(stopping_times([1.0, np.nan]).worst_stop_s)


def test_a_level_begins_at_its_own_bound_and_ends_before_the_next():
    """ISO 13849-1, excerpt: b from 3e-6 to below 1e-5, e from 1e-8 to below 1e-7."""
    assert [performance_level(rate) for rate in (3e-6, 9.9e-6, 1e-5, 1e-7, 0.99e-7, 1e-8)] == list("bbadee")
    assert [performance_level(rate) for rate in (0, 0.99e-8, 1e-4)] == ["", "", ""]


def test_a_fuse_equal_to_load_or_wire_still_fits():
    assert fuse_fit(10, load_a=10, wire_a=10).carries_load
    assert fuse_fit(10, load_a=10, wire_a=10).guards_wire
    assert not fuse_fit(10, load_a=10.1, wire_a=10).carries_load
    assert not fuse_fit(10, load_a=10, wire_a=9.9).guards_wire


@pytest.mark.parametrize(
    ("area_mm2", "gauge_a"), [(0.81, math.nan), (0.83, 7.0), (1.31, 10.0), (2.08, 15.0), (3.31, 20.0)]
)
def test_a_wire_that_is_nearly_a_gauge_counts_as_that_gauge(area_mm2, gauge_a):
    """NFPA 79, from memory: 7 A for AWG 18, 10 for 16; NEC 240.4(D), excerpt: 15 for 14, 20 for 12."""
    found = conductor_currents(area_mm2, **WIRE)
    np.testing.assert_equal(float(found.us_a), gauge_a)
    assert float(found.lower_a) == np.nanmin([found.iec_a, found.us_a])
