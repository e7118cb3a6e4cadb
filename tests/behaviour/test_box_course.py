"""What turns, is charged and was asked for in a control box, change by change, as worked out by hand."""

import pytest

from machinelab.controls.course import FORWARD, REVERSE, SHORT, Breach, Courses
from machinelab.controls.events import (
    BREAKS,
    BY_ITSELF,
    EMPTY,
    FAULT,
    GUARD_OPEN,
    GUARD_SHUT,
    MOVE,
    OTHER,
    POWER_OFF,
    POWER_ON,
    SELECTED,
    STANDS,
    START,
    STOP_IN,
    STOP_OUT,
    TICK,
    TIMER,
    Event,
)
from machinelab.controls.movements import EVERYTHING, Movements
from machinelab.controls.panel_reading import read_panel
from machinelab.controls.wiring import Shown

# No part has the same place in its list as its like: the lathe is the second motor, its board the last load.
DESCRIBED = {
    "switch": {
        "mains": {"pos": ["off", "on"]},
        "dir": {"pos": ["rev", "off", "fwd"], "init": "off"},
        "mode": {"pos": ["lathe", "mill"]},
        "guard": {"pos": ["shut", "open"]},
        "bench": {"pos": ["off", "on"]},
    },
    "contact": {
        "S1": {"of": "mains", "closed": ["on"], "dc_break_A": 5, "dc_break_V": 110},
        "F": {"of": "dir", "closed": ["fwd"]},
        "R": {"of": "dir", "closed": ["rev"], "dc_break_A": 0, "dc_break_V": 110},
        "MA": {"of": "mode", "closed": ["lathe"]},
        "MB": {"of": "mode", "closed": ["mill"], "dc_break_A": 5, "dc_break_V": 110},
    },
    "relay": {
        "KA": {"coil": "S1", "no": ["A1", "A2"], "dc_rated": ["A2"]},
        "TA": {"coil": "F", "nc": ["TA_n"], "slow_drop_s": [5, 6]},
        "TB": {"coil": "R", "nc": ["TB_n"], "slow_drop_s": [2, 3]},
    },
    "load": {
        "lamp": {"on": "S1", "kind": "lamp"},
        "mill board": {"on": "S1"},
        "feed": {"on": "A1", "kind": "motion"},
        "lathe board": {"on": "S1", "holds": True},
    },
    "motor": {
        "mill": {"source": "mill board", "fwd": "F and S1 and MB"},
        "lathe": {
            "source": "lathe board",
            "fwd": "F and A1 and A2 and TA_n and S1 and MA",
            "rev": "R and TB_n",
            "brake": "TA_n",
            "run_down_s": [1, 4],
            "braked_s": [1, 2],
        },
    },
    "sensor": {"rpm": {"reads": {"mill": "MB", "lathe": "MA"}}},
    "rules": {
        "guarded": ["lathe"],
        "no_load_switches": ["mode"],
        "gap_ms": 12,
        "timer_outlasts_braked": True,
    },
}
PANEL = read_panel(DESCRIBED)
MILL, LATHE = 0, 1
MILL_BOARD, FEED, LATHE_BOARD = 2, 4, 8
BOTH_BOARDS = MILL_BOARD + LATHE_BOARD
REST = Shown(
    settled=True,
    on=0,
    forward=0,
    reverse=0,
    brake=0,
    display=0,
    stop=False,
    powered=True,
    guard_open=False,
    latched=True,
    running_timers=0,
)
BOTH_READ = REST._replace(display=3)
LATHE_FORWARD = BOTH_READ._replace(on=LATHE_BOARD, forward=2)
LATHE_REVERSE = BOTH_READ._replace(on=LATHE_BOARD, reverse=2)
MILL_FORWARD = BOTH_READ._replace(on=MILL_BOARD, forward=1)
ALL_ASK = (EVERYTHING, 0)
# A switch that is wired to nothing.
BENCH = Event(MOVE, 4, 1)


def moving(shown, **changed):
    return shown._replace(settled=False, **changed)


