"""What may happen to a control box, and the kinds of cause by which a start is judged."""

from typing import NamedTuple

__all__: list[str] = []

# Kinds of cause, as bits: everything that has happened since the box was last at rest.
(START, STOP_IN, STOP_OUT, POWER_ON, POWER_OFF, GUARD_OPEN, GUARD_SHUT, SELECTED, OTHER, BY_ITSELF, FAULT) = (
    1 << n for n in range(11)
)


class Event(NamedTuple):
    """What may happen next, by its kind; the part of a tick is the relays that move, as bits."""

    kind: str
    part: int = 0
    to: int = 0


TICK, MOVE, STANDS, EMPTY, TIMER, BREAKS = "tick", "move", "stands", "empty", "timer", "breaks"
