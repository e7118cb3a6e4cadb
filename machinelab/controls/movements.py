"""What a hand can do to the switches, and what each movement means."""

from machinelab.controls.events import (
    BREAKS,
    BY_ITSELF,
    FAULT,
    GUARD_OPEN,
    GUARD_SHUT,
    MOVE,
    OTHER,
    POWER_OFF,
    POWER_ON,
    SELECTED,
    START,
    STOP_IN,
    STOP_OUT,
    TICK,
    Event,
)
from machinelab.controls.panel import Panel

__all__: list[str] = []

ENDS_ASKING = STOP_IN | POWER_OFF | SELECTED
EVERYTHING = (1 << 16) - 1


class Movements:
    """Every movement of every switch that matters, with its kinds of cause.

    Parameters
    ----------
    panel : Panel
        What is wired.
    """

    def __init__(self, panel: Panel):
        self.panel = panel
        mattering = panel.switches_that_matter
        self._moves = [
            [
                [Event(MOVE, n, to) for to in switch.reachable(at)] if switch in mattering else []
                for at in range(len(switch.positions))
            ]
            for n, switch in enumerate(panel.switches)
        ]
        self._known: dict[tuple[int, ...], tuple[Event, ...]] = {}
        self._causes: dict[Event, tuple[int, tuple[int, int]]] = {}

    def of(self, switches: tuple[int, ...]) -> tuple[Event, ...]:
        """Every movement that can be made with the switches where they are."""
        known = self._known.get(switches)
        if known is None:
            moves = (self._moves[n][at] for n, at in enumerate(switches))
            known = self._known[switches] = tuple(event for some in moves for event in some)
        return known

    def cause(self, event: Event) -> tuple[int, tuple[int, int]]:
        """The kinds of cause of an event, and which switches go on asking and begin to ask for a start."""
        if event.kind != MOVE:
            return {TICK: 0, BREAKS: FAULT}.get(event.kind, BY_ITSELF), (EVERYTHING, 0)
        known = self._causes.get(event)
        if known is None:
            known = self._causes[event] = self._of_move(event)
        return known

    def _of_move(self, event: Event) -> tuple[int, tuple[int, int]]:
        switch, rules = self.panel.switches[event.part], self.panel.rules
        here = (switch.name, switch.positions[event.to])
        kinds = START if here in rules.starts else 0
        for parts, begins, ends in (
            (rules.stops, STOP_IN, STOP_OUT),
            (rules.power, POWER_ON, POWER_OFF),
            (rules.guard_open, GUARD_OPEN, GUARD_SHUT),
        ):
            if here in parts:
                kinds |= begins
            elif switch.name in {name for name, _ in parts}:
                kinds |= ends
        if switch.name in rules.selectors:
            kinds |= SELECTED
        springs_back = switch.springs_to == switch.positions[event.to]
        own = 1 << event.part
        kept = 0 if kinds & ENDS_ASKING else EVERYTHING if springs_back else EVERYTHING & ~own
        return kinds or OTHER, (kept, own if kinds & START else 0)
