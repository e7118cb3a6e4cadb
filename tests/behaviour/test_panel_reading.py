"""A described control box is read as it is written: every word of it, its usual values, and its limits."""

import copy

import pytest

from machinelab.controls.panel import Contact, Load, Motor, Relay, Rules, Switch
from machinelab.controls.panel_mistakes import LONGEST_QUOTE, MOST_TOLD, Mistakes
from machinelab.controls.panel_reading import read_panel
from machinelab.controls.rung import DEEPEST_RUNG, LONGEST_RUNG, read_rung
from machinelab.errors import PanelError

# Every word that the tables know, each with a value that is not the usual one.
WHOLE = {
    "switch": {
        "mains": {"pos": ["off", "on"], "init": "on", "adjacent": False, "momentary": "off"},
        "mode": {"pos": ["left", "middle", "right"], "init": "middle", "latching": True},
        "guard": {"pos": ["shut", "open"]},
        "stop": {"pos": ["out", "in"]},
    },
    "contact": {
        "S1": {"of": "mains", "closed": ["on"], "dc_break_A": 4.0, "dc_break_V": 110},
        "S2": {"of": "mode", "closed": ["left", "right"], "dc_break_A": 0, "dc_break_V": 110},
        "S3": {"of": "mode", "closed": "middle", "dc_break_A": 2},
        "G1": {"of": "guard", "closed": ["shut"]},
    },
    "relay": {
        "K1": {
            "coil": "S1 and (S2 or K1_a)",
            "no": ["K1_a", "K1_b"],
            "nc": ["K1_c"],
            "pickup_ms": [5, 15],
            "dropout_ms": 30,
            "transfer_ms": 2,
            "guided": True,
            "slow_drop_s": [3, 4],
            "dc_rated": ["K1_b"],
        },
        "K2": {"coil": "S3", "no": ["K2_a"]},
    },
    "load": {
        "drive": {"on": "K1_a", "holds": True},
        "feed": {"on": "K1_b", "kind": "motion", "holds_s": 5},
        "lamp": {"on": "not K1_c", "kind": "lamp"},
    },
    "motor": {
        "lathe": {
            "source": "drive",
            "fwd": "S2",
            "rev": "S3",
            "brake": "K1_c",
            "run_down_s": [6, 9],
            "braked_s": 2,
        },
        "mill": {"source": "drive", "fwd": "K2_a"},
    },
    "sensor": {"rpm": {"reads": {"lathe": "G1"}, "lag_s": 0.5}},
    "rules": {
        "start_actions": ["mains:on", "mode:left"],
        "stop_devices": ["stop"],
        "power_switches": ["mains:on"],
        "guards": ["guard:open"],
        "guarded": ["mill"],
        "selectors": ["mode"],
        "no_load_switches": ["mode"],
        "latch": "K1",
        "gap_ms": 25,
        "timer_outlasts_braked": True,
        "timer_outlasts_coast": False,
    },
}
CONTACTS = {"S1", "S2", "S3", "G1", "K1_a", "K1_b", "K1_c", "K2_a"}


def rung(text):
    return read_rung(text, CONTACTS)


def changed(place, value):
    """The whole box with something else at one place; without what stands there if the value is None."""
    box = copy.deepcopy(WHOLE)
    *way, last = place.split(".")
    table = box
    for word in way:
        table = table.setdefault(word, {})
    table.pop(last, None)
    if value is not None:
        table[last] = value
    return box


def told(box, line_of=lambda place: None) -> str:
    with pytest.raises(PanelError) as problem:
        read_panel(box, line_of)
    return str(problem.value)


