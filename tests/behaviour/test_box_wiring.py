"""Relays of a control box, tick by tick of 5 ms, and what their contacts feed, as worked out by hand."""

import pytest

from machinelab.controls.events import MOVE, Event
from machinelab.controls.fault import (
    COIL_DEAD,
    COIL_FED,
    OPEN,
    STUCK_IN,
    STUCK_OUT,
    WELDED,
    WIRE_OPEN,
    Fault,
    every_fault,
)
from machinelab.controls.panel import Switch
from machinelab.controls.panel_reading import read_panel
from machinelab.controls.settling import can_start
from machinelab.controls.wiring import BETWEEN, OPERATED, RELEASED, Standing, Wiring

SWITCHES = {
    "mains": {"pos": ["off", "on"]},
    "dir": {"pos": ["rev", "off", "fwd"], "init": "off"},
    "estop": {"pos": ["out", "in"]},
}
CONTACTS = {
    "S1": {"of": "mains", "closed": ["on"]},
    "F": {"of": "dir", "closed": ["fwd"]},
    "R": {"of": "dir", "closed": ["rev", "off"]},
    "ES": {"of": "estop", "closed": ["out"]},
}
MAINS, DIR, ESTOP = range(3)


def wired(fault=None, **relays):
    described = {
        "switch": SWITCHES,
        "contact": CONTACTS,
        "relay": relays,
        "load": {"drive": {"on": "S1"}},
    }
    return Wiring(read_panel(described), fault)


def relay(coil, name, **said):
    return {"coil": coil, "no": [f"{name}_a"], "nc": [f"{name}_b"], **said}


def outcomes(wiring, number):
    """What one tick may lead to: the relays that move, as bits, and where every relay is then."""
    return {step.event.part: wiring.standings[step.number].relays for step in wiring.ticked(number)}


def after(wiring, number, *parts):
    """The standing after so many ticks, each with the relays that move then, as bits."""
    for part in parts:
        number = next(step.number for step in wiring.ticked(number) if step.event.part == part)
    return number


@pytest.mark.parametrize(
    ("pickup_ms", "soonest", "latest"),
    # Rounded to ticks so that nothing possible is left out: the soonest down, the latest up.
    [([12, 21], 2, 5), ([10, 20], 2, 4), ([0, 3], 1, 1), ([14, 14], 2, 3), (5, 1, 1), ([0, 11], 1, 3)],
)
def test_a_relay_pulls_in_and_lets_go_at_any_tick_of_its_own_span(pickup_ms, soonest, latest):
    for word, coil in (("pickup_ms", "S1"), ("dropout_ms", "not S1")):
        wiring = wired(K=relay(coil, "K", **{word: pickup_ms}))
        start = wiring.at_rest()
        if word == "dropout_ms":
            start = wiring.number(Standing((0, 1, 0), (OPERATED,), (0,)))
        number, there = wiring.switched(start, MAINS, 1), OPERATED if word == "pickup_ms" else RELEASED
        for tick in range(1, latest + 1):
            expected = {} if tick == latest else {0: (1 - there,)}
            expected |= {1: (there,)} if tick >= soonest else {}
            assert outcomes(wiring, number) == expected, tick
            number = after(wiring, number, 0 if tick < latest else 1)
        assert wiring.shows(number).settled
        assert outcomes(wiring, number) == {}


def test_of_two_relays_either_both_or_none_may_move_and_the_one_that_must_does():
    wiring = wired(K=relay("S1", "K", pickup_ms=[5, 10]), M=relay("S1", "M", pickup_ms=[5, 15]))
    number = wiring.switched(wiring.at_rest(), MAINS, 1)
    assert outcomes(wiring, number) == {0: (0, 0), 1: (1, 0), 2: (0, 1), 3: (1, 1)}
    assert outcomes(wiring, after(wiring, number, 0)) == {1: (1, 0), 3: (1, 1)}
    assert outcomes(wiring, after(wiring, number, 0, 1)) == {2: (1, 1)}
    assert outcomes(wiring, after(wiring, number, 2)) == {1: (1, 1)}


def test_a_coil_that_changes_its_mind_waits_anew_and_others_wait_on():
    wiring = wired(K=relay("S1", "K", pickup_ms=15), M=relay("S1 and F", "M", pickup_ms=15))
    number = after(wiring, wiring.switched(wiring.at_rest(), MAINS, 1), 0, 0)
    assert wiring.standings[number].waited == (2, 0)
    with_both = wiring.switched(number, DIR, 2)
    assert wiring.standings[with_both] == ((1, 2, 0), (0, 0), (2, 0))
    assert wiring.standings[after(wiring, with_both, 1)] == ((1, 2, 0), (1, 0), (0, 1))
    on_again = wiring.switched(wiring.switched(number, MAINS, 0), MAINS, 1)
    assert wiring.standings[on_again].waited == (0, 0)
    assert wiring.settled_again(with_both) == ((1, 2, 0), (0, 0), (0, 0))