def changed(before, after, event=BENCH, *, by=OTHER, asks=ALL_ASK, hurry=False, **course):
    """The course after one change, and what it breaks; words name what was otherwise than at rest before."""
    courses = Courses(PANEL, in_a_hurry=hurry)
    return courses.go_on(courses.at_rest()._replace(**course), before, after, event, by, asks)


def broken(*args, **kwargs):
    return [tuple(breach) for breach in changed(*args, **kwargs)[1]]


def test_at_rest_everything_stands_and_no_arc_burns():
    course = Courses(PANEL, in_a_hurry=True).at_rest()
    # 12 ms of waiting are three ticks of 5 ms.
    assert course == ((0, 0), 0, (3, 3), (3, 3), 0, 0, 0, False, (0, 0), True)


@pytest.mark.parametrize(
    ("charged", "shown", "driven"),
    [
        (0, LATHE_FORWARD, [0, FORWARD]),
        (0, LATHE_REVERSE, [0, REVERSE]),
        (0, MILL_FORWARD, [FORWARD, 0]),
        (0, REST._replace(on=MILL_BOARD, forward=2), [0, 0]),
        (LATHE_BOARD, REST._replace(forward=2), [0, FORWARD]),
        (LATHE_BOARD, REST._replace(forward=1, reverse=1), [0, 0]),
        (0, REST._replace(on=BOTH_BOARDS, forward=3, reverse=2), [FORWARD, SHORT]),
    ],
)
def test_a_motor_is_driven_by_its_own_board_over_its_own_path(charged, shown, driven):
    assert Courses(PANEL).driven(charged, shown) == driven


BOTH_TIMERS = REST._replace(running_timers=3)


@pytest.mark.parametrize(
    ("course", "shown", "happens"),
    [
        ({}, REST, []),
        ({"turning": (1, -1)}, REST, [(STANDS, MILL, 0), (STANDS, LATHE, 0)]),
        ({"turning": (1, 1)}, LATHE_FORWARD, [(STANDS, MILL, 0)]),
        ({"charged": LATHE_BOARD}, REST, [(EMPTY, 3, 0)]),
        ({"charged": LATHE_BOARD}, REST._replace(on=LATHE_BOARD), []),
        ({"turning": (0, 1), "charged": LATHE_BOARD}, REST._replace(forward=2), [(EMPTY, 3, 0)]),
        ({}, BOTH_TIMERS, [(TIMER, 0, 0), (TIMER, 1, 0)]),
        ({}, REST._replace(running_timers=2), [(TIMER, 1, 0)]),
        # 5 s are more than the 4 s in which the lathe runs down, 2 s are not.
        ({"turning": (0, 1)}, BOTH_TIMERS, [(STANDS, LATHE, 0), (TIMER, 1, 0)]),
        # 2 s are not more than the 2 s in which the brake stops it.
        ({"turning": (0, 1)}, BOTH_TIMERS._replace(brake=2), [(STANDS, LATHE, 0), (TIMER, 1, 0)]),
        # Of the mill it is only said that with a brake every timer lasts longer.
        ({"turning": (1, 0)}, BOTH_TIMERS, [(STANDS, MILL, 0), (TIMER, 0, 0), (TIMER, 1, 0)]),
        ({"turning": (1, 0)}, BOTH_TIMERS._replace(brake=1), [(STANDS, MILL, 0)]),
        (
            {"turning": (0, 1), "ahead": (2, 0)},
            REST._replace(running_timers=1),
            [(STANDS, 1, 0), (TIMER, 0, 0)],
        ),
        ({"turning": (0, 1), "ahead": (1, 2)}, REST._replace(running_timers=1), [(STANDS, 1, 0)]),
    ],
)
def test_at_rest_what_may_happen_by_itself_is_known(course, shown, happens):
    courses = Courses(PANEL)
    assert list(courses.by_themselves(courses.at_rest()._replace(**course), shown)) == happens