def test_every_word_of_a_description_reaches_the_panel():
    panel = read_panel(WHOLE)
    assert panel.switches == (
        Switch("mains", ("off", "on"), "on", passes_middle=False, springs_to="off"),
        Switch("mode", ("left", "middle", "right"), "middle", passes_middle=True, springs_to=None),
        Switch("guard", ("shut", "open"), "shut"),
        Switch("stop", ("out", "in"), "out"),
    )
    assert panel.contacts == (
        Contact("S1", "mains", ("on",), breaks_dc=True),
        Contact("S2", "mode", ("left", "right"), breaks_dc=False),
        Contact("S3", "mode", ("middle",), breaks_dc=None),
        Contact("G1", "guard", ("shut",), breaks_dc=None),
    )
    assert panel.relays == (
        Relay(
            name="K1",
            coil=rung("S1 and (S2 or K1_a)"),
            normally_open=("K1_a", "K1_b"),
            normally_closed=("K1_c",),
            pickup_ms=(5.0, 15.0),
            dropout_ms=(30.0, 30.0),
            transfer_ms=2.0,
            guided=True,
            slow_drop_s=(3.0, 4.0),
            rated_for_dc=("K1_b",),
        ),
        Relay("K2", rung("S3"), ("K2_a",), ()),
    )
    assert panel.loads == (
        Load("drive", rung("K1_a"), moves=False, holds=True),
        Load("feed", rung("K1_b"), moves=True, holds=True),
        Load("lamp", rung("not K1_c"), moves=False, holds=False),
    )
    assert panel.motors == (
        Motor("lathe", "drive", rung("S2"), rung("S3"), rung("K1_c"), (6.0, 9.0), (2.0, 2.0)),
        Motor("mill", "drive", rung("K2_a")),
    )
    assert panel.speed_display == {"lathe": rung("G1")}
    assert panel.rules == Rules(
        starts=frozenset({("mains", "on"), ("mode", "left")}),
        stops=(("stop", "in"),),
        power=(("mains", "on"),),
        guard_open=(("guard", "open"),),
        guarded=("mill",),
        selectors=("mode",),
        no_load_switches=("mode",),
        latch="K1",
        gap_ms=25.0,
        timer_outlasts_braked=True,
        timer_outlasts_coast=False,
    )


def test_what_the_rules_leave_out_is_taken_from_the_usual_names_of_switches():
    box = changed("rules", {"selectors": ["mode"]}) | {"rules": {}}
    box["switch"] |= {
        name: {"pos": ["off", "on"]}
        for name in ("estop", "mushroom", "master", "plug", "selector", "anything")
    }
    assert read_panel(box).rules == Rules(
        stops=(("estop", "on"), ("mushroom", "on"), ("stop", "in")),
        power=(("mains", "off"), ("master", "on"), ("plug", "on")),
        guard_open=(("guard", "open"),),
        guarded=("lathe",),
        selectors=("mode", "selector"),
        gap_ms=10.0,
        timer_outlasts_braked=None,
        timer_outlasts_coast=None,
    )


def test_a_switch_of_which_nothing_is_said_is_off_and_on():
    box = {"switch": {"s": {}}, "contact": {"S": {"of": "s", "closed": "on"}}, "load": {"lamp": {"on": "S"}}}
    assert read_panel(box).switches == (Switch("s", ("off", "on"), "off"),)


def test_without_a_guard_no_motor_is_guarded():
    box = changed("rules", {}) | {"rules": {"guarded": ["mill"]}}
    box["switch"]["door"] = box["switch"].pop("guard")
    box["contact"]["G1"]["of"] = "door"
    assert read_panel(box).rules.guarded == ()