@pytest.mark.parametrize(("transfer_ms", "ticks"), [(4, 0), (5, 1), (12, 2), (15, 3)])
def test_between_its_sides_neither_contact_of_a_relay_is_closed(transfer_ms, ticks):
    wiring = wired(K=relay("S1", "K", pickup_ms=5, transfer_ms=transfer_ms))
    number = after(wiring, wiring.switched(wiring.at_rest(), MAINS, 1), 1)
    for left in range(ticks, 0, -1):
        assert wiring.standings[number].relays == (BETWEEN,)
        assert wiring.closed(number) == {"S1", "R", "ES"}
        assert not wiring.shows(number).settled
        number = after(wiring, number, 1 if left == 1 else 0)
    assert wiring.standings[number].relays == (OPERATED,)
    assert wiring.closed(number) == {"S1", "R", "ES", "K_a"}
    assert wiring.closed(wiring.at_rest()) == {"R", "ES", "K_b"}


def test_a_relay_whose_coil_is_cut_half_way_goes_back():
    wiring = wired(K=relay("S1", "K", pickup_ms=5, transfer_ms=10))
    between = after(wiring, wiring.switched(wiring.at_rest(), MAINS, 1), 1, 0)
    back = wiring.switched(between, MAINS, 0)
    assert wiring.standings[back] == ((0, 1, 0), (BETWEEN,), (0,))
    assert outcomes(wiring, back) == {0: (BETWEEN,)}
    assert outcomes(wiring, after(wiring, back, 0)) == {1: (RELEASED,)}


TIMERS = {
    "K": relay("S1", "K", pickup_ms=5),
    "TF": relay("F", "TF", pickup_ms=5, slow_drop_s=[3, 4]),
    "TM": relay("S1", "TM", pickup_ms=5, slow_drop_s=[3, 4], transfer_ms=5),
}


def test_a_slow_relay_lets_go_when_its_time_is_over_and_the_box_rests_meanwhile():
    wiring = wired(**TIMERS)
    number = after(wiring, wiring.switched(wiring.at_rest(), DIR, 2), 2)
    assert wiring.shows(number).running_timers == 0
    number = after(wiring, wiring.switched(number, MAINS, 1), 5, 4)
    assert wiring.standings[number].relays == (1, 1, 1)
    only_tf = wiring.switched(number, DIR, 1)
    assert wiring.shows(only_tf).settled
    assert (wiring.shows(only_tf).running_timers, wiring.running_timers(only_tf)) == (1, [1])
    only_tm = after(wiring, wiring.switched(number, MAINS, 0), 0, 1)
    assert (wiring.shows(only_tm).running_timers, wiring.running_timers(only_tm)) == (2, [2])
    both = wiring.switched(only_tm, DIR, 0)
    assert wiring.running_timers(both) == [1, 2]
    assert wiring.standings[wiring.timed_out(both, 1)].relays == (RELEASED, RELEASED, OPERATED)
    assert wiring.standings[wiring.timed_out(both, 2)].relays == (RELEASED, OPERATED, BETWEEN)
    assert wiring.running_timers(wiring.timed_out(both, 1)) == [2]


def test_a_coil_or_armature_at_fault_no_longer_follows_its_rung():
    for kind, with_mains_off, with_mains_on in (
        (COIL_FED, {1: (1, 0)}, {3: (1, 1)}),
        (COIL_DEAD, {}, {2: (0, 1)}),
        (STUCK_OUT, {}, {2: (0, 1)}),
        (STUCK_IN, {}, {2: (0, 1)}),
    ):
        relays = {"K": relay("S1", "K", pickup_ms=5), "M": relay("S1", "M", pickup_ms=5)}
        wiring = wired(Fault(kind, "K"), **relays)
        assert outcomes(wiring, wiring.at_rest()) == with_mains_off
        assert outcomes(wiring, wiring.switched(wiring.at_rest(), MAINS, 1)) == with_mains_on
    wiring = wired(Fault(STUCK_IN, "TF"), **TIMERS)
    stuck = wiring.number(Standing((0, 1, 0), (0, 1, 1), (0, 0, 0)))
    assert wiring.running_timers(stuck) == [2]


