"""A control box as its owner describes it: switches, contacts, relays, loads, motors, and their parts.

Plain data. `machinelab.controls.panel_reading` makes it from what was typed, and finds the mistakes.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from machinelab.controls.rung import Rung

__all__: list[str] = []

# A small plug-in relay without a plain diode across its coil; common practice, no source.
USUAL_PICKUP_MS = (10.0, 20.0)
USUAL_DROPOUT_MS = (10.0, 20.0)
# Time for an arc to go out between two contacts; common practice, no source.
USUAL_GAP_MS = 10.0


@dataclass(frozen=True)
class Switch:
    """A switch that a hand moves: its positions in order and the one in which it rests."""

    name: str
    positions: tuple[str, ...]
    rest: str
    passes_middle: bool = True
    springs_to: str | None = None

    def reachable(self, position: int) -> tuple[int, ...]:
        """The positions that one movement of the hand leads to."""
        everywhere = range(len(self.positions))
        if self.passes_middle:
            return tuple(one for one in (position - 1, position + 1) if one in everywhere)
        return tuple(one for one in everywhere if one != position)


@dataclass(frozen=True)
class Contact:
    """One contact block of a switch: where it is closed, and whether it may break direct current."""

    name: str
    switch: str
    closed: tuple[str, ...]
    breaks_dc: bool | None = None


@dataclass(frozen=True)
class Relay:
    """A relay or contactor: the rung of its coil, its contacts, and how long it takes."""

    name: str
    coil: Rung
    normally_open: tuple[str, ...]
    normally_closed: tuple[str, ...]
    pickup_ms: tuple[float, float] = USUAL_PICKUP_MS
    dropout_ms: tuple[float, float] = USUAL_DROPOUT_MS
    transfer_ms: float = 0.0
    guided: bool = False
    slow_drop_s: tuple[float, float] | None = None
    rated_for_dc: tuple[str, ...] = ()

    @property
    def contacts(self) -> tuple[str, ...]:
        """All its contacts."""
        return self.normally_open + self.normally_closed


@dataclass(frozen=True)
class Load:
    """What a rung feeds: a drive board, a stepper's supply, a lamp."""

    name: str
    on: Rung
    moves: bool = False
    holds: bool = False


@dataclass(frozen=True)
class Motor:
    """A motor behind a drive: the rungs of its two directions, its brake, and how long it runs down."""

    name: str
    source: str
    forward: Rung
    reverse: Rung | None = None
    brake: Rung | None = None
    run_down_s: tuple[float, float] | None = None
    braked_s: tuple[float, float] | None = None


@dataclass(frozen=True)
class Rules:
    """Who plays which part: pairs of a switch and the position in which it does."""

    starts: frozenset[tuple[str, str]] = frozenset()
    stops: tuple[tuple[str, str], ...] = ()
    power: tuple[tuple[str, str], ...] = ()
    guard_open: tuple[tuple[str, str], ...] = ()
    guarded: tuple[str, ...] = ()
    selectors: tuple[str, ...] = ()
    no_load_switches: tuple[str, ...] = ()
    latch: str | None = None
    gap_ms: float = USUAL_GAP_MS
    timer_outlasts_braked: bool | None = None
    timer_outlasts_coast: bool | None = None


@dataclass(frozen=True)
class Panel:
    """A control box, read and found free of mistakes of writing."""

    switches: tuple[Switch, ...]
    contacts: tuple[Contact, ...]
    relays: tuple[Relay, ...]
    loads: tuple[Load, ...]
    motors: tuple[Motor, ...]
    rules: Rules
    speed_display: Mapping[str, Rung] = field(default_factory=dict)

    @property
    def rungs(self) -> tuple[Rung, ...]:
        """Every rung, whatever it feeds."""
        coils = [relay.coil for relay in self.relays]
        motors = [one for motor in self.motors for one in (motor.forward, motor.reverse, motor.brake) if one]
        return (*coils, *(load.on for load in self.loads), *motors, *self.speed_display.values())

    @property
    def switches_that_matter(self) -> tuple[Switch, ...]:
        """The switches that reach any rung or play a part in a rule; the others may rest."""
        used = frozenset().union(*(rung.names for rung in self.rungs))
        rules = self.rules
        parts = {name for name, _ in (*rules.stops, *rules.power, *rules.guard_open)} | set(rules.selectors)
        wired = {contact.switch for contact in self.contacts if contact.name in used}
        return tuple(switch for switch in self.switches if switch.name in wired | parts)
