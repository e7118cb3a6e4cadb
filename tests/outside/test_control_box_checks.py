"""Two control boxes against the verdicts that a program written apart from this one has given on them."""

import json
import tomllib
from functools import cache
from pathlib import Path

import pytest
from inspection.source import source_of

from machinelab.controls.explore import explore
from machinelab.controls.fault import OPEN, WELDED, Fault
from machinelab.controls.panel_reading import read_panel

ROOM = "controls"

DATA = Path(__file__).parent / "data"
ROWS = {row["id"]: row for row in json.loads((DATA / "control_box.json").read_text())}
AGREEMENT = "(M_L2 and KM_n2 or M_M2 and KM_m2) and "
NOTES = {"N1", "N2"}
KINDS = {"weld": WELDED, "open": OPEN}


def described(name):
    return tomllib.loads((DATA / f"panel_{name}.toml").read_text())


@cache
def found(name, fault=None):
    return explore(read_panel(described(name)), fault=fault)


def happened(way):
    """What was done and what happened by itself, without the ticks between."""
    return [moment for moment in way if moment.event and moment.event.kind != "tick"]


@pytest.mark.parametrize("check", ["F1", "F2", "F3"])
def test_the_box_as_found_breaks_a_rule_in_so_many_steps(compare, check):
    expected = dict(ROWS[check]["expect"])
    steps = expected.pop("steps")
    (rule,) = expected
    compare(
        f"steps until the box as found breaks {rule}",
        len(happened(found("as_found").broken[rule].way)),
        steps,
        source_of(ROWS[check]),
    )


def test_power_that_returns_with_the_selector_at_forward_starts_it_unasked():
    broken = found("as_found").broken
    assert happened(broken["R4"].way) == happened(broken["R7"].way)
    assert broken["R4"].way[-1].driven == (1, 0)


def test_the_brake_lets_go_only_after_the_drive_is_live():
    last = found("as_found").broken["R1"].way[-1]
    assert last.shown.brake & 1
    assert last.driven[0]


@pytest.mark.slow
@pytest.mark.parametrize("check", ["F5", "F7", "F8"])
def test_the_careful_box_loses_with_one_fault_what_it_was_seen_to_lose(compare, check):
    kind, part = ROWS[check]["fault"].split()
    result = found("careful", Fault(KINDS[kind], part))
    for rule, verdict in ROWS[check]["expect"].items():
        compare(
            f"{ROWS[check]['fault']} in the careful box: {rule}",
            result.verdict(rule),
            {"lost": "broken"}.get(verdict, verdict),
            source_of(ROWS[check]),
        )
    compare(
        f"{ROWS[check]['fault']} in the careful box: R2c",
        result.verdict("R2c"),
        "kept",
        source_of(ROWS[check]),
    )
    assert result.finished


@pytest.mark.slow
def test_the_careful_box_breaks_nothing_and_only_starts_late_as_asked(compare):
    result = found("careful")
    assert ROWS["F9"]["expect"]["note"] == "N1 only"
    compare("what the careful box breaks", sorted(result.broken), ["N1"], source_of(ROWS["F9"]))
    assert result.finished
    # States are counted otherwise here: no switch of the spindle was held, wishes and charges count as well.
    assert result.states > ROWS["F9"]["expect"]["states_spindle_slice_ranges"]


def without_agreement(box, **rules):
    assert AGREEMENT in box["relay"]["K0"]["coil"]
    box["relay"]["K0"]["coil"] = box["relay"]["K0"]["coil"].replace(AGREEMENT, "")
    box["rules"] |= rules
    return box


def with_middle_delays(box):
    for relay in box["relay"].values():
        for key in ("pickup_ms", "dropout_ms"):
            relay[key] = sum(relay.get(key, (10, 20))) / 2
    return box


@pytest.mark.slow
def test_without_the_agreement_contact_a_motor_starts_unasked_but_only_when_delays_spread(compare):
    """The other program let a wish stand when the selector is moved, so here the selector plays no part."""
    assert "with delay ranges" in ROWS["F11"]["expect"]["R7"]
    spread = without_agreement(described("careful"), selectors=[])
    compare(
        "careful box without the agreement contact, delays spread: R7",
        explore(read_panel(spread)).verdict("R7"),
        "broken",
        source_of(ROWS["F11"]),
    )
    compare(
        "careful box without the agreement contact, delays at their middle: R7",
        explore(read_panel(with_middle_delays(spread))).verdict("R7"),
        "kept",
        source_of(ROWS["F11"]),
    )


@pytest.mark.slow
def test_without_the_agreement_contact_the_mill_starts_on_a_wish_that_was_meant_for_the_lathe():
    """We count a wish as withdrawn when the selector is moved; then no spread of delays is needed."""
    box = read_panel(with_middle_delays(without_agreement(described("careful"))))
    broken = explore(box).broken["R7"]
    moved = [box.switches[m.event.part].name for m in broken.way if m.event and m.event.kind == "move"]
    assert moved[-2:] == ["dir", "mode"]
    assert broken.way[-1].driven == (0, 1)