def test_a_contact_at_fault_stays_as_it_is():
    relays = {"K": relay("S1", "K", pickup_ms=5)}
    on = ((1, 1, 0), (OPERATED,), (0,))
    for fault, closed_at_rest, closed_in in (
        (Fault(WELDED, "S1"), {"S1", "R", "ES", "K_b"}, {"S1", "R", "ES", "K_a"}),
        (Fault(OPEN, "K_b"), {"R", "ES"}, {"S1", "R", "ES", "K_a"}),
        (Fault(WELDED, "K_b"), {"R", "ES", "K_b"}, {"S1", "R", "ES", "K_a", "K_b"}),
        (Fault(OPEN, "K_a"), {"R", "ES", "K_b"}, {"S1", "R", "ES"}),
    ):
        wiring = wired(fault, **relays)
        assert wiring.closed(wiring.number(Standing((0, 1, 0), (RELEASED,), (0,)))) == closed_at_rest
        assert wiring.closed(wiring.number(Standing(*on))) == closed_in


@pytest.mark.parametrize(
    ("guided", "welded", "ends_at"),
    [(True, "K_b", BETWEEN), (True, "K_a", OPERATED), (False, "K_b", OPERATED), (True, "M_b", OPERATED)],
)
def test_a_weld_keeps_guided_contacts_from_changing_over(guided, welded, ends_at):
    relays = {"K": relay("S1", "K", pickup_ms=5, dropout_ms=5, guided=guided), "M": relay("F", "M")}
    wiring = wired(Fault(WELDED, welded), **relays)
    number = after(wiring, wiring.switched(wiring.at_rest(), MAINS, 1), 1)
    assert wiring.standings[number].relays == (ends_at, RELEASED)
    assert wiring.shows(number).settled
    # The same the other way: pulled in, with the other side's contact welded.
    mirrored = Fault(WELDED, {"K_b": "K_a", "K_a": "K_b"}.get(welded, welded))
    wiring = wired(mirrored, **relays)
    pulled_in = wiring.number(Standing((1, 1, 0), (OPERATED, RELEASED), (0, 0)))
    number = after(wiring, wiring.switched(pulled_in, MAINS, 0), 1)
    assert wiring.standings[number].relays == ({OPERATED: RELEASED}.get(ends_at, ends_at), RELEASED)
    assert wiring.shows(number).settled


def test_a_guided_timer_with_a_weld_stops_half_way():
    wiring = wired(Fault(WELDED, "TF_a"), TF=relay("F", "TF", guided=True, slow_drop_s=2))
    held = wiring.number(Standing((0, 1, 0), (OPERATED,), (0,)))
    assert wiring.standings[wiring.timed_out(held, 0)].relays == (BETWEEN,)


OUTSIDE = {
    "switch": {
        "mains": {"pos": ["off", "on"]},
        "master": {"pos": ["off", "on"]},
        "estop": {"pos": ["out", "in"]},
        "bar": {"pos": ["up", "kicked"]},
        "guard": {"pos": ["shut", "open"]},
        "door": {"pos": ["shut", "open"]},
        "dir": {"pos": ["rev", "off", "fwd"], "init": "off"},
    },
    "contact": {
        "S1": {"of": "mains", "closed": ["on"]},
        "F": {"of": "dir", "closed": ["fwd"]},
        "R": {"of": "dir", "closed": ["rev"]},
    },
    "relay": {"M": relay("F", "M"), "K": relay("S1", "K")},
    "load": {"lamp": {"on": "not S1"}, "drive": {"on": "S1"}, "feed": {"on": "S1 or R"}},
    "motor": {
        "mill": {"source": "drive", "fwd": "F"},
        "lathe": {"source": "drive", "fwd": "R", "rev": "F", "brake": "not S1"},
    },
    "sensor": {"rpm": {"reads": {"lathe": "F"}}},
    "rules": {
        "stop_devices": ["estop", "bar"],
        "power_switches": ["mains", "master"],
        "guards": ["guard", "door"],
        "latch": "K",
    },
}


def test_what_shows_outside_is_read_part_by_part():
    wiring = Wiring(read_panel(OUTSIDE))

    def shows(relays=(0, 0), *, fault=None, **places):
        box = Wiring(wiring.panel, fault) if fault else wiring
        at = [places.get(switch.name, 1 if switch.name == "dir" else 0) for switch in wiring.panel.switches]
        return box.shows(box.number(Standing(tuple(at), relays, (0, 0))))

    at_rest = shows()
    assert (at_rest.on, at_rest.forward, at_rest.reverse, at_rest.brake) == (0b001, 0, 0, 0b10)
    forward = shows(mains=1, dir=2)
    assert (forward.on, forward.forward, forward.reverse, forward.brake) == (0b110, 0b01, 0b10, 0)
    assert (forward.display, forward.settled) == (0b10, False)
    assert shows(dir=0).forward == 0b10
    assert shows(mains=1, fault=Fault(WIRE_OPEN, "feed")).on == 0b010
    assert [shows(**{name: 1}).stop for name in ("mains", "estop", "bar")] == [False, True, True]
    assert [shows(**{name: 1}).guard_open for name in ("master", "guard", "door")] == [False, True, True]
    assert [shows(mains=1).powered, shows(master=1).powered] == [False, False]
    assert shows(mains=1, master=1).powered is True
    assert [shows(relays).latched for relays in ((0, 0), (1, 0), (0, 1), (0, BETWEEN))] == [0, 0, 1, 0]