@pytest.mark.parametrize(
    ("place", "value", "said"),
    [
        ("lamps", {}, "lamps: lamps is not known here."),
        ("switch.mode.poz", [], "switch.mode.poz: poz is not known here. Nearest: pos."),
        ("switch.mode.pos", ["left"], "switch.mode.pos: `pos` lists 2 to 6 different positions"),
        ("switch.mode.pos", list("abcdefg"), "switch.mode.pos: `pos` lists 2 to 6 different positions"),
        ("switch.mode.pos", ["left", "left", "right"], "switch.mode.pos: `pos` lists 2 to 6 different"),
        ("switch.mode.pos", ["left", 2], "switch.mode.pos: `pos` is a list of names in quotes"),
        ("switch.mode.pos", ["left", ""], "switch.mode.pos: `pos` is a list of names in quotes"),
        ("switch.mode.init", "rigth", "switch.mode.init: rigth is no init here. Nearest: right."),
        ("switch.mode.momentary", "up", "switch.mode.momentary: up is no momentary here."),
        (
            "switch.mode.latching",
            "no",
            "switch.mode.latching: `latching` is true or false, without quotes; no",
        ),
        ("switch.mode.adjacent", 1, "switch.mode.adjacent: `adjacent` is true or false, without quotes; 1"),
        ("contact.S1.off", "mains", "contact.S1.off: off is not known here."),
        ("contact.S1.of", None, "contact.S1: `of` is missing. Known: mains, mode, guard, stop."),
        ("contact.S1.closed", None, "contact.S1.closed: S1 wants the positions in which it is closed"),
        ("contact.S1.closed", ["off", "no"], "contact.S1.closed: no is no position of mains here."),
        ("contact.S1.dc_break_A", -0.1, "contact.S1.dc_break_A: `dc_break_A` is a plain number from 0 to"),
        ("contact.S1.dc_break_V", True, "contact.S1.dc_break_V: `dc_break_V` is a plain number from 0 to"),
        (
            "contact.S-9",
            {"of": "mains", "closed": "on"},
            "contact.S-9: 'S-9' cannot be the name of a contact",
        ),
        (
            "contact.not",
            {"of": "mains", "closed": "on"},
            "contact.not: 'not' cannot be the name of a contact",
        ),
        ("contact.S1", 7, "contact.S1: S1 wants a table of its own, for instance [contact.S1]."),
        ("contact", 7, "contact: [contact] is a table of named things, for instance [contact.first]."),
        ("relay.K2.no", ["K1_a"], "relay.K2.no: K1_a stands already under relay.K1.no"),
        ("relay.K2.no", ["S1"], "relay.K2.no: S1 stands already under contact.S1"),
        ("relay.K2.nc", ["K2_a"], "relay.K2.nc: K2_a stands already under relay.K2.no"),
        ("relay.K2.no", [], "relay.K2: K2 has no contacts, so it does nothing."),
        ("relay.K2.coil", None, "relay.K2: `coil` is missing: the rung that feeds it"),
        ("relay.K2.coil", "S9", "relay.K2.coil: Column 1: S9 is no contact of this panel."),
        ("relay.K2.dc_rated", ["K1_a"], "relay.K2.dc_rated: K1_a is no contact of K2 here."),
        ("relay.K2.coils", "S1", "relay.K2.coils: coils is not known here. Nearest: coil."),
        ("relay.K2.guided", "yes", "relay.K2.guided: `guided` is true or false"),
        (
            "relay.K2.transfer_ms",
            500.1,
            "relay.K2.transfer_ms: `transfer_ms` is a plain number from 0 to 500,",
        ),
        (
            "relay.K2.pickup_ms",
            2001,
            "relay.K2.pickup_ms: `pickup_ms` is a lowest and a highest figure from 0 to",
        ),
        ("relay.K2.pickup_ms", [20, 10], "relay.K2.pickup_ms: `pickup_ms` is a lowest and a highest figure"),
        ("relay.K2.pickup_ms", [1, 2, 3], "[1, 2, 3] stands there."),
        ("relay.K2.pickup_ms", [True, 2], "relay.K2.pickup_ms: `pickup_ms` is a lowest and a highest figure"),
        ("relay.K2.dropout_ms", [0, 2000.5], "figure from 0 to 2000, as [10, 20]; [0, 2000.5] stands there."),
        ("relay.K2.slow_drop_s", 86401, "relay.K2.slow_drop_s: `slow_drop_s` is a lowest and a highest"),
        ("load.lamp.kind", "motor", "load.lamp.kind: motor is no kind here."),
        ("load.lamp.on", None, "load.lamp: `on` is missing: the rung that feeds it"),
        ("load.lamp.off", "S1", "load.lamp.off: off is not known here."),
        ("load.lamp.holds", 1, "load.lamp.holds: `holds` is true or false"),
        ("load.lamp.holds_s", -1, "load.lamp.holds_s: `holds_s` is a plain number"),
        ("load", {}, "load: No load is described"),
        ("switch", {}, "switch: No switch is described"),
        ("motor.mill.source", None, "motor.mill: `source` is missing. Known: drive, feed, lamp."),
        ("motor.mill.fwd", None, "motor.mill: `fwd` is missing: the rung that feeds it"),
        ("motor.mill.rev", "S9", "motor.mill.rev: Column 1: S9 is no contact"),
        ("motor.mill.brake", "S9", "motor.mill.brake: Column 1: S9 is no contact"),
        ("motor.mill.break", "S1", "motor.mill.break: break is not known here."),
        ("motor.mill.run_down_s", [5, 86401], "motor.mill.run_down_s: `run_down_s` is a lowest"),
        ("motor.mill.braked_s", [5, 86401], "motor.mill.braked_s: `braked_s` is a lowest"),
        ("sensor.turns", {}, "sensor.turns: turns is not known here."),
        ("sensor.rpm.read", {}, "sensor.rpm.read: read is not known here. Nearest: reads."),
        ("sensor.rpm.reads", 5, "sensor.rpm.reads: `reads` names a contact for each motor"),
        ("sensor.rpm.reads.drill", "S1", "sensor.rpm.reads.drill: drill is not known here."),
        ("sensor.rpm.reads.lathe", "S9", "sensor.rpm.reads.lathe: Column 1: S9 is no contact"),
        ("rules.start", [], "rules.start: start is not known here."),
        ("rules.stop_devices", ["mode"], "rules.stop_devices: mode has 3 positions; say which: mode:left."),
        ("rules.stop_devices", ["mode:up"], "rules.stop_devices: up is no position of mode here."),
        ("rules.stop_devices", ["stopp:in"], "rules.stop_devices: stopp is no switch here. Nearest: stop."),
        ("rules.power_switches", ["main"], "rules.power_switches: main is no switch here. Nearest: mains."),
        ("rules.guards", ["door"], "rules.guards: door is no switch here."),
        *(
            (f"rules.{key}", 5, f"rules.{key}: `{key}` is a list of names in quotes")
            for key in ("start_actions", "stop_devices", "power_switches", "guards", "guarded", "selectors")
        ),
        ("rules.guarded", ["mil"], "rules.guarded: mil is no name here. Nearest: mill."),
        ("rules.selectors", ["modes"], "rules.selectors: modes is no name here. Nearest: mode."),
        ("rules.no_load_switches", ["x"], "rules.no_load_switches: x is no name here."),
        ("rules.latch", "K3", "rules.latch: K3 is no latch here. Nearest: K"),
        ("rules.gap_ms", 101, "rules.gap_ms: `gap_ms` is a plain number from 0 to 100,"),
        (
            "rules.timer_outlasts_coast",
            1,
            "rules.timer_outlasts_coast: `timer_outlasts_coast` is true or false",
        ),
        ("rules.timer_outlasts_braked", 1, "rules.timer_outlasts_braked: `timer_outlasts_braked` is true or"),
    ],
)
def test_a_mistake_is_told_at_its_place_in_words_that_say_what_to_write(place, value, said):
    assert said in told(changed(place, value))


