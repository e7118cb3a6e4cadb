"""For each rule the smallest control box that breaks it, and the cure that keeps it, as found by hand."""

import copy
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from machinelab.controls.events import BREAKS, Event
from machinelab.controls.explore import explore, with_fault
from machinelab.controls.fault import Fault
from machinelab.controls.faults import FaultResult, in_order, sweep, verdict_on_faults
from machinelab.controls.movements import Movements
from machinelab.controls.panel_reading import read_panel
from machinelab.controls.search import Search
from machinelab.controls.trace import stations, told
from machinelab.controls.truth_table import TableRow, TruthTable, truth_table
from machinelab.controls.wiring import Standing

PLAIN = {
    "switch": {
        "mains": {"pos": ["off", "on"]},
        "dir": {"pos": ["off", "fwd"]},
        "estop": {"pos": ["out", "in"]},
    },
    "contact": {
        "S1": {"of": "mains", "closed": ["on"]},
        "D": {"of": "dir", "closed": ["fwd"]},
        "ES": {"of": "estop", "closed": ["out"]},
    },
    "load": {"drive": {"on": "S1"}},
    "motor": {"lathe": {"source": "drive", "fwd": "D and ES"}},
    "rules": {"start_actions": ["dir:fwd"]},
}
BRAKE_SWITCH = {
    "switch": {"brake": {"pos": ["up", "down"]}},
    "contact": {"BR": {"of": "brake", "closed": ["down"]}},
}
MODE = {
    "switch": {"mode": {"pos": ["lathe", "mill"]}},
    "contact": {"MA": {"of": "mode", "closed": ["lathe"]}, "MB": {"of": "mode", "closed": ["mill"]}},
}
GUARD = {
    "switch": {"guard": {"pos": ["shut", "open"]}},
    "contact": {"G": {"of": "guard", "closed": ["shut"]}},
}
LATCH = {
    "switch": {"start": {"pos": ["up", "down"], "momentary": "up"}},
    "contact": {"ST": {"of": "start", "closed": ["down"]}},
    "relay": {"K": {"coil": "S1 and ES and (ST or K_h)", "no": ["K_h", "K_a"]}},
    "motor": {"lathe": {"fwd": "K_a"}},
    "rules": {"start_actions": ["start:down"], "latch": "K"},
}
REVERSE = {
    "switch": {"dir": {"pos": ["rev", "off", "fwd"], "init": "off"}},
    "contact": {"R": {"of": "dir", "closed": ["rev"]}},
    "motor": {"lathe": {"rev": "R and ES"}},
    "rules": {"start_actions": ["dir:fwd", "dir:rev"]},
}


def box(*changes):
    """The plain box with other pieces laid over it."""
    found = copy.deepcopy(PLAIN)
    for change in changes:
        _lay_over(found, copy.deepcopy(change))
    return found


def _lay_over(below, above):
    for key, value in above.items():
        if isinstance(value, dict) and key in below:
            _lay_over(below[key], value)
        else:
            below[key] = value


def lathe(**rungs):
    return {"motor": {"lathe": rungs}}


def feed(rung):
    return {"load": {"feed": {"on": rung, "kind": "motion"}}}


def changeover(gap_ms):
    """One relay lets go of the brake, and takes the drive so much later."""
    relay = {"coil": "S1 and D and ES", "no": ["K_a"], "nc": ["K_b"], "transfer_ms": gap_ms}
    return {"relay": {"K": relay}, **lathe(fwd="K_a", brake="K_b")}


def standstill_timers(slow_drop_s, run_down_s=None, **rules):
    """After each direction a timer keeps the other one waiting."""
    relays = {
        name: {"coil": coil, "nc": [f"{name}_n"], "slow_drop_s": slow_drop_s, "pickup_ms": 5}
        for name, coil in (("TF", "S1 and D and ES and TR_n"), ("TR", "S1 and R and ES and TF_n"))
    }
    motor = {"fwd": "D and ES and TR_n", "rev": "R and ES and TF_n"}
    motor |= {"run_down_s": run_down_s} if run_down_s else {}
    return (REVERSE, {"relay": relays, "motor": {"lathe": motor}, "rules": rules})