def test_a_hand_moves_one_switch_at_a_time_to_the_next_position():
    wiring = wired(K=relay("S1 and F and ES", "K"))
    moves = {(step.event, wiring.standings[step.number].switches) for step in wiring.moved(wiring.at_rest())}
    assert moves == {
        (Event(MOVE, MAINS, 1), (1, 1, 0)),
        (Event(MOVE, DIR, 0), (0, 0, 0)),
        (Event(MOVE, DIR, 2), (0, 2, 0)),
        (Event(MOVE, ESTOP, 1), (0, 1, 1)),
    }


WAITS = {
    "switch": {"dir": {"pos": ["off", "fwd"]}},
    "contact": {"F": {"of": "dir", "closed": ["fwd"]}},
    "relay": {"T": relay("F", "T", pickup_ms=5, slow_drop_s=2)},
    "load": {"board": {"on": "not F"}, "feed": {"on": "F and not F", "kind": "motion"}},
    "motor": {"mill": {"source": "board", "fwd": "F"}, "lathe": {"source": "board", "fwd": "T_b"}},
}


@pytest.mark.parametrize(
    ("fault", "starts"), [(None, True), (Fault(STUCK_IN, "T"), False), (Fault(OPEN, "T_b"), False)]
)
def test_what_starts_only_when_a_timer_ends_can_still_start(fault, starts):
    wiring = Wiring(read_panel(WAITS), fault)
    held = wiring.number(Standing((1,), (OPERATED,), (0,)))
    assert can_start(wiring, [held]) is starts


def test_a_feed_alone_counts_as_something_that_can_start():
    described = WAITS | {"load": {"board": {"on": "F and not F"}, "feed": {"on": "T_a", "kind": "motion"}}}
    wiring = Wiring(read_panel(described))
    assert can_start(wiring, [wiring.at_rest()])
    described["load"]["feed"]["kind"] = "lamp"
    wiring = Wiring(read_panel(described))
    assert not can_start(wiring, [wiring.at_rest()])


def test_every_contact_coil_armature_and_wire_can_fail_each_in_its_own_way():
    described = {"switch": SWITCHES, "contact": {"S1": CONTACTS["S1"]}, "relay": {"K": relay("S1", "K")}}
    found = every_fault(read_panel(described | {"load": {"drive": {"on": "K_a"}}}))
    assert [fault.words for fault in found] == [
        *("S1 welded", "S1 never closes", "K_a welded", "K_a never closes", "K_b welded", "K_b never closes"),
        *("K coil never fed", "K coil always fed", "K armature sticks pulled in"),
        *("K armature sticks released", "wire to drive broken"),
    ]


@pytest.mark.parametrize(
    ("kind", "part", "can_begin"),
    [
        (WELDED, "A", True),
        (WELDED, "B", False),
        (OPEN, "A", True),
        (OPEN, "B", True),
        (COIL_DEAD, "K", True),
        (COIL_FED, "M", True),
        (STUCK_IN, "K", True),
        (STUCK_IN, "M", False),
        (STUCK_OUT, "K", False),
        (STUCK_OUT, "M", True),
        (WIRE_OPEN, "drive", True),
    ],
)
def test_a_contact_welds_only_while_closed_and_an_armature_sticks_where_it_is(kind, part, can_begin):
    assert Fault(kind, part).can_happen(frozenset({"A"}), frozenset({"K"})) is can_begin


@pytest.mark.parametrize(
    ("passes_middle", "reached"),
    [(True, [(1,), (0, 2), (1, 3), (2,)]), (False, [(1, 2, 3), (0, 2, 3), (0, 1, 3), (0, 1, 2)])],
)
def test_a_switch_goes_to_its_neighbours_or_where_it_need_not_pass_them_anywhere(passes_middle, reached):
    switch = Switch("dir", ("rev", "off", "fwd", "fast"), "off", passes_middle)
    assert [switch.reachable(position) for position in range(4)] == reached


def test_what_was_met_once_is_not_worked_out_again():
    wiring = wired(K=relay("S1", "K", pickup_ms=[5, 15]))
    number = wiring.switched(wiring.at_rest(), MAINS, 1)
    assert wiring.number(wiring.standings[number]) == number
    assert wiring.ticked(number) is wiring.ticked(number)
    assert wiring.moved(number) is wiring.moved(number)
    assert wiring.movements.of((1, 1, 0)) is wiring.movements.of((1, 1, 0))
    move = Event(MOVE, MAINS, 1)
    assert wiring.movements.cause(move) is wiring.movements.cause(move)
    assert wiring.step(move, number).mark == wiring.step(move, number).mark