@pytest.mark.parametrize(
    ("cause", "asked", "rules"),
    [
        (START, 0, []),
        (START | SELECTED | POWER_ON, 0, []),
        (BY_ITSELF, 1, ["N1"]),
        (BY_ITSELF, 0, ["R7"]),
        (POWER_OFF | POWER_ON, 0, ["N2"]),
        (POWER_OFF, 0, ["R7"]),
        (OTHER, 1, ["R7"]),
        (STOP_OUT, 0, ["R7", "R3"]),
        (STOP_IN, 0, ["R7"]),
        (POWER_ON, 0, ["R7", "R4"]),
        (SELECTED, 0, ["R7", "R5"]),
        (GUARD_SHUT, 0, ["R7", "R8"]),
        (GUARD_OPEN, 0, ["R7"]),
        (STOP_OUT | SELECTED, 0, ["R7", "R3", "R5"]),
    ],
)
@pytest.mark.parametrize(
    ("name", "before", "after"),
    [("lathe", BOTH_READ, moving(LATHE_FORWARD)), ("feed", REST, moving(REST, on=FEED))],
)
def test_what_begins_to_move_is_judged_by_what_has_happened_since_the_last_rest(
    cause, asked, rules, name, before, after
):
    assert broken(before, after, by=cause, asked=asked) == [(rule, name) for rule in rules]
    earlier = broken(before, after, Event(TICK, 1), by=0, asked=asked, cause=cause)
    assert earlier == [(rule, name) for rule in rules]


@pytest.mark.parametrize(
    ("name", "after", "rules"),
    [
        ("lathe", LATHE_FORWARD, ["R7"]),
        ("mill", MILL_FORWARD, ["N1"]),
        ("feed", REST._replace(on=FEED), ["N1"]),
    ],
)
def test_once_the_guard_was_open_no_wish_counts_for_what_stands_behind_it(name, after, rules):
    before = BOTH_READ
    told = broken(before, after, Event(TIMER, 0), by=BY_ITSELF, asked=1, lapsed=True)
    assert told == [(rule, name) for rule in rules]
    told = broken(before, after, Event(TIMER, 0), by=BY_ITSELF, asked=1, cause=GUARD_OPEN, lapsed=True)
    assert told == [(rule, name) for rule in rules]
    assert broken(before, after, Event(TIMER, 0), by=BY_ITSELF, asked=1) == [("N1", name)]


@pytest.mark.parametrize(
    ("by", "asks", "lapsed", "then"),
    [
        (OTHER, ALL_ASK, False, False),
        (OTHER, ALL_ASK, True, True),
        (GUARD_OPEN, ALL_ASK, False, True),
        (GUARD_OPEN | START, (EVERYTHING, 2), True, False),
        (START, (EVERYTHING, 2), True, False),
    ],
)
def test_a_wish_lapses_with_the_guard_open_until_it_is_given_anew(by, asks, lapsed, then):
    waits = REST._replace(running_timers=1)
    assert changed(waits, waits, by=by, asks=asks, asked=1, lapsed=lapsed)[0].lapsed is then


def test_without_a_wish_nothing_lapses():
    waits = REST._replace(running_timers=1)
    assert changed(waits, waits, by=GUARD_OPEN)[0].lapsed is False


WAITS = moving(REST)


@pytest.mark.parametrize(
    ("asked", "fresh", "asks", "asked_then", "fresh_then"),
    [
        (5, 1, (EVERYTHING, 0), 5, 1),
        (5, 1, (EVERYTHING, 2), 7, 3),
        (5, 1, (EVERYTHING & ~1, 0), 4, 0),
        (5, 5, (EVERYTHING & ~1, 1), 5, 5),
        (5, 1, (0, 0), 0, 0),
    ],
)
def test_wishes_are_kept_added_and_withdrawn(asked, fresh, asks, asked_then, fresh_then):
    course, _ = changed(WAITS, WAITS, by=OTHER, asks=asks, asked=asked, fresh=fresh)
    assert (course.asked, course.fresh, course.cause) == (asked_then, fresh_then, OTHER)


def test_a_wish_is_granted_once_and_refused_where_nothing_waits_for_it():
    after = moving(LATHE_FORWARD)
    granted, _ = changed(BOTH_READ, after, by=START, asks=(EVERYTHING, 2), asked=4)
    assert granted.asked == 4, "the fresh wish is granted; the older one waits on"
    assert changed(BOTH_READ, after, by=OTHER, asked=6, fresh=2)[0].asked == 0
    at_rest, _ = changed(WAITS, REST, Event(TICK, 1), by=0, asked=6, fresh=2, cause=START)
    assert (at_rest.asked, at_rest.fresh, at_rest.cause) == (0, 0, 0)
    waiting, _ = changed(WAITS, REST._replace(running_timers=2), Event(TICK, 1), by=0, asked=6, fresh=2)
    assert (waiting.asked, waiting.fresh) == (6, 0)