def slow_mushroom(dropout_ms):
    return (
        {"relay": {"K": {"coil": "S1 and ES", "no": ["K_a"], "dropout_ms": dropout_ms}}},
        lathe(fwd="D and K_a"),
    )


def rated(amperes, volts):
    good, asked = {"dc_break_A": 5, "dc_break_V": 110}, {"dc_break_A": amperes, "dc_break_V": volts}
    return {"contact": {"ES": good, "D": asked}}


def mill(rung):
    return {"motor": {"mill": {"source": "drive", "fwd": rung}}}


# The selector at forward while power comes: what every box without a latch does.
UNASKED = {"R4": ("lathe", 2, "mains on"), "R7": ("lathe", 2, "mains on")}
FREED = {"R3": ("lathe", 4, "estop out"), **UNASKED}
# The same with a latch, since a hand may hold its button while power or mushroom come back.
HELD = FREED
FED_WITH_POWER = dict.fromkeys(("R4", "R7", "R9"), ("feed", 1, "mains on"))
BOXES = {
    "no latch": (box(), FREED),
    "the mushroom beside the motor": (
        box(lathe(fwd="D")),
        {"R2": ("lathe", 3, "estop in"), **UNASKED},
    ),
    "the mushroom in the supply": (box(lathe(fwd="D"), {"load": {"drive": {"on": "S1 and ES"}}}), FREED),
    "a supply that stays charged": (
        box(lathe(fwd="D"), {"load": {"drive": {"on": "S1 and ES", "holds": True}}}),
        {"R2": ("lathe", 3, "estop in"), **FREED},
    ),
    "a mushroom that acts after 205 ms": (
        box(*slow_mushroom([150, 205])),
        {"R2t": ("", 3, "estop in"), **FREED},
    ),
    "a mushroom that acts after 200 ms": (box(*slow_mushroom([150, 200])), FREED),
    "a buzzing relay": (
        box({"relay": {"K": {"coil": "S1 and K_b", "nc": ["K_b"]}}}),
        {"R0": ("", 1, "mains on"), **UNASKED},
    ),
    "a brake by hand": (
        box(lathe(brake="BR"), BRAKE_SWITCH),
        {"R1": ("lathe", 3, "brake down"), "R2b": ("lathe", 3, "estop in"), **FREED},
    ),
    "a brake at the same moment": (
        box(lathe(brake="not D or not ES")),
        {"R1b": ("lathe", 2, "dir fwd"), **FREED},
    ),
    "a gap of 5 ms": (box(changeover(5)), {"R1b": ("lathe", 2, "dir fwd"), **FREED}),
    "a gap of 10 ms": (box(changeover(10)), FREED),
    "a gap of 10 ms where 15 are wanted": (
        box(changeover(10), {"rules": {"gap_ms": 15}}),
        {"R1b": ("lathe", 2, "dir fwd"), **FREED},
    ),
    "a latch": (box(LATCH), HELD),
    "a feed past everything": (
        box(LATCH, feed("S1")),
        {**FED_WITH_POWER, "R2c": ("feed", 2, "estop in"), "R3": ("lathe", 4, "estop out")},
    ),
    "a feed past the latch": (
        box(LATCH, feed("S1 and ES")),
        {**FED_WITH_POWER, "R3": ("feed", 3, "estop out")},
    ),
    "a feed behind the latch": (box(LATCH, feed("K_h")), HELD),
    "a guard that does nothing": (box(LATCH, GUARD), {"R8": ("lathe", 3, "guard open"), **HELD}),
    "a guard past the latch": (
        box(LATCH, GUARD, lathe(fwd="K_a and G")),
        {"R8": ("lathe", 4, "guard shut"), **HELD},
    ),
    "a guard in the latch": (
        box(LATCH, GUARD, {"relay": {"K": {"coil": "S1 and ES and G and (ST or K_h)"}}}),
        {"R8": ("lathe", 4, "guard shut"), **HELD},
    ),
    "a selector in the motor's lead": (
        box(MODE, lathe(fwd="D and ES and MA"), mill("D and ES and MB")),
        {"R5": ("mill", 3, "mode mill"), **FREED},
    ),
    "a selector in the brake": (
        box(changeover(15), MODE, lathe(brake="K_b and MA")),
        {"R2b": ("lathe", 4, "mode mill"), "R5b": ("lathe", 4, "mode mill"), **FREED},
    ),
    "a selector at the display": (
        box(MODE, {"sensor": {"rpm": {"reads": {"lathe": "MA"}}}}),
        {"R5c": ("lathe", 3, "mode mill"), **FREED},
    ),
    "both directions at once": (
        box(lathe(rev="D and ES")),
        {"R6b": ("lathe", 1, "dir fwd"), **FREED},
    ),
    "a reverse that waits for nothing": (box(REVERSE), {"R6": ("lathe", 4, "dir fwd"), **FREED}),
    "a reverse that waits for longer than the run-down": (
        box(*standstill_timers([12, 14], [6, 10])),
        {"N1": ("lathe", 6, "timer"), **FREED},
    ),
    "a reverse that waits as long as the run-down": (
        box(*standstill_timers([10, 14], [6, 10])),
        {"N1": ("lathe", 5, "timer"), "R6": ("lathe", 5, "dir fwd"), **FREED},
    ),
    "a reverse that is said to wait long enough": (
        box(*standstill_timers([8, 9], timer_outlasts_coast=True)),
        {"N1": ("lathe", 6, "timer"), **FREED},
    ),
    "a reverse that waits, nobody knows whether long enough": (
        box(*standstill_timers([8, 9])),
        {"N1": ("lathe", 5, "timer"), "R6": ("lathe", 5, "dir fwd"), **FREED},
    ),
    "contacts for direct current": (box(rated(5, 110)), FREED),
    "a contact for no direct current": (box(rated(0, 110)), {"R11": ("D", 3, "dir off"), **FREED}),
    "a contact for no direct voltage": (box(rated(5, 0)), {"R11": ("D", 3, "dir off"), **FREED}),
    "a switch that may not open under load": (
        box({"rules": {"no_load_switches": ["dir"]}}),
        {"R11": ("D", 3, "dir off"), **FREED},
    ),
}


