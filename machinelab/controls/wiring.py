"""The wiring at work: which relays are in, which contacts are closed, and how that goes on, tick by tick.

Switches and relays decide which rungs carry; what turns or holds a charge has no say in it. So this is
explored by itself, once for every standing of switches and relays, and remembered under a small number. Time
runs in ticks; a relay may move at any tick between its shortest and its longest time, which finds races.
"""

from collections.abc import Iterator
from itertools import combinations
from math import ceil
from typing import NamedTuple

from machinelab.controls.events import TICK, Event
from machinelab.controls.fault import COIL_FED, Fault
from machinelab.controls.movements import Movements
from machinelab.controls.panel import Panel, Relay
from machinelab.controls.rung import Rung

__all__: list[str] = []

TICK_MS = 5.0
RELEASED, OPERATED, BETWEEN = 0, 1, 2


class Shown(NamedTuple):
    """What the wiring does with the outside in one standing, as bits by load, motor and slow relay."""

    settled: bool
    on: int
    forward: int
    reverse: int
    brake: int
    display: int
    stop: bool
    powered: bool
    guard_open: bool
    latched: bool
    running_timers: int


class Standing(NamedTuple):
    """One standing of the box: where every switch and relay is, and how long each relay has waited."""

    switches: tuple[int, ...]
    relays: tuple[int, ...]
    waited: tuple[int, ...]


class Step(NamedTuple):
    """An event, the number of the standing after it, and a mark for the event and what shows then."""

    event: Event
    number: int
    mark: int


class _Reading(NamedTuple):
    wanted: tuple[int, ...]
    moving: tuple[int, ...]
    shown: int