@pytest.mark.parametrize(
    ("place", "value"),
    [
        ("switch.mode.pos", ["left", "middle", "right", "a", "b", "c"]),
        ("relay.K2.pickup_ms", [0, 2000]),
        ("relay.K2.dropout_ms", 2000),
        ("relay.K2.transfer_ms", 500),
        ("relay.K2.transfer_ms", 0),
        ("relay.K2.slow_drop_s", [86400, 86400]),
        ("motor.mill.run_down_s", 86400),
        ("motor.mill.braked_s", 86400),
        ("rules.gap_ms", 100),
        ("contact.S1.dc_break_A", 1e6),
    ],
)
def test_the_ends_of_what_is_allowed_are_allowed(place, value):
    assert read_panel(changed(place, value)).loads


def test_a_gap_of_nothing_is_kept_and_not_replaced_by_the_usual_one():
    assert read_panel(changed("rules.gap_ms", 0)).rules.gap_ms == 0


@pytest.mark.parametrize(("table", "most"), [("switch", 16), ("contact", 64), ("relay", 24), ("load", 12)])
def test_so_many_of_a_kind_are_followed_and_one_more_is_not(table, most):
    one = {
        "switch": {"pos": ["a", "b"]},
        "contact": {"of": "mains", "closed": ["on"]},
        "relay": {"coil": "S1"},
        "load": {"on": "S1"},
    }[table]
    box = copy.deepcopy(WHOLE)
    for n in range(most - len(box[table])):
        box[table][f"X{n}"] = one | ({"no": [f"X{n}_a"]} if table == "relay" else {})
    assert read_panel(box).switches
    box[table]["Y"] = one
    assert f"{table}: {most + 1} of [{table}] are more than can be followed" in told(box)