def happening(panel, event) -> str:
    if event.kind == "move":
        switch = panel.switches[event.part]
        return f"{switch.name} {switch.positions[event.to]}"
    return event.kind


def shortest_ways(panel, found) -> dict:
    return {
        rule: (broken.about, len(way), happening(panel, way[-1]))
        for rule, broken in found.broken.items()
        if (way := [one.event for one in broken.way if one.event and one.event.kind != "tick"])
    }


@pytest.mark.parametrize("name", BOXES)
def test_a_box_breaks_these_rules_on_these_shortest_ways_and_no_other(name):
    described, ways = BOXES[name]
    panel = read_panel(described)
    assert shortest_ways(panel, explore(panel)) == ways


def test_only_one_in_a_hurry_rides_through_a_dip_that_is_shorter_than_a_relay():
    panel = read_panel(BOXES["a mushroom that acts after 205 ms"][0])
    assert "N2" not in explore(panel).broken
    hurried = Search(panel, in_a_hurry=True).from_rest()
    for found in (explore(panel, operator="in a hurry"), with_fault(hurried, Fault("welded", "ES"))):
        assert found.broken["N2"].about == "lathe"
    assert shortest_ways(panel, explore(panel, operator="in a hurry"))["N2"] == ("lathe", 4, "mains on")
    assert "N2" not in with_fault(Search(panel).from_rest(), Fault("welded", "ES")).broken