def test_what_turns_goes_on_until_it_is_driven_the_other_way_or_stands():
    for now, turning in ((LATHE_FORWARD, (1, 1)), (LATHE_REVERSE, (1, -1)), (REST, (1, 1))):
        assert changed(REST, moving(now), turning=(1, 1))[0].turning == turning
    both = REST._replace(on=LATHE_BOARD, forward=2, reverse=2)
    assert changed(REST, both, turning=(0, -1))[0].turning == (0, -1), "a short pushes no way"
    assert changed(REST, REST, Event(STANDS, LATHE), by=BY_ITSELF, turning=(1, 1))[0].turning == (1, 0)
    assert changed(REST, REST, Event(STANDS, MILL), by=BY_ITSELF, turning=(1, -1))[0].turning == (0, -1)
    assert changed(REST, REST, Event(MOVE, LATHE, 0), turning=(1, -1))[0].turning == (1, -1)


def test_only_a_board_that_holds_its_charge_keeps_it_until_it_is_gone():
    every = REST._replace(on=15)
    charged, _ = changed(REST, every)
    assert charged.charged == LATHE_BOARD
    assert changed(every, REST, charged=LATHE_BOARD)[0].charged == LATHE_BOARD
    assert changed(REST, REST, Event(EMPTY, 3), by=BY_ITSELF, charged=LATHE_BOARD)[0].charged == 0
    assert changed(REST, REST, Event(EMPTY, 1), by=BY_ITSELF, charged=LATHE_BOARD)[0].charged == LATHE_BOARD
    # On its charge the motor goes on; where it ends, so does the motor's drive, and nothing is broken.
    on_charge = REST._replace(forward=2, display=3)
    gone, told = changed(on_charge, on_charge, Event(EMPTY, 3), by=BY_ITSELF, charged=8, turning=(0, 1))
    assert gone.turning == (0, 1)
    assert told == ()


