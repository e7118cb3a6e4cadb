"""How a control box is searched: what is noticed, what is bounded, and what a person reads."""

import copy
import re
import time
import tomllib
from functools import cache
from pathlib import Path

import pytest

from machinelab.controls.explore import explore, with_fault
from machinelab.controls.fault import OPEN, WELDED, Fault, every_fault
from machinelab.controls.faults import in_order, sweep, verdict_on_faults
from machinelab.controls.panel_reading import read_panel
from machinelab.controls.rules import RULES
from machinelab.controls.search import MOST_STANDINGS, Search
from machinelab.controls.trace import LINE, MOST_ROWS, told
from machinelab.controls.truth_table import truth_table
from machinelab.errors import PanelError

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

DATA = Path(__file__).resolve().parents[1] / "outside" / "data"
AS_FOUND = tomllib.loads((DATA / "panel_as_found.toml").read_text())
CAREFUL = tomllib.loads((DATA / "panel_careful.toml").read_text())


def small(coil, **relay):
    """A box of one switch and one relay."""
    return {
        "switch": {"mains": {"pos": ["off", "on"]}},
        "contact": {"S1": {"of": "mains", "closed": ["on"]}},
        "relay": {"K": {"coil": coil, "no": ["K_a"], "nc": ["K_b"], **relay}},
        "load": {"drive": {"on": "K_a"}},
        "motor": {"lathe": {"source": "drive", "fwd": "K_a"}},
    }


@cache
def as_found():
    return explore(read_panel(AS_FOUND))


@cache
def whole_as_found():
    return Search(read_panel(AS_FOUND)).from_rest()


@cache
def outcome_as_found():
    return outcome(AS_FOUND)


def outcome(box):
    """Everything by which two boxes can be told apart."""
    found = explore(read_panel(box))
    return {rule: (one.about, len(one.way)) for rule, one in found.broken.items()}, found.states


def test_a_buzzing_relay_is_told_as_one_that_never_comes_to_rest():
    assert explore(read_panel(small("S1 and K_b"))).verdict("R0") == "broken"


@pytest.mark.parametrize("coil", ["S1", "S1 or K_a", "S1 and not (K_a and K_b)"])
def test_a_relay_that_holds_itself_comes_to_rest(coil):
    assert explore(read_panel(small(coil))).verdict("R0") == "kept"


def test_a_rung_and_its_transformation_by_de_morgan_are_one_and_the_same():
    one, other = copy.deepcopy(AS_FOUND), copy.deepcopy(AS_FOUND)
    one["relay"]["KB"]["coil"] = "MAINS and S1 and not (D_F or D_R)"
    other["relay"]["KB"]["coil"] = "MAINS and S1 and not D_F and not D_R"
    assert outcome(one) == outcome(other)


def test_a_self_latch_stays_in_after_the_start_button_is_let_go():
    box = small("S1 and (ST or K_a)")
    box["switch"]["start"] = {"pos": ["up", "down"], "momentary": "up"}
    box["contact"]["ST"] = {"of": "start", "closed": ["down"]}
    box["rules"] = {"start_actions": ["start:down"], "power_switches": ["mains"]}
    way = explore(read_panel(box)).broken["R4"].way
    assert [moment.event.part for moment in way[1:3]] == [1, 0], "only with the button held while power comes"
    rows = truth_table(Search(read_panel(box)).from_rest()).rows
    assert ("on", "-") in [row.positions for row in rows if row.relays == "K"]


STOP_CHAIN = [
    (table, name, key, contact)
    for table, name, key in (("relay", "KB", "coil"), ("load", "drive", "on"))
    for contact in ("MAINS", "S1", "ES1")
]


@pytest.mark.parametrize(("table", "name", "key", "contact"), STOP_CHAIN)
def test_a_contact_left_out_of_the_stop_chain_is_noticed(table, name, key, contact):
    box = copy.deepcopy(AS_FOUND)
    box[table][name][key] = re.sub(rf"\b{contact} and ", "", box[table][name][key])
    assert box != AS_FOUND
    assert outcome(box) != outcome_as_found()


@pytest.mark.parametrize("contact", ["MAINS", "S1", "ES1"])
@pytest.mark.parametrize("kind", [WELDED, OPEN])
def test_a_fault_in_the_stop_chain_changes_what_is_found(kind, contact):
    fault = with_fault(whole_as_found(), Fault(kind, contact))
    sound = as_found()
    told_apart = (fault.states, fault.settled_states, fault.starts_again)
    assert told_apart != (sound.states, sound.settled_states, sound.starts_again)


def test_a_search_that_was_stopped_or_gave_up_calls_nothing_kept():
    panel = read_panel(CAREFUL)
    told_states = []
    stopped = explore(panel, keep_on=lambda states: told_states.append(states) or len(told_states) < 3)
    assert len(told_states) == 3
    for found in (stopped, explore(panel, most_states=2_000)):
        assert not found.finished
        assert "NOT FINISHED" in found.coverage
        assert {found.verdict(rule) for rule in RULES} <= {"not finished", "broken", "not asked"}