def test_the_way_is_told_step_by_step_with_what_happens_what_the_relays_do_and_what_turns():
    panel = read_panel(box(LATCH))
    trace = told(panel, explore(panel).broken["R3"])
    assert [(row.step, row.act, row.happens, row.relays, row.turns) for row in trace.rows] == [
        ("1", "mains off -> on", "drive fed", "-", "all still"),
        ("2", "estop out -> in", "nothing", "-", "all still"),
        ("3", "start up -> down", "nothing", "-", "all still"),
        ("4", "estop in -> out", "lathe driven forward", "K pulls in at 10 ms", "lathe DRIVEN"),
    ]
    lines = trace.text.splitlines()
    assert lines[0] == "R3 releasing the mushroom starts it (lathe): HAZARD"
    assert lines[1].split() == ["step", "you", "do", "what", "happens", "relays", "turning"]
    columns = [lines[1].index(word) for word in ("step", "you do", "what happens", "relays", "turning")]
    assert [lines[2][at:].split("  ")[0] for at in columns] == [
        "1",
        "mains off -> on",
        "drive fed",
        "-",
        "all still",
    ]
    assert "  Step 4: releasing the mushroom starts it." in lines
    assert trace.bench_test == (
        "plug out, capacitors measured below 60 V, drive board unplugged. Meter on continuity over the path "
        "K_a (to lathe); press relays in by hand as the table says and do steps 1 to 4. If it closes at "
        "step 4, the wire does what the drawing says."
    )
    assert f"Try it: {trace.bench_test}" in " ".join(trace.text.split())


def test_a_way_with_a_brake_a_charge_a_feed_and_a_timer_is_told_in_its_own_words():
    panel = read_panel(box(*standstill_timers([12, 14], [6, 10])))
    rows = told(panel, explore(panel).broken["N1"]).rows
    assert [(row.act, row.happens, row.turns) for row in rows] == [
        ("mains off -> on", "drive fed", "all still"),
        ("dir off -> rev", "lathe driven in reverse", "lathe DRIVEN"),
        ("dir rev -> off", "drive off lathe", "lathe runs down"),
        ("(wait until lathe stands still)", "nothing", "all still"),
        ("dir off -> fwd", "nothing", "all still"),
        ("(wait until timer TR ends)", "lathe driven forward", "lathe DRIVEN"),
    ]
    panel = read_panel(box(lathe(brake="BR"), BRAKE_SWITCH))
    rows = told(panel, explore(panel).broken["R1"]).rows
    assert rows[-1].happens == "brake on lathe, brake on lathe at the same time"
    panel = read_panel(box(LATCH, feed("S1")))
    assert told(panel, explore(panel).broken["R7"]).rows[0].happens == "drive fed, feed fed"
    assert told(panel, explore(panel).broken["R7"]).rows[0].turns == "feed FED"
    assert "the path S1 (to feed)" in told(panel, explore(panel).broken["R7"]).bench_test
    panel = read_panel(box(LATCH, feed("K_h")))
    rows = told(panel, explore(panel).broken["R3"]).rows
    assert [row.turns for row in rows] == ["all still"] * 3 + ["lathe DRIVEN, feed FED"]
    panel = read_panel(box(lathe(rev="D and ES")))
    last = told(panel, explore(panel).broken["R7"]).rows[-1]
    assert last.happens == "lathe driven forward and in reverse at once, drive fed"
    panel = read_panel(box(REVERSE))
    trace = told(panel, explore(panel).broken["R7"])
    assert trace.rows[-1].happens == "lathe driven in reverse, drive fed"
    assert "the path R and ES (to lathe)" in trace.bench_test


