"""Whether the relays come to rest, how long a motor may stay on its drive, and what can still be started."""

from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from machinelab.controls.wiring import TICK_MS, Shown, Wiring

__all__: list[str] = []

# Time within which a motor is off its drive; common practice, and one maker's glossary (excerpt read on a
# third-party page) gives less than 200 ms for stop category 0.
LONGEST_STOP_S = 0.2


class Settling(NamedTuple):
    """Standings that never come to rest, those with a motor off its drive too late, and the time."""

    chattering: frozenset[int]
    too_late: frozenset[int]
    slowest_stop_s: float


def settling(wiring: Wiring) -> Settling:
    """How the standings that a search has met come to rest."""
    met = range(len(wiring.standings))
    after = {number: [step.number for step in wiring.ticked(number) if step.number in met] for number in met}
    entered = dict.fromkeys(after, 0)
    for numbers in after.values():
        for number in numbers:
            entered[number] += 1
    ticks = dict.fromkeys(after, 0)
    ready = deque(number for number in after if not entered[number])
    in_order = []
    while ready:
        number = ready.popleft()
        in_order.append(number)
        for one in after[number]:
            ticks[one] = max(ticks[one], ticks[number] + 1)
            entered[one] -= 1
            if not entered[one]:
                ready.append(one)
    still_on = {n: (ticks[n] + 1) * TICK_MS / 1000 for n in in_order if _drives_on(wiring, wiring.shows(n))}
    return Settling(
        chattering=_in_a_circle(after, frozenset(after) - frozenset(in_order)),
        too_late=frozenset(n for n, latest_s in still_on.items() if latest_s > LONGEST_STOP_S),
        slowest_stop_s=max(still_on.values(), default=0.0),
    )


def _in_a_circle(after: dict[int, list[int]], left: frozenset[int]) -> frozenset[int]:
    """Those of the standings left over that lead back into a circle, without those behind a circle."""
    left = set(left)
    while dead_ends := {number for number in left if not any(one in left for one in after[number])}:
        left -= dead_ends
    return frozenset(left)


def _drives_on(wiring: Wiring, shown: Shown) -> bool:
    """Whether a motor may still be on its drive although the mushroom is in and the relays still move."""
    if not shown.stop or shown.settled:
        return False
    loads = [load.name for load in wiring.panel.loads]
    for n, motor in enumerate(wiring.panel.motors):
        source = loads.index(motor.source)
        live = shown.on >> source & 1 or wiring.panel.loads[source].holds
        if live and (shown.forward | shown.reverse) >> n & 1:
            return True
    return False


def can_start(wiring: Wiring, first: Iterable[int]) -> bool:
    """Whether from these standings any action can put a motor on its drive or start a feed."""
    met = set(first)
    waiting = deque(met)
    while waiting:
        number = waiting.popleft()
        shown = wiring.shows(number)
        if _moves_something(wiring, shown):
            return True
        timed = [wiring.timed_out(number, relay) for relay in wiring.running_timers(number) if shown.settled]
        hand = [step.number for step in wiring.moved(number)] if shown.settled else []
        for one in (*(step.number for step in wiring.ticked(number)), *timed, *hand):
            if one not in met:
                met.add(one)
                waiting.append(one)
    return False


def _moves_something(wiring: Wiring, shown: Shown) -> bool:
    loads = [load.name for load in wiring.panel.loads]
    driven = any(
        shown.on >> loads.index(motor.source) & 1 and (shown.forward | shown.reverse) >> n & 1
        for n, motor in enumerate(wiring.panel.motors)
    )
    return driven or any(load.moves and shown.on >> n & 1 for n, load in enumerate(wiring.panel.loads))