class Wiring:
    """All standings of a panel that have been met, each under its number, and how one leads to the next.

    Parameters
    ----------
    panel : Panel
        What is wired.
    fault : Fault, optional
        A single fault that is there from the beginning.
    """

    def __init__(self, panel: Panel, fault: Fault | None = None):
        self.panel, self.fault = panel, fault
        self.standings: list[Standing] = []
        self.shown: list[Shown] = []
        self._numbers: dict[Standing, int] = {}
        self._shown_numbers: dict[Shown, int] = {}
        self.shown_number: list[int] = []
        self.movements = Movements(panel)
        self._ticked: list[tuple[Step, ...] | None] = []
        self._moved: list[tuple[Step, ...] | None] = []
        self._event_numbers: dict[Event, int] = {}
        self._read: dict[tuple, _Reading] = {}
        self._contacts = _ContactBits(panel, fault)
        self._times = [_Times(relay) for relay in panel.relays]
        self._stuck = {n for n, relay in enumerate(panel.relays) if fault and fault.sticks(relay)}
        self._part = {word: _parts(panel, pairs) for word, pairs in _positions(panel).items()}
        names = [relay.name for relay in panel.relays]
        self._latch = names.index(panel.rules.latch) if panel.rules.latch else None
        self._slow = [n for n, relay in enumerate(panel.relays) if relay.slow_drop_s]

    def at_rest(self) -> int:
        """The number of the standing in which every switch rests and every relay is released."""
        switches = tuple(switch.positions.index(switch.rest) for switch in self.panel.switches)
        nothing = (0,) * len(self.panel.relays)
        return self.number(Standing(switches, nothing, nothing))

    def number(self, standing: Standing) -> int:
        """The number of a standing, which is met for the first time if need be."""
        known = self._numbers.get(standing)
        if known is not None:
            return known
        self._numbers[standing] = new = len(self.standings)
        self.standings.append(standing)
        self.shown_number.append(self._reading(standing.switches, standing.relays).shown)
        self._ticked.append(None)
        self._moved.append(None)
        return new

    def shows(self, number: int) -> Shown:
        """What a standing does with the outside."""
        return self.shown[self.shown_number[number]]

    def ticked(self, number: int) -> tuple[Step, ...]:
        """Every standing one tick later, each with the relays that moved; none at rest."""
        known = self._ticked[number]
        if known is None:
            ticked = self._one_tick(self.standings[number])
            known = self._ticked[number] = tuple(self.step(event, after) for event, after in ticked)
        return known

    def moved(self, number: int) -> tuple[Step, ...]:
        """Every standing that a hand can lead to by moving one switch."""
        known = self._moved[number]
        if known is None:
            events = self.movements.of(self.standings[number].switches)
            known = self._moved[number] = tuple(
                self.step(event, self.switched(number, event.part, event.to)) for event in events
            )
        return known

    def step(self, event: Event, number: int) -> Step:
        """An event with the standing after it, and one mark for the event and what is shown after it."""
        event_number = self._event_numbers.setdefault(event, len(self._event_numbers))
        return Step(event, number, event_number << 32 | self.shown_number[number])

    def switched(self, number: int, switch: int, position: int) -> int:
        """The standing after a hand has moved a switch."""
        switches, relays, waited = self.standings[number]
        return self._went_on((switches, relays), _with(switches, switch, position), relays, waited)

    def timed_out(self, number: int, relay: int) -> int:
        """The standing after a slow relay has let go."""
        switches, relays, waited = self.standings[number]
        phase = BETWEEN if self._times[relay].transfer or self._blocked(relay, RELEASED) else RELEASED
        return self._went_on((switches, relays), switches, _with(relays, relay, phase), waited)

    def running_timers(self, number: int) -> list[int]:
        """The slow relays whose time is running."""
        running = self.shows(number).running_timers
        return [relay for n, relay in enumerate(self._slow) if running >> n & 1]

    def settled_again(self, number: int) -> Standing:
        """The standing to begin from in another wiring: the same places, nobody waiting."""
        switches, relays, _ = self.standings[number]
        return Standing(switches, relays, (0,) * len(relays))

    def closed(self, number: int) -> frozenset[str]:
        """The names of the contacts that are closed."""
        switches, relays, _ = self.standings[number]
        return self._contacts.names(self._contacts.closed(switches, relays))

    def _one_tick(self, standing: Standing) -> Iterator[tuple[Event, int]]:
        switches, relays, waited = standing
        reading = self._reading(switches, relays)
        must, may, longer = [], [], list(waited)
        for relay in reading.moving:
            longer[relay] += 1
            soonest, latest = self._times[relay].span(relays[relay], reading.wanted[relay])
            if longer[relay] >= latest:
                must.append(relay)
            elif longer[relay] >= soonest:
                may.append(relay)
        for count in range(len(may) + 1) if reading.moving else ():
            for chosen in combinations(may, count):
                moving = (*must, *chosen)
                phases, ticks = list(relays), list(longer)
                for relay in moving:
                    phases[relay] = self._next_phase(relay, relays[relay], reading.wanted[relay])
                    ticks[relay] = 0
                number = self._went_on((switches, relays), switches, tuple(phases), tuple(ticks))
                yield Event(TICK, sum(1 << relay for relay in moving)), number

    def _next_phase(self, relay: int, phase: int, wanted: int) -> int:
        if phase == BETWEEN or not (self._times[relay].transfer or self._blocked(relay, wanted)):
            return wanted
        return BETWEEN

    def _went_on(self, before: tuple, switches: tuple, relays: tuple, waited: tuple) -> int:
        """Number the standing after a change; a relay whose coil has changed its mind begins to wait anew."""
        old, new = self._reading(*before), self._reading(switches, relays)
        kept = [0] * len(relays)
        for relay in new.moving:
            if old.wanted[relay] == new.wanted[relay]:
                kept[relay] = waited[relay]
        return self.number(Standing(switches, relays, tuple(kept)))

    def _blocked(self, relay: int, wanted: int) -> bool:
        """Whether a welded contact of guided contacts keeps the armature from getting there."""
        described = self.panel.relays[relay]
        if self.fault is None or not described.guided:
            return False
        other_side = described.normally_open if wanted == RELEASED else described.normally_closed
        return self.fault.welds in other_side

    def _reading(self, switches: tuple, relays: tuple) -> _Reading:
        known = self._read.get((switches, relays))
        if known is None:
            known = self._read[switches, relays] = self._read_anew(switches, relays)
        return known

    def _read_anew(self, switches: tuple, relays: tuple) -> _Reading:
        bits = self._contacts
        closed = bits.closed(switches, relays)
        wanted = tuple(self._coil(n, closed) for n in range(len(relays)))
        moving = tuple(n for n in range(len(relays)) if self._moves(n, relays[n], wanted[n]))
        timers = [relays[n] == OPERATED and not wanted[n] and n not in self._stuck for n in self._slow]
        part = self._part
        shown = Shown(
            settled=not moving,
            **bits.outside(closed),
            stop=any(switches[n] == at for n, at in part["stops"]),
            powered=all(switches[n] == at for n, at in part["power"]),
            guard_open=any(switches[n] == at for n, at in part["guard_open"]),
            latched=self._latch is None or relays[self._latch] == OPERATED,
            running_timers=_bits(timers),
        )
        number = self._shown_numbers.setdefault(shown, len(self.shown))
        if number == len(self.shown):
            self.shown.append(shown)
        return _Reading(wanted, moving, number)

    def _coil(self, relay: int, closed: int) -> int:
        name = self.panel.relays[relay].name
        if self.fault and self.fault.coil == name:
            return int(self.fault.kind == COIL_FED)
        return int(self._contacts.coils[relay].carries(closed))

    def _moves(self, relay: int, phase: int, wanted: int) -> bool:
        if phase == wanted or relay in self._stuck:
            return False
        if phase == BETWEEN and self._blocked(relay, wanted):
            return False
        return not (self.panel.relays[relay].slow_drop_s and phase == OPERATED)