def test_the_test_of_a_brake_goes_over_the_path_of_the_brake():
    panel = read_panel(box(changeover(15), MODE, lathe(brake="K_b and MA")))
    found = explore(panel).broken
    for rule, path in (("R5b", "K_b and MA"), ("R2b", "K_b and MA"), ("R7", "K_a")):
        assert f"over the path {path} (to lathe)" in told(panel, found[rule]).bench_test
    assert told(panel, found["R5b"]).rows[-1].happens == "brake off lathe"
    assert told(panel, found["R7"]).rows[-1].relays == "K pulls in at 25 ms"


def test_a_relay_is_tried_on_the_bench_by_its_coil():
    panel = read_panel(BOXES["a buzzing relay"][0])
    trace = told(panel, explore(panel).broken["R0"])
    assert "Feed the coil from a bench supply" in trace.bench_test
    assert "it buzzes" in trace.bench_test
    panel = read_panel(BOXES["a mushroom that acts after 205 ms"][0])
    assert "time the contact" in told(panel, explore(panel).broken["R2t"]).bench_test


def test_a_fault_on_the_way_is_told_where_it_begins():
    panel = read_panel(box())
    fault = Fault("welded", "ES")
    broken = explore(panel, fault=fault).broken["R2"]
    assert shortest_ways(panel, explore(panel, fault=fault))["R2"] == ("lathe", 4, "estop in")
    acts = [row.act for row in told(panel, broken, fault).rows]
    assert "(fault: ES welded)" in acts
    assert "(fault: a part fails)" in [row.act for row in told(panel, broken).rows]


def test_between_the_steps_of_a_way_stands_what_has_come_to_rest():
    panel = read_panel(box(LATCH))
    way = explore(panel).broken["R3"].way
    between = stations(way)
    assert len(between) == 5
    assert between[0] == way[0]
    assert between[-1] == way[-1]
    assert [one.event.kind for one in between[1:4]] == ["move", "move", "move"]
    assert between[-1].event.kind == "tick"


@pytest.mark.parametrize(("steps", "told_in_one"), [(12, None), (13, "1-2"), (20, "1-9")])
def test_a_long_way_begins_with_one_row_for_its_first_steps(steps, told_in_one):
    panel = read_panel(box(feed("S1")))
    broken = explore(panel).broken["R3"]
    long_way = lengthened(panel, broken, steps)
    rows = told(panel, long_way).rows
    assert len(rows) == min(steps, 12)
    every = told(panel, long_way, short=False).rows
    assert len(every) == steps
    # On and off by turns, so the last of the steps told in one says what goes then.
    assert [row.turns for row in every[:2]] == ["feed FED", "all still"]
    assert every[1].happens == "drive no longer fed, feed no longer fed"
    assert rows[0].turns == every[max(steps - 12, 0)].turns
    if told_in_one:
        assert rows[0].step == told_in_one
        assert rows[0].act.count("; ") == steps - 12
    assert rows[-1].step == str(steps)


