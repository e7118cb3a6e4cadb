"""The way to a broken rule as a person reads it: numbered actions, what happens, why, cure, bench test."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest

from machinelab.controls.course import FORWARD, REVERSE
from machinelab.controls.events import BREAKS, EMPTY, MOVE, STANDS, TICK, TIMER, Event
from machinelab.controls.fault import Fault
from machinelab.controls.findings import Broken, Moment
from machinelab.controls.panel import Panel
from machinelab.controls.rules import RULES, Rule
from machinelab.controls.wiring import BETWEEN, OPERATED, TICK_MS

__all__: list[str] = []

MOST_ROWS = 12
# So many letters fit beside each other on the page and in a forum, and so many in each column of the table.
LINE, WIDTHS = 84, (4, 20, 22, 11, 14)
WAYS = {FORWARD: "forward", REVERSE: "in reverse", 2: "forward and in reverse at once"}
RELAY_TESTS = {
    "R0": "plug out, coil wires off. Feed the coil from a bench supply of its voltage over its own rung, the "
    "other contacts bridged by hand: it buzzes if it is wired as drawn.",
    "R2t": "plug out, drive board unplugged. Feed the coil from a bench supply of its voltage, take that "
    "away, and time the contact: a sound recorder across a small battery and the contact shows milliseconds.",
}
PHASES = {0: "drops", OPERATED: "pulls in", BETWEEN: "between"}


@dataclass(frozen=True)
class Row:
    """One numbered step of a way: what is done, what happens, what the relays do, what turns."""

    step: str
    act: str
    happens: str
    relays: str
    turns: str

    def lines(self) -> Iterator[tuple[str, ...]]:
        """The row in columns of limited width: one line, or more where a cell is long."""
        cells = (self.step, self.act, self.happens, self.relays, self.turns)
        wrapped = (textwrap.wrap(cell, width) for cell, width in zip(cells, WIDTHS, strict=True))
        yield from zip_longest(*wrapped, fillvalue="")


@dataclass(frozen=True)
class Trace:
    """A broken rule with everything that is told about it."""

    rule: Rule
    about: str
    rows: tuple[Row, ...]
    bench_test: str

    @property
    def text(self) -> str:
        """The whole as plain text, columns under each other."""
        head = Row("step", "you do", "what happens", "relays", "turning")
        cells = [cells for row in (head, *self.rows) for cells in row.lines()]
        widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
        table = [
            "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
            for line in cells
        ]
        about = f" ({self.about})" if self.about else ""
        where = f"Step {self.rows[-1].step}" if self.rows else "At rest"
        below = (
            f"{where}: {self.rule.broken}.",
            f"Why: {self.rule.why}",
            f"Cure: {self.rule.cure}",
            f"Try it: {self.bench_test}",
            f"Rests on: {self.rule.basis}.",
        )
        return "\n".join(
            [
                textwrap.fill(f"{self.rule.id} {self.rule.broken}{about}: {self.rule.grade}", LINE),
                *(f"  {line}" for line in table),
                *(textwrap.fill(line, LINE, initial_indent="  ", subsequent_indent="    ") for line in below),
            ]
        )


def stations(way: tuple[Moment, ...]) -> tuple[Moment, ...]:
    """The moments between the steps of a way: at rest, then after each step when its ticks are over."""
    last = [n for n in range(len(way)) if n + 1 == len(way) or way[n + 1].event.kind != TICK]
    return tuple(way[n] for n in last)


def told(panel: Panel, broken: Broken, fault: Fault | None = None, *, short: bool = True) -> Trace:
    """Tell the way to a broken rule in the owner's own names; the short form has at most twelve rows."""
    rule = RULES[broken.rule]
    every_row = _rows(panel, broken, fault)
    rows = _short(every_row) if short else tuple(every_row)
    return Trace(rule, broken.about, rows, _bench_test(panel, broken, rows))


def _rows(panel: Panel, broken: Broken, fault: Fault | None) -> list[Row]:
    rows: list[Row] = []
    way = broken.way
    at = 1
    while at < len(way):
        last = at
        while last + 1 < len(way) and way[last + 1].event.kind == TICK:
            last += 1
        first, moments = way[at - 1], way[at : last + 1]
        happens = _happens(panel, first, moments)
        act = _act(panel, way[at - 1], moments[0].event, fault)
        rows.append(
            Row(str(len(rows) + 1), act, happens, _relays(panel, first, moments), _turning(panel, way[last]))
        )
        at = last + 1
    return rows