@pytest.mark.parametrize("ticks", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("event", [Event(TICK, 1), BENCH])
def test_drive_and_brake_of_one_motor_keep_a_gap_of_three_ticks_both_ways(ticks, event):
    """The wait is 12 ms, which is over with the third tick of 5 ms; only ticks make time pass."""
    braking = BOTH_READ._replace(brake=2)
    for first, second in ((LATHE_FORWARD, braking), (braking, LATHE_FORWARD)):
        courses = Courses(PANEL)
        course = courses.at_rest()._replace(turning=(0, 1), cause=START)
        course, told = courses.go_on(course, first, WAITS._replace(display=3), BENCH, START, ALL_ASK)
        between = [told]
        for _ in range(ticks - 1):
            course, told = courses.go_on(course, *[WAITS._replace(display=3)] * 2, event, 0, ALL_ASK)
            between.append(told)
        assert not any(between)
        if ticks == 0:
            told = courses.go_on(
                courses.at_rest()._replace(cause=START), first, second, BENCH, START, ALL_ASK
            )[1]
        else:
            told = courses.go_on(course, WAITS._replace(display=3), second, event, 0, ALL_ASK)[1]
        long_enough = ticks >= 3 and event.kind == TICK
        assert told == (() if long_enough else (Breach("R1b", "lathe"),))


def test_a_motor_without_a_brake_needs_no_gap_and_one_at_rest_has_had_it():
    nothing = WAITS._replace(display=3)
    off = changed(MILL_FORWARD, nothing, turning=(1, 0), cause=START)[0]
    courses = Courses(PANEL)
    assert courses.go_on(off, nothing, moving(MILL_FORWARD), Event(TICK, 1), 0, ALL_ASK)[1] == ()
    off, told = changed(BOTH_READ._replace(brake=2), BOTH_READ, turning=(0, 1), cause=START)
    assert (off.since_drive, off.since_brake, told) == ((3, 3), (3, 3), ())
    assert courses.go_on(off, BOTH_READ, LATHE_FORWARD, BENCH, START, ALL_ASK)[1] == ()


def test_waits_are_counted_for_each_motor_by_itself_and_not_beyond_the_gap():
    nothing = WAITS._replace(display=3)
    both = WAITS._replace(on=BOTH_BOARDS, forward=1, brake=2, display=3)
    course = changed(nothing, both, cause=START)[0]
    assert (course.since_drive, course.since_brake) == ((0, 3), (3, 0))
    courses = Courses(PANEL)
    for counted in (0, 1, 2, 3, 3):
        ticked = courses.go_on(course, both if not counted else nothing, nothing, Event(TICK, 0), 0, ALL_ASK)
        course = ticked[0]
        assert (course.since_drive, course.since_brake) == ((counted, 3), (3, counted))


BRAKED = BOTH_READ._replace(brake=2)


@pytest.mark.parametrize(
    ("rules", "before", "after", "course"),
    [
        (["R1"], BRAKED, LATHE_FORWARD._replace(brake=2), {}),
        (["R1"], BRAKED, LATHE_REVERSE._replace(brake=2), {}),
        ([], BRAKED, MILL_FORWARD._replace(brake=2), {}),
        (["R6"], BOTH_READ, LATHE_FORWARD, {"turning": (0, -1)}),
        (["R6"], BOTH_READ, LATHE_REVERSE, {"turning": (0, 1)}),
        ([], BOTH_READ, LATHE_FORWARD, {"turning": (-1, 1)}),
        ([], BOTH_READ, LATHE_REVERSE, {"turning": (1, -1)}),
        (["R6b"], BOTH_READ, BOTH_READ._replace(forward=2, reverse=2), {}),
        ([], BOTH_READ, BOTH_READ._replace(forward=1, reverse=2), {}),
        (["R5c"], BOTH_READ, LATHE_FORWARD._replace(display=1), {}),
        ([], BOTH_READ, LATHE_FORWARD._replace(display=2), {}),
        (["R5c"], BOTH_READ, BOTH_READ._replace(display=1), {"turning": (0, 1)}),
        (["R5b"], BRAKED, BOTH_READ, {"turning": (0, 1), "by": START | SELECTED}),
        (["R5b"], BRAKED, moving(BOTH_READ), {"turning": (0, 1), "cause": SELECTED, "by": START}),
        ([], BRAKED, BOTH_READ, {"turning": (0, 1)}),
        ([], BRAKED, BOTH_READ, {"turning": (1, 0), "by": START | SELECTED}),
        ([], BRAKED, BRAKED, {"turning": (0, 1), "by": START | SELECTED}),
        ([], BOTH_READ, BOTH_READ, {"turning": (0, 1), "by": START | SELECTED}),
        (["R2"], BOTH_READ, LATHE_FORWARD._replace(stop=True), {}),
        ([], BOTH_READ, moving(LATHE_FORWARD, stop=True), {}),
        (["R2b"], BOTH_READ, BOTH_READ._replace(stop=True), {"turning": (1, 1)}),
        ([], BOTH_READ, BOTH_READ._replace(stop=True), {"turning": (1, 0)}),
        ([], BOTH_READ, BRAKED._replace(stop=True), {"turning": (1, 1)}),
        (["R8"], BOTH_READ, LATHE_FORWARD._replace(guard_open=True), {}),
        ([], BOTH_READ, MILL_FORWARD._replace(guard_open=True), {}),
        ([], BOTH_READ, BOTH_READ._replace(guard_open=True), {"turning": (1, 1)}),
    ],
)
def test_a_change_breaks_these_rules_of_the_lathe_and_no_others(rules, before, after, course):
    assert broken(before, after, **{"by": START} | course) == [(rule, "lathe") for rule in rules]


@pytest.mark.parametrize(
    ("rules", "shown"),
    [
        ([], {}),
        (["R2c", "R9"], {"stop": True}),
        (["R9"], {"powered": False}),
        (["R9"], {"latched": False}),
    ],
)
def test_the_feed_needs_mushroom_power_and_latch_once_the_box_is_at_rest(rules, shown):
    fed = REST._replace(on=FEED, **shown)
    assert broken(fed, fed) == [(rule, "feed") for rule in rules]
    assert broken(fed, moving(fed)) == []
    lit = REST._replace(on=1 + BOTH_BOARDS, **shown)
    assert broken(lit, lit) == []


def test_of_two_feeds_the_one_that_runs_is_told():
    two = {"feed": {"on": "S1", "kind": "motion"}, "cross feed": {"on": "S1", "kind": "motion"}}
    courses = Courses(read_panel(DESCRIBED | {"load": DESCRIBED["load"] | two}))
    runs = REST._replace(on=16, stop=True)
    told = courses.go_on(courses.at_rest(), runs, runs, BENCH, OTHER, ALL_ASK)[1]
    assert told == (Breach("R2c", "cross feed"), Breach("R9", "cross feed"))


def test_a_dip_that_is_ridden_through_is_noted_where_a_motor_is_still_driven():
    through = {"by": POWER_ON, "cause": POWER_OFF}
    assert broken(moving(LATHE_FORWARD), LATHE_FORWARD, **through) == [("N2", "")]
    assert broken(WAITS, REST, **through) == []
    for causes in ({"by": POWER_ON}, {"by": POWER_OFF}):
        assert broken(moving(LATHE_FORWARD), LATHE_FORWARD, **causes) == []


@pytest.mark.parametrize(
    ("event", "before", "after", "rated_too_low", "not_stated"),
    [
        (Event(MOVE, 0, 0), LATHE_FORWARD, BOTH_READ, [], set()),
        (Event(MOVE, 1, 1), LATHE_FORWARD, BOTH_READ, [], {"F"}),
        (Event(MOVE, 1, 1), LATHE_REVERSE, BOTH_READ, ["R"], set()),
        (Event(MOVE, 2, 1), LATHE_FORWARD, BOTH_READ, ["MA"], set()),
        (Event(MOVE, 2, 0), MILL_FORWARD, BOTH_READ, [], set()),
        (Event(MOVE, 1, 0), MILL_FORWARD, BOTH_READ, [], {"F"}),
        (Event(MOVE, 2, 1), LATHE_FORWARD, LATHE_FORWARD, [], set()),
        (Event(MOVE, 2, 1), LATHE_FORWARD._replace(reverse=2), BOTH_READ, [], set()),
        (Event(TICK, 1), LATHE_FORWARD, BOTH_READ, [], {"A1"}),
        (Event(TICK, 2), LATHE_FORWARD, BOTH_READ, [], {"TA_n"}),
        (Event(TICK, 3), LATHE_FORWARD, BOTH_READ, [], {"A1", "TA_n"}),
        (Event(TICK, 4), LATHE_REVERSE, BOTH_READ, [], {"TB_n"}),
        (Event(TICK, 4), LATHE_FORWARD, BOTH_READ, [], set()),
        (Event(STANDS, 2), LATHE_FORWARD, BOTH_READ, [], set()),
    ],
)
def test_a_contact_that_opens_under_current_is_looked_at_when_its_own_part_moves(
    event, before, after, rated_too_low, not_stated
):
    courses = Courses(PANEL)
    _, told = courses.go_on(courses.at_rest(), before, after, event, START, ALL_ASK)
    assert [(breach.rule, breach.about) for breach in told if breach.rule != "R7"] == [
        ("R11", name) for name in rated_too_low
    ]
    assert courses.not_stated == not_stated


@pytest.mark.parametrize(
    ("shown", "turning", "ahead", "then"),
    [
        ({"running_timers": 3}, (0, 0), (3, 3), (0, 0)),
        ({"running_timers": 0}, (1, 1), (3, 3), (0, 0)),
        # Of the coasting mill nothing is said; the lathe outlasts the second timer.
        ({"running_timers": 3}, (1, 1), (0, 0), (1, 3)),
        ({"running_timers": 2}, (1, 1), (0, 0), (0, 3)),
        ({"running_timers": 1}, (0, 1), (0, 0), (0, 0)),
        ({"running_timers": 1}, (0, 1), (2, 0), (2, 0)),
        ({"running_timers": 3, "brake": 1}, (1, 0), (0, 0), (0, 0)),
        ({"running_timers": 3, "on": 8, "forward": 2}, (0, 1), (0, 0), (2, 2)),
    ],
)
def test_a_timer_that_may_end_before_a_motor_stands_is_remembered(shown, turning, ahead, then):
    after = BOTH_READ._replace(**shown)
    assert changed(after, after, turning=turning, ahead=ahead)[0].ahead == then
    assert changed(after, moving(after), turning=turning, ahead=ahead)[0].ahead == ahead


@pytest.mark.parametrize(
    ("after", "event", "cause", "had", "has"),
    [
        (REST, BENCH, 0, False, True),
        (REST, BENCH, OTHER, True, True),
        (WAITS, BENCH, 0, True, True),
        (WAITS, BENCH, OTHER, True, False),
        (WAITS, Event(TICK, 1), OTHER, True, True),
        (WAITS, BENCH, 0, False, False),
    ],
)
def test_one_in_a_hurry_may_act_once_before_the_relays_have_settled(after, event, cause, had, has):
    courses = Courses(PANEL, in_a_hurry=True)
    course = courses.at_rest()._replace(cause=cause, hurry=had)
    assert courses.go_on(course, WAITS, after, event, OTHER, ALL_ASK)[0].hurry is has
    assert changed(WAITS, REST)[0].hurry is False


HANDS = read_panel(
    {
        "switch": {
            "mains": {"pos": ["off", "on"]},
            "start": {"pos": ["up", "down"], "momentary": "up"},
            "estop": {"pos": ["out", "in"]},
            "guard": {"pos": ["shut", "open"]},
            "mode": {"pos": ["lathe", "mill"]},
            "dir": {"pos": ["off", "fwd"]},
            "lamp": {"pos": ["off", "on"]},
        },
        "contact": {"S1": {"of": "mains", "closed": ["on"]}},
        "load": {"drive": {"on": "S1"}},
        "rules": {"start_actions": ["start:down", "dir:fwd", "mode:mill"]},
    }
)


def all_but(switch):
    return EVERYTHING & ~(1 << switch)


@pytest.mark.parametrize(
    ("event", "kinds", "asks"),
    [
        (Event(MOVE, 0, 1), POWER_ON, (all_but(0), 0)),
        (Event(MOVE, 0, 0), POWER_OFF, (0, 0)),
        # The start action is the wish of its own switch, and letting a button go takes no wish back.
        (Event(MOVE, 1, 1), START, (all_but(1), 2)),
        (Event(MOVE, 1, 0), OTHER, (EVERYTHING, 0)),
        (Event(MOVE, 2, 1), STOP_IN, (0, 0)),
        (Event(MOVE, 2, 0), STOP_OUT, (all_but(2), 0)),
        (Event(MOVE, 3, 1), GUARD_OPEN, (all_but(3), 0)),
        (Event(MOVE, 3, 0), GUARD_SHUT, (all_but(3), 0)),
        (Event(MOVE, 4, 0), SELECTED, (0, 0)),
        (Event(MOVE, 4, 1), SELECTED | START, (0, 16)),
        (Event(MOVE, 5, 1), START, (all_but(5), 32)),
        (Event(MOVE, 5, 0), OTHER, (all_but(5), 0)),
        (Event(MOVE, 6, 1), OTHER, (all_but(6), 0)),
        (Event(TICK, 3), 0, ALL_ASK),
        (Event(BREAKS), FAULT, ALL_ASK),
        (Event(STANDS, 1), BY_ITSELF, ALL_ASK),
        (Event(EMPTY, 0), BY_ITSELF, ALL_ASK),
        (Event(TIMER, 0), BY_ITSELF, ALL_ASK),
    ],
)
def test_each_movement_has_its_kinds_of_cause_and_keeps_gives_or_withdraws_wishes(event, kinds, asks):
    assert Movements(HANDS).cause(event) == (kinds, asks)


def test_only_switches_that_reach_a_rung_or_play_a_part_are_moved():
    moves = Movements(HANDS).of((0, 0, 0, 0, 0, 0, 0))
    assert moves == tuple(Event(MOVE, switch, 1) for switch in (0, 2, 3, 4))