def lengthened(panel, broken, steps):
    """The same way with the mains switched on and off for so long before that it has so many steps."""
    rest, on, *rest_of_way = broken.way
    off = replace(rest, event=on.event._replace(to=0))
    back_and_forth = [moment for _ in range((steps - len(broken.way) + 1) // 2) for moment in (on, off)]
    start = [rest, *back_and_forth]
    if (steps - len(broken.way) + 1) % 2:
        start.append(replace(off, event=off.event))
    return replace(broken, way=(*start, on, *rest_of_way))


def test_the_table_says_what_a_box_does_in_the_widest_rows():
    assert truth_table(
        Search(read_panel(box(LATCH, {"load": {"drive": {"on": "S1 and K_a"}}}))).from_rest()
    ) == TruthTable(
        switches=("mains", "dir", "estop", "start"),
        rows=(
            TableRow(("-", "-", "in", "-"), "-", "-"),
            TableRow(("-", "-", "-", "up"), "-", "-"),
            TableRow(("off", "-", "-", "-"), "-", "-"),
            TableRow(("on", "-", "out", "-"), "K", "drive, lathe path forward"),
        ),
        left_out=0,
    )


def test_rows_that_do_not_fit_are_counted():
    search = Search(read_panel(box())).from_rest()
    whole = truth_table(search)
    assert {(row.positions, row.fed) for row in whole.rows} == {
        (("off", "-", "in"), "-"),
        (("off", "off", "-"), "-"),
        (("on", "-", "in"), "drive"),
        (("on", "off", "-"), "drive"),
        (("on", "fwd", "out"), "drive, lathe path forward"),
        (("off", "fwd", "out"), "lathe path forward"),
    }
    assert truth_table(search, most_rows=2).rows == whole.rows[:2]
    assert truth_table(search, most_rows=2).left_out == 4
    assert truth_table(search, most_rows=6).left_out == 0
    rows = truth_table(Search(read_panel(box(REVERSE, lathe(brake="BR"), BRAKE_SWITCH))).from_rest()).rows
    fed = {row.positions: row.fed for row in rows}
    assert fed[("on", "rev", "out", "down")] == "drive, lathe path reverse, lathe brake"
    assert "off/fwd" not in {position for row in rows for position in row.positions[:1]}


@pytest.mark.parametrize(
    ("first_ms", "second_ms", "motor", "slowest_s"),
    [
        ([10, 20], [10, 15], "D and M_a", 0.035),
        ([10, 20], [10, 25], "D and M_a", 0.045),
        ([10, 20], [5, 15], "D and K_a", 0.020),
        ([10, 20], [5, 15], "D and ES", 0.0),
        ([5, 5], [12, 12], "D and M_a", 0.020),
    ],
)
def test_one_relay_behind_the_other_lets_go_after_the_longest_times_of_both(
    first_ms, second_ms, motor, slowest_s
):
    """In ticks of 5 ms, rounded up; a motor that the mushroom itself cuts off waits for no relay."""
    relays = {
        "K": {"coil": "S1 and ES", "no": ["K_a"], "dropout_ms": first_ms},
        "M": {"coil": "K_a", "no": ["M_a"], "dropout_ms": second_ms},
    }
    found = explore(read_panel(box({"relay": relays}, lathe(fwd=motor))))
    assert found.slowest_stop_s == pytest.approx(slowest_s)
    assert found.verdict("R2t") == "kept"


def test_the_rows_of_one_relay_come_before_those_of_two():
    """Two relays on two switches, called so that the longest list is not the last by the alphabet."""
    relays = {"KA": {"coil": "S1", "no": ["A"]}, "Z": {"coil": "D", "no": ["B"]}}
    panel = read_panel(box({"relay": relays}, lathe(fwd="A and B and ES")))
    rows = truth_table(Search(panel).from_rest()).rows
    assert list(dict.fromkeys(row.relays for row in rows)) == ["-", "Z", "KA", "KA Z"]


def test_a_search_gives_up_as_soon_as_it_has_met_so_many_states():
    found = explore(read_panel(box()), most_states=1)
    assert (found.states, found.finished, found.broken) == (1, False, {})


def test_a_search_with_a_fault_may_be_stopped_like_any_other():
    going_on = [True]
    whole = Search(read_panel(box()), keep_on=lambda states: going_on[0]).from_rest()
    fault = Fault("welded", "ES")
    assert with_fault(whole, fault).verdict("R8") == "not asked"
    assert with_fault(whole, fault).verdict("R6b") == "not asked"
    assert with_fault(whole, fault).finished
    going_on[0] = False
    stopped = with_fault(whole, fault)
    assert not stopped.finished
    assert stopped.verdict("R2t") == "not finished"


@pytest.mark.parametrize(
    "fault", [Fault("never closes", "K_b"), Fault("welded", "BR"), Fault("welded", "ES")], ids=str
)
def test_a_fault_begins_in_every_state_at_rest_with_all_that_turns_and_was_asked_for_there(fault):
    panel = read_panel(box(changeover(15), lathe(brake="K_b or BR"), BRAKE_SWITCH))
    whole = Search(panel).from_rest()
    faulty = Search(panel, fault=fault).from_states_of(whole)
    # The way back from where it begins leads to the sound box, whose states are kept as negative numbers.
    met = {(faulty.standing(key), faulty.course(key)) for key, before in faulty.before.items() if before < -1}
    began = set()
    for key in whole.before:
        if whole.shown(key).settled and fault.can_happen(*whole.contacts_and_relays(key)):
            switches, relays, _ = whole.standing(key)
            standing = Standing(switches, relays, (0,))
            after = faulty.wiring.shows(faulty.wiring.number(standing))
            breaks = Event(BREAKS), *Movements(panel).cause(Event(BREAKS))
            began.add(
                (standing, faulty.courses.go_on(whole.course(key), whole.shown(key), after, *breaks)[0])
            )
    assert len({standing for standing, _ in began}) < len(began), "some stand alike and go on otherwise"
    assert began == met


def test_without_relays_every_state_is_at_rest_and_with_them_not():
    found = explore(read_panel(box()))
    assert found.settled_states == found.states
    search = Search(read_panel(box(LATCH))).from_rest()
    found = explore(read_panel(box(LATCH)))
    assert found.states == len(search.before)
    assert found.settled_states == sum(search.shown(key).settled for key in search.before) < found.states


@pytest.mark.parametrize(
    ("lost", "finished", "tried_all", "verdict"),
    [
        ((), True, True, "kept"),
        (("R1", "R3"), True, True, "kept"),
        (("R3", "R2t"), True, True, "broken"),
        (("R2c",), False, False, "broken"),
        ((), False, True, "not finished"),
        ((), True, False, "not finished"),
    ],
)
def test_single_faults_are_borne_when_all_were_tried_to_the_end_and_the_stop_is_never_lost(
    lost, finished, tried_all, verdict
):
    harmless = FaultResult(Fault("welded", "ES"), (), {}, 9, finished=True, shows=False, possible=True)
    results = (harmless, replace(harmless, lost=lost, finished=finished))
    assert verdict_on_faults(results, tried_all) == verdict


def test_each_single_fault_of_a_box_without_relays_loses_what_it_must_and_shows_where_nothing_starts():
    panel = read_panel(box())
    tried = list(sweep(panel, workers=1))
    assert [(done, of) for done, of, _ in tried] == [(n, 7) for n in range(1, 8)]
    results = {result.fault.words: result for _, _, result in tried}
    assert {words: result.lost for words, result in results.items() if result.lost} == {"ES welded": ("R2",)}
    assert {words for words, result in results.items() if result.shows} == {
        "S1 never closes",
        "D never closes",
        "ES never closes",
        "wire to drive broken",
    }
    assert all(result.possible and result.finished for result in results.values())
    assert results["ES welded"].ways["R2"].about == "lathe"


class Threads(ThreadPoolExecutor):
    """Workers that need no process of their own, which would take seconds to begin."""

    def __init__(self, workers, *, mp_context, initializer, initargs):
        assert (workers, mp_context.get_start_method()) == (2, "spawn")
        super().__init__(workers, initializer=initializer, initargs=initargs)


def test_faults_that_are_shared_out_are_each_tried_once_with_the_same_result(monkeypatch):
    monkeypatch.setattr("machinelab.controls.faults.ProcessPoolExecutor", Threads)
    panel = read_panel(box())
    shared = list(sweep(panel, workers=2))
    assert [(done, of) for done, of, _ in shared] == [(n, 7) for n in range(1, 8)]
    alone = [result for *_, result in sweep(panel, workers=1)]
    assert in_order(panel, [result for *_, result in reversed(shared)]) == tuple(alone)


def test_each_single_fault_of_a_box_with_a_latch_loses_what_it_must():
    panel = read_panel(box(LATCH, {"load": {"drive": {"on": "S1 and K_a"}}}))
    results = {result.fault.words: result for _, _, result in sweep(panel, workers=1)}
    assert len(results) == 17
    assert {words for words, result in results.items() if "R2" in result.lost} == {
        "ES welded",
        "K_a welded",
        "K coil always fed",
        "K armature sticks pulled in",
    }
    assert {words for words, result in results.items() if result.lost not in ((), ("R2",))} == set()
    assert {words for words, result in results.items() if result.shows} == {
        "S1 never closes",
        "ES never closes",
        "ST never closes",
        "K_a never closes",
        "K coil never fed",
        "K armature sticks released",
        "wire to drive broken",
    }
    assert {words for words, result in results.items() if not result.possible} == {"D welded"}


NO_BRAKE = "no motor has a brake"
NO_FEED = "no load is of the kind motion"
NO_SELECTOR = "no lathe/mill selector is named under [rules]"
NO_REVERSE = "no motor has a reverse"
NO_STOP = "no stop device is named under [rules]"
OF_A_PLAIN_BOX = {
    **dict.fromkeys(("R1", "R1b", "R2b"), NO_BRAKE),
    **dict.fromkeys(("R2c", "R9"), NO_FEED),
    **dict.fromkeys(("R5", "R5b"), NO_SELECTOR),
    **dict.fromkeys(("R6", "R6b"), NO_REVERSE),
    "R5c": "no [sensor.rpm] says which contact routes the speed display",
    "R8": "no guard switch is named under [rules]",
    "R9b": "a description has no direction of the feed: try it at the switch",
}


def test_what_cannot_be_asked_of_a_plain_box_is_said_with_the_reason():
    described = box({"contact": {"D": {"dc_break_A": 5, "dc_break_V": 60}}})
    unrated = "no direct-current rating is typed for ES, which open while current flows"
    assert explore(read_panel(described)).not_asked == OF_A_PLAIN_BOX | {"R11": unrated}
    del described["switch"]["estop"], described["contact"]["ES"]
    described["motor"]["lathe"]["fwd"] = "D"
    described["switch"]["supply"] = described["switch"].pop("mains")
    described["contact"]["S1"]["of"] = "supply"
    assert explore(read_panel(described)).not_asked == OF_A_PLAIN_BOX | {
        **dict.fromkeys(("R2", "R2t", "R2b", "R2c", "R3"), NO_STOP),
        # The later reason of a rule with two.
        **dict.fromkeys(("R2c", "R9"), NO_FEED),
        "R4": "no power switch is named under [rules]",
    }
    without_ratings = explore(read_panel(box())).not_asked
    assert without_ratings["R11"] == unrated.replace("ES", "D, ES")


def test_what_a_box_has_is_asked():
    fitted = box(
        *(BRAKE_SWITCH, MODE, GUARD, REVERSE, feed("S1")),
        {"sensor": {"rpm": {"reads": {"lathe": "MA"}}}},
        lathe(brake="BR"),
        {"contact": {name: {"dc_break_A": 5, "dc_break_V": 60} for name in ("ES", "D", "R")}},
    )
    assert set(explore(read_panel(fitted)).not_asked) == {"R9b"}


def test_what_was_looked_at_is_told_in_one_line():
    panel = read_panel(box(LATCH, {"load": {"drive": {"on": "S1 and K_a"}}}))
    found = explore(panel)
    assert found.coverage == (f"{found.states} states, 3 switches, 1 relays, delays as typed, no fault")
    assert found.breaches == ("R3", "R4", "R7")
    assert replace(found, states=1_234_567).coverage.startswith("1 234 567 states, 3 switches")
    assert replace(found, finished=False).coverage.endswith("no fault; NOT FINISHED")
    with_fault = explore(panel, fault=Fault("welded", "ES"))
    assert with_fault.coverage.endswith("delays as typed, with the fault: ES welded")