def _with(places: tuple[int, ...], n: int, place: int) -> tuple[int, ...]:
    return (*places[:n], place, *places[n + 1 :])


def _bits(flags) -> int:
    return sum(1 << n for n, flag in enumerate(flags) if flag)


def _positions(panel: Panel) -> dict:
    rules = panel.rules
    return {"stops": rules.stops, "power": rules.power, "guard_open": rules.guard_open}


def _parts(panel: Panel, pairs) -> list[tuple[int, int]]:
    names = [switch.name for switch in panel.switches]
    found = [(names.index(name), position) for name, position in pairs]
    return [(n, panel.switches[n].positions.index(position)) for n, position in found]


class _Times:
    """The times of a relay in whole ticks, rounded so that nothing possible is left out."""

    def __init__(self, relay: Relay):
        self.pickup, self.dropout = _ticks(relay.pickup_ms), _ticks(relay.dropout_ms)
        self.transfer = int(relay.transfer_ms / TICK_MS)

    def span(self, phase: int, wanted: int) -> tuple[int, int]:
        """The earliest and the latest tick at which it moves on."""
        if phase == BETWEEN:
            return (self.transfer or 1,) * 2
        return self.pickup if wanted else self.dropout


def _ticks(span_ms: tuple[float, float]) -> tuple[int, int]:
    soonest = max(1, int(span_ms[0] / TICK_MS))
    return soonest, max(soonest, ceil(span_ms[1] / TICK_MS))


class _BitRung:
    """A rung over contact bits, its truth table filled in as it is asked for."""

    def __init__(self, rung: Rung, bit: dict[str, int]):
        self.rung, self.bits = rung, {bit[name]: name for name in rung.names}
        self.mask = sum(self.bits)
        self._known: dict[int, bool] = {}

    def carries(self, closed: int) -> bool:
        """Whether current passes."""
        key = closed & self.mask
        known = self._known.get(key)
        if known is None:
            names = {name for bit, name in self.bits.items() if key & bit}
            known = self._known[key] = self.rung.carries(names)
        return known


class _ContactBits:
    """Every contact as a bit: which are closed for the places of switches and relays, and what that feeds."""

    def __init__(self, panel: Panel, fault: Fault | None):
        names = [contact.name for contact in panel.contacts]
        names += [name for relay in panel.relays for name in relay.contacts]
        self.bit = {name: 1 << n for n, name in enumerate(names)}
        self._by_switch = [
            [
                sum(
                    self.bit[c.name]
                    for c in panel.contacts
                    if c.switch == switch.name and position in c.closed
                )
                for position in switch.positions
            ]
            for switch in panel.switches
        ]
        self._by_relay = [
            (sum(map(self.bit.get, relay.normally_closed)), sum(map(self.bit.get, relay.normally_open)), 0)
            for relay in panel.relays
        ]
        self._welded = self.bit.get(fault.welds, 0) if fault else 0
        self._open = self.bit.get(fault.opens, 0) if fault else 0
        self._dead_load = fault.dead_load if fault else None
        self.coils = [_BitRung(relay.coil, self.bit) for relay in panel.relays]
        self._loads = [(load.name, _BitRung(load.on, self.bit)) for load in panel.loads]
        self._forward = self._each(motor.forward for motor in panel.motors)
        self._reverse = self._each(motor.reverse for motor in panel.motors)
        self._brake = self._each(motor.brake for motor in panel.motors)
        self._display = self._each(panel.speed_display.get(motor.name) for motor in panel.motors)

    def _each(self, rungs) -> list[_BitRung | None]:
        return [_BitRung(rung, self.bit) if rung else None for rung in rungs]

    def closed(self, switches: tuple, relays: tuple) -> int:
        """Which contacts are closed, as bits."""
        bits = self._welded
        for positions, at in zip(self._by_switch, switches, strict=True):
            bits |= positions[at]
        for phases, phase in zip(self._by_relay, relays, strict=True):
            bits |= phases[phase]
        return bits & ~self._open

    def names(self, closed: int) -> frozenset[str]:
        """The same as names."""
        return frozenset(name for name, bit in self.bit.items() if closed & bit)

    def outside(self, closed: int) -> dict[str, int]:
        """Which loads, motors and brakes are fed, as bits."""
        live = (name != self._dead_load and rung.carries(closed) for name, rung in self._loads)
        groups = {
            "forward": self._forward,
            "reverse": self._reverse,
            "brake": self._brake,
            "display": self._display,
        }
        return {
            "on": _bits(live),
            **{
                word: _bits(rung is not None and rung.carries(closed) for rung in rungs)
                for word, rungs in groups.items()
            },
        }