@pytest.mark.slow
def test_a_box_with_many_free_switches_gives_up_within_bounds():
    names = [f"s{n}" for n in range(16)]
    box = {
        "switch": {name: {"pos": ["off", "a", "b", "c", "d", "on"], "adjacent": False} for name in names},
        "contact": {f"C{n}": {"of": name, "closed": ["on"]} for n, name in enumerate(names)},
        "load": {"drive": {"on": " and ".join(f"C{n}" for n in range(16))}},
    }
    begun = time.process_time()
    search = Search(read_panel(box)).from_rest()
    assert not search.finished
    assert len(search.wiring.standings) < MOST_STANDINGS + 100_000
    assert time.process_time() - begun < 60


@pytest.mark.slow
def test_a_careful_box_drops_its_motors_in_less_than_the_time_allowed():
    """Two relays one after the other, 10 to 20 ms each; the second opens the motor's lead at the latest."""
    found = explore(read_panel(CAREFUL), keep_on=lambda states: True)
    assert 0.02 <= found.slowest_stop_s <= 0.045


def test_a_mushroom_that_takes_effect_too_late_counts_as_no_stop():
    box = small("S1 and ES", dropout_ms=[300, 320])
    box["switch"]["estop"] = {"pos": ["out", "in"]}
    box["contact"]["ES"] = {"of": "estop", "closed": ["out"]}
    late = explore(read_panel(box))
    assert late.verdict("R2t") == "broken"
    assert late.slowest_stop_s == pytest.approx(0.32, abs=0.006)
    box["relay"]["K"]["dropout_ms"] = [10, 20]
    assert explore(read_panel(box)).verdict("R2t") == "kept"


def test_rules_that_cannot_be_asked_say_why_and_are_not_called_kept():
    found = explore(read_panel(small("S1")))
    assert found.verdict("R8") == "not asked"
    assert "guard" in found.not_asked["R8"]


def test_every_way_is_told_in_the_owners_names_in_few_rows_with_why_cure_and_test():
    panel = read_panel(AS_FOUND)
    names = {switch.name for switch in panel.switches}
    for broken in as_found().broken.values():
        trace = told(panel, broken)
        assert len(trace.rows) <= MOST_ROWS
        assert trace.rule.grade in trace.text
        for word in ("Why:", "Cure:", "Try it: plug out"):
            assert word in trace.text
        assert {row.act.split()[0] for row in trace.rows if "->" in row.act} <= names
        assert not re.search(r"\bsafe", trace.text)
        assert all(len(line) <= LINE for line in trace.text.splitlines())
        assert f"Step {trace.rows[-1].step}: {trace.rule.broken}." in " ".join(trace.text.split())


def test_the_table_of_what_the_box_does_covers_every_settled_standing_and_no_other():
    panel = read_panel(AS_FOUND)
    search = whole_as_found()
    table = truth_table(search, most_rows=10_000)
    matters = [n for n, switch in enumerate(panel.switches) if switch in panel.switches_that_matter]
    settled = {key for key in search.before if search.shown(key).settled}
    standings = {search.standing(key).switches for key in settled}
    for switches in standings:
        named = [panel.switches[n].positions[at] for n, at in enumerate(switches)]
        rows = [
            row
            for row in table.rows
            if all(row.positions[n] == "-" or named[n] in row.positions[n].split("/") for n in matters)
        ]
        assert len({(row.relays, row.fed) for row in rows}) == 1, "this box has no memory"


def test_every_part_of_the_careful_box_is_tried_with_every_fault():
    faults = every_fault(read_panel(CAREFUL))
    contacts = {fault.part for fault in faults if fault.kind == WELDED}
    assert len(faults) == len(set(faults)) == 2 * len(contacts) + 4 * 8 + 2


def test_the_sweep_of_a_small_box_finds_the_weld_that_defeats_the_mushroom():
    box = small("S1 and ES")
    box["switch"]["estop"] = {"pos": ["out", "in"]}
    box["contact"]["ES"] = {"of": "estop", "closed": ["out"]}
    panel = read_panel(box)
    results = in_order(panel, [result for _, _, result in sweep(panel, workers=1)])
    lost = {result.fault: result.lost for result in results}
    assert "R2" in lost[Fault(WELDED, "ES")]
    assert "R2" in lost[Fault(WELDED, "K_a")]
    assert lost[Fault(OPEN, "ES")] == ()
    assert next(result for result in results if result.fault == Fault(OPEN, "ES")).shows
    assert verdict_on_faults(results, tried_all=True) == "broken"
    kept = tuple(result for result in results if "R2" not in result.lost)
    assert verdict_on_faults(kept, tried_all=False) == "not finished"


def test_an_unknown_operator_is_refused_in_words():
    with pytest.raises(PanelError, match="patient or in a hurry"):
        explore(read_panel(AS_FOUND), operator="hasty")