def _act(panel: Panel, before: Moment, event: Event, fault: Fault | None) -> str:
    if event.kind == MOVE:
        switch = panel.switches[event.part]
        was = switch.positions[before.standing.switches[event.part]]
        return f"{switch.name} {was} -> {switch.positions[event.to]}"
    if event.kind == BREAKS:
        return f"(fault: {fault.words if fault else 'a part fails'})"
    timers = [relay.name for relay in panel.relays if relay.slow_drop_s]
    return {
        STANDS: lambda: f"(wait until {panel.motors[event.part].name} stands still)",
        EMPTY: lambda: f"(wait until the charge of {panel.loads[event.part].name} is gone)",
        TIMER: lambda: f"(wait until timer {timers[event.part]} ends)",
    }[event.kind]()


def _happens(panel: Panel, first: Moment, moments: tuple[Moment, ...]) -> str:
    said: list[str] = []
    before = first
    for moment in moments:
        for n, motor in enumerate(panel.motors):
            was, now = before.driven[n], moment.driven[n]
            if now != was:
                said.append(f"{motor.name} driven {WAYS[now]}" if now else f"drive off {motor.name}")
            brake_was, brake_now = before.shown.brake >> n & 1, moment.shown.brake >> n & 1
            if brake_now != brake_was:
                said.append(f"brake {'on' if brake_now else 'off'} {motor.name}")
        for n, load in enumerate(panel.loads):
            if (moment.shown.on ^ before.shown.on) >> n & 1:
                said.append(f"{load.name} {'fed' if moment.shown.on >> n & 1 else 'no longer fed'}")
        before = moment
    for n, motor in enumerate(panel.motors):
        if before.driven[n] and before.shown.brake >> n & 1:
            said.append(f"brake on {motor.name} at the same time")
    return ", ".join(said) or "nothing"


def _relays(panel: Panel, first: Moment, moments: tuple[Moment, ...]) -> str:
    said: list[str] = []
    before = first
    for ticks, moment in enumerate(moments):
        for n, relay in enumerate(panel.relays):
            phase = moment.standing.relays[n]
            if phase != before.standing.relays[n] and phase != BETWEEN:
                said.append(f"{relay.name} {PHASES[phase]} at {ticks * TICK_MS:g} ms")
        before = moment
    return ", ".join(said) or "-"


def _turning(panel: Panel, moment: Moment) -> str:
    said = []
    for n, motor in enumerate(panel.motors):
        if moment.driven[n]:
            said.append(f"{motor.name} DRIVEN")
        elif moment.course.turning[n]:
            said.append(f"{motor.name} runs down")
    said += [
        f"{load.name} FED" for n, load in enumerate(panel.loads) if load.moves and moment.shown.on >> n & 1
    ]
    return ", ".join(said) or "all still"


def _short(rows: list[Row]) -> tuple[Row, ...]:
    """At most twelve rows: the first ones are told in one when there are more."""
    more = len(rows) - MOST_ROWS
    if more <= 0:
        return tuple(rows)
    first = rows[: more + 1]
    told_in_one = Row(f"1-{more + 1}", "; ".join(row.act for row in first), "", "", first[-1].turns)
    return (told_in_one, *rows[more + 1 :])


def _bench_test(panel: Panel, broken: Broken, rows: tuple[Row, ...]) -> str:
    """What to do at the box with the plug out."""
    if broken.rule in RELAY_TESTS:
        return RELAY_TESTS[broken.rule]
    last = rows[-1].step
    return (
        "plug out, capacitors measured below 60 V, drive board unplugged. Meter on continuity over "
        f"{_path(panel, broken)}; press relays in by hand as the table says and do steps 1 to {last}. "
        f"If it closes at step {last}, the wire does what the drawing says."
    )


def _path(panel: Panel, broken: Broken) -> str:
    """The contacts of the rung that a breach is about."""
    rungs = {load.name: load.on for load in panel.loads}
    for motor, driven in zip(panel.motors, broken.way[-1].driven, strict=True):
        way = motor.reverse if driven == REVERSE else motor.forward
        rungs[motor.name] = motor.brake if broken.rule in ("R2b", "R5b") else way
    rung = rungs.get(broken.about)
    return f"the path {rung.text} (to {broken.about})" if rung else broken.about