def test_six_motors_are_followed_and_seven_are_not():
    motors = {f"m{n}": {"source": "drive", "fwd": "S1"} for n in range(6)}
    box = changed("sensor", {}) | {"motor": motors, "sensor": {}, "rules": {}}
    assert len(read_panel(box).motors) == 6
    assert "motor: 7 of [motor] are more" in told(box | {"motor": motors | {"m6": motors["m0"]}})


def test_something_that_is_no_table_is_refused():
    assert told(["switch"]).startswith("A control box is described in tables")


def test_mistakes_are_told_in_the_order_of_the_file_and_counted():
    box = changed("load.lamp.kind", "x")
    box["switch"]["mode"]["init"] = "y"
    lines = {"load.lamp.kind": 3, "switch.mode.init": 40}
    assert told(box, lines.get).splitlines() == [
        "2 mistakes in the description of the control box:",
        "- line 3, load.lamp.kind: x is no kind here. Known: supply, motion, lamp.",
        "- line 40, switch.mode.init: y is no init here. Known: left, middle, right.",
    ]
    assert told(changed("load.lamp.kind", "x")).startswith("One mistake in the description")


@pytest.mark.parametrize(
    ("count", "tail"),
    [(MOST_TOLD, ": words"), (MOST_TOLD + 1, "- and 1 more."), (MOST_TOLD + 5, "- and 5 more.")],
)
def test_no_more_mistakes_are_told_than_can_be_read(count, tail):
    mistakes = Mistakes(lambda place: None)
    for n in range(count):
        mistakes.add(f"place{n}" if n else "", "words")
    with pytest.raises(PanelError) as problem:
        mistakes.raise_if_any()
    lines = str(problem.value).splitlines()
    assert lines[0] == f"{count} mistakes in the description of the control box:"
    assert lines[1] == "- file: words"
    assert lines[-1].endswith(tail)
    assert sum(line.endswith(": words") for line in lines) == MOST_TOLD


@pytest.mark.parametrize("length", [LONGEST_QUOTE, LONGEST_QUOTE + 1])
def test_a_long_text_is_quoted_only_so_far(length):
    words = told(changed("load.lamp.kind", "x" * length))
    assert (
        f"load.lamp.kind: {'x' * LONGEST_QUOTE}{'...' if length > LONGEST_QUOTE else ''} is no kind" in words
    )


def test_where_there_is_nothing_to_choose_from_that_is_said():
    box = {"switch": {"s": {}}, "load": {"lamp": {"on": "S1"}}, "motor": {"m": {"source": "x", "fwd": "S1"}}}
    box["contact"] = {"S1": {"of": "s", "closed": "on"}}
    box["rules"] = {"latch": "K1"}
    assert "rules.latch: K1 is no latch here. There is none to choose from yet." in told(box)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("S1 && S2", "Column 4: && is not read here. Write the word: S1 and S2"),
        ("S1 * S2", "Column 4: * is not read here. Write the word: S1 and S2"),
        ("S1|S2", "Column 3: | is not read here. Write the word: S1 or S2"),
        ("S1 + S2", "Column 4: + is not read here. Write the word: S1 or S2"),
        ("~S1", "Column 1: ~ is not read here. Write the word: not S1"),
        ("K1 = S1 and S2", "Column 4: write only what stands right of the equals sign: S1 and S2"),
        ("K1 =", "Column 4: write only what stands right of the equals sign: S1 and S2"),
        ("S1 and while", "Column 8: while cannot be a contact"),
        ("S1 OR S2", "Column 4: write or in small letters."),
        ("S1 and or S2", "Column 8: a name is missing before or, or it is one too many."),
        ("and S1", "Column 1: a name is missing before and, or it is one too many."),
        ("S1 and ()", "Column 9: a name is missing before ), or it is one too many."),
        ("S1 and not ", "Column 11: a name is missing at the end."),
        ("S1)", "Column 3: this bracket closes none; open one before it, or leave it out."),
        ("(S1 or S2)) and S3", "Column 11: this bracket closes none; open one before it, or leave it out."),
        ("S1 and (S2 or (S3)", "Column 8: this bracket is never closed; close it, or leave it out."),
        ("((S1", "Column 2: this bracket is never closed; close it, or leave it out."),
        ("S1\n  and S9", "Column 10: S9 is no contact of this panel."),
        ("S1 and S2 not S3", "Column 11: two things stand side by side without and or or between them; "),
        (
            "S1 S2",
            "Column 4: two things stand side by side without and or or between them; the second is S2.",
        ),
        ("S1 or S4", "Column 7: S4 is no contact of this panel. Nearest: S"),
        ("S1 and Sl", "Nearest: S1 (letter l or figure 1?)."),
        ("S1 and zzzzzz", "Column 8: zzzzzz is no contact of this panel."),
        ("S1 (S2)", "Column 4: two things stand side by side"),
        ("S1 and 12345678901234567890123", "Column 8: 12345678901234567890 is not read here."),
    ],
)
def test_a_mistake_in_a_rung_is_told_with_its_column(text, said):
    with pytest.raises(PanelError) as problem:
        read_rung(text, CONTACTS)
    assert said in str(problem.value)


@pytest.mark.parametrize("nothing", ["", " \n", None, 7])
def test_a_rung_that_is_no_text_is_answered_with_an_example(nothing):
    with pytest.raises(
        PanelError, match=r'^A rung is text in quotes, for instance "S1 and \(D_F or D_R\)"\.$'
    ):
        read_rung(nothing, CONTACTS)


def test_a_switch_with_wrong_positions_counts_as_off_and_on_for_what_follows():
    assert told(changed("switch.mains.pos", ["off"])).startswith("One mistake")


def test_a_rung_may_be_so_long_and_so_deep_and_no_more():
    longest = "S1".ljust(LONGEST_RUNG)
    assert read_rung(longest, CONTACTS).text == "S1"
    with pytest.raises(
        PanelError, match=r"501 characters; 500 are allowed\. Put a part of it on a relay of its own\."
    ):
        read_rung(longest + " ", CONTACTS)
    deepest = "not " * (DEEPEST_RUNG - 1) + "S1"
    assert read_rung(deepest, CONTACTS).carries(set())
    deepest_brackets = "(" * DEEPEST_RUNG + "S1" + ")" * DEEPEST_RUNG
    assert read_rung(deepest_brackets, CONTACTS).carries({"S1"})
    for too_deep in ("not " + deepest, f"({deepest_brackets})"):
        with pytest.raises(PanelError, match="nested more than 20 deep"):
            read_rung(too_deep, CONTACTS)


@pytest.mark.parametrize("closed", [set(), {"S1"}, {"S2"}, {"S1", "S2"}, {"S1", "S2", "S3"}, {"S3"}])
def test_a_rung_carries_as_its_words_say(closed):
    read = read_rung("S1 and (S2 or not S3)", CONTACTS)
    assert read.names == {"S1", "S2", "S3"}
    assert read.carries(closed) == ("S1" in closed and ("S2" in closed or "S3" not in closed))
