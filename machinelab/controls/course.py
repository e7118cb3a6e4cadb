"""What turns, what holds a charge and what was asked for, and how that goes on with each change.

Here the rules are held against each change. The wiring itself is followed by `machinelab.controls.wiring`.
"""

from collections.abc import Iterator
from math import ceil
from typing import NamedTuple

from machinelab.controls.events import (
    BY_ITSELF,
    EMPTY,
    GUARD_OPEN,
    GUARD_SHUT,
    MOVE,
    POWER_OFF,
    POWER_ON,
    SELECTED,
    STANDS,
    START,
    STOP_OUT,
    TICK,
    TIMER,
    Event,
)
from machinelab.controls.panel import Motor, Panel
from machinelab.controls.wiring import TICK_MS, Shown

__all__: list[str] = []

FORWARD, REVERSE, SHORT = 1, -1, 2


class Course(NamedTuple):
    """The course of things outside the wiring.

    ``asked`` holds the start switches whose wish is still open, as bits, ``fresh`` those of them that were
    moved since the box was last at rest. ``lapsed`` says that the guard was opened since: nothing behind it
    may then start on those wishes, until a start action renews them. ``ahead`` holds for each timer the
    motors before whose standstill it may end.
    """

    turning: tuple[int, ...]
    charged: int
    since_drive: tuple[int, ...]
    since_brake: tuple[int, ...]
    cause: int
    asked: int
    fresh: int
    lapsed: bool
    ahead: tuple[int, ...]
    hurry: bool


class Breach(NamedTuple):
    """A rule that a change has broken, and what it was about."""

    rule: str
    about: str


class Courses:
    """How the course of things goes on, for one panel.

    Parameters
    ----------
    panel : Panel
        What is wired.
    in_a_hurry : bool
        Whether the operator may act once more before the relays have settled.
    """

    def __init__(self, panel: Panel, *, in_a_hurry: bool = False):
        self.panel = panel
        self.in_a_hurry = in_a_hurry
        self.motors = range(len(panel.motors))
        loads = [load.name for load in panel.loads]
        self.source = [1 << loads.index(motor.source) for motor in panel.motors]
        self.holding = sum(1 << n for n, load in enumerate(panel.loads) if load.holds)
        self.moving_loads = [n for n, load in enumerate(panel.loads) if load.moves]
        self.gap = ceil(panel.rules.gap_ms / TICK_MS)
        self.timers = [relay for relay in panel.relays if relay.slow_drop_s]
        self.guarded = [n for n in self.motors if panel.motors[n].name in panel.rules.guarded]
        self.braked = [motor.brake is not None for motor in panel.motors]
        self._outlasts = [[self._pair(timer, motor) for motor in panel.motors] for timer in self.timers]
        self.not_stated: set[str] = set()
        self._owner = {c.name: ("switch", c.switch) for c in panel.contacts}
        self._owner |= {name: ("relay", relay.name) for relay in panel.relays for name in relay.contacts}
        self._rated = {c.name: c.breaks_dc for c in panel.contacts}
        self._rated |= {name: True for relay in panel.relays for name in relay.rated_for_dc}

    def at_rest(self) -> Course:
        """Everything stands and nothing was asked."""
        full = (self.gap,) * len(self.panel.motors)
        return Course(
            (0,) * len(full), 0, full, full, 0, 0, 0, False, (0,) * len(self.timers), self.in_a_hurry
        )

    def by_themselves(self, course: Course, shown: Shown) -> Iterator[Event]:
        """What may happen by itself at rest: a chuck stands still, a charge is gone, a timer ends."""
        driven = self.driven(course.charged, shown)
        for n in self.motors:
            if course.turning[n] and not driven[n]:
                yield Event(STANDS, n)
        for n in range(len(self.panel.loads)):
            if course.charged >> n & 1 and not shown.on >> n & 1:
                yield Event(EMPTY, n)
        running = (n for n in range(len(self.timers)) if shown.running_timers >> n & 1)
        for n in running:
            late = (m for m in self.motors if course.turning[m] and not course.ahead[n] >> m & 1)
            if not any(self._ends_after(n, m, shown) for m in late):
                yield Event(TIMER, n)

    def driven(self, charged: int, shown: Shown) -> list[int]:
        """For every motor which way its drive pushes it: forward, reverse, short or 0."""
        return [self._driven(n, shown.on | charged, shown) for n in self.motors]

    def _driven(self, motor: int, live: int, shown: Shown) -> int:
        if not live & self.source[motor]:
            return 0
        forward, reverse = shown.forward >> motor & 1, shown.reverse >> motor & 1
        return SHORT if forward and reverse else forward - reverse

    def _ends_after(self, timer: int, motor: int, shown: Shown) -> bool:
        outlasts_braked, outlasts_coast = self._outlasts[timer][motor]
        return outlasts_braked if shown.brake >> motor & 1 else outlasts_coast

    def _pair(self, timer, motor: Motor) -> tuple[bool, bool]:
        """Whether this timer certainly ends after the motor stands: with its brake on, and without."""
        shortest, rules = timer.slow_drop_s[0], self.panel.rules
        return (
            _certainly(shortest, motor.braked_s, rules.timer_outlasts_braked),
            _certainly(shortest, motor.run_down_s, rules.timer_outlasts_coast),
        )

    def go_on(
        self, course: Course, before: Shown, after: Shown, event: Event, cause: int, asks: tuple[int, int]
    ) -> tuple[Course, tuple[Breach, ...]]:
        """The course after a change of the wiring, and every rule that the change breaks.

        Parameters
        ----------
        course : Course
            Before the change.
        before, after : Shown
            What the wiring showed before and shows now.
        event : Event
            What happened.
        cause : int
            The kinds of cause of it, as bits; 0 for a tick.
        asks : tuple of int
            Bits of the start switches to be kept, and to be added, among those that ask for a start.
        """
        charged = (course.charged | (after.on & self.holding)) & ~(
            1 << event.part if event.kind == EMPTY else 0
        )
        was, now = self.driven(course.charged, before), self.driven(charged, after)
        turning = tuple(
            now[n] if now[n] in (FORWARD, REVERSE) else 0 if event == (STANDS, n, 0) else course.turning[n]
            for n in self.motors
        )
        ticks = int(event.kind == TICK)
        brake_was, brake_now = _each(before.brake, self.motors), _each(after.brake, self.motors)
        since_drive = self._since(course.since_drive, was, now, ticks)
        since_brake = self._since(course.since_brake, brake_was, brake_now, ticks)
        lapsed = (course.lapsed or bool(cause & GUARD_OPEN)) and not asks[1]
        cause = course.cause | cause
        asked, fresh = course.asked & asks[0] | asks[1], course.fresh & asks[0] | asks[1]
        came_on = [n for n in self.motors if now[n] and now[n] != was[n]]
        moved = [n for n in self.moving_loads if after.on >> n & 1 and not before.on >> n & 1]
        found = [
            *self._drive_against_brake(was, now, brake_was, brake_now, since_drive, since_brake),
            *self._directions(course, now, after),
            *self._selector(course, turning, was, brake_was, brake_now, cause, after),
            *self._direct_current(was, now, event, before),
        ]
        if came_on or moved:
            found += self._begun(came_on, moved, cause, asked, lapsed)
            asked = asked & ~fresh if cause & START else 0
        ahead = course.ahead
        if after.settled:
            found += self._settled(turning, now, brake_now, cause, after)
            ahead = self._ahead(ahead, turning, now, after)
            since_drive = since_brake = (self.gap,) * len(turning)
            cause = fresh = 0
            # A wish that nothing waits for has been refused; it is not granted later.
            asked = asked if after.running_timers else 0
        hurry = (
            self.in_a_hurry if after.settled else course.hurry and not (event.kind == MOVE and course.cause)
        )
        gone_on = Course(
            turning,
            charged,
            since_drive,
            since_brake,
            cause,
            asked,
            fresh,
            lapsed and asked > 0,
            ahead,
            hurry,
        )
        return gone_on, tuple(dict.fromkeys(found))

    def _begun(
        self, came_on: list[int], moved: list[int], cause: int, asked: int, lapsed: bool
    ) -> Iterator[Breach]:
        """The rules that a motion breaks that has just begun."""
        for n in came_on:
            wish = 0 if lapsed and n in self.guarded else asked
            yield from (Breach(rule, self.panel.motors[n].name) for rule in _unasked(cause, wish))
        for n in moved:
            yield from (Breach(rule, self.panel.loads[n].name) for rule in _unasked(cause, asked))

    def _since(self, ticks: tuple[int, ...], was, now, more: int) -> tuple[int, ...]:
        return tuple(0 if was[n] or now[n] else min(ticks[n] + more, self.gap) for n in self.motors)

    def _drive_against_brake(
        self, was, now, brake_was, brake_now, since_drive, since_brake
    ) -> Iterator[Breach]:
        for n in self.motors:
            name = self.panel.motors[n].name
            if now[n] and brake_now[n]:
                yield Breach("R1", name)
                continue
            brake_too_soon = brake_now[n] and not brake_was[n] and since_drive[n] < self.gap
            drive_too_soon = now[n] and not was[n] and since_brake[n] < self.gap
            if brake_too_soon or (drive_too_soon and self.braked[n]):
                yield Breach("R1b", name)

    def _directions(self, course: Course, now, after: Shown) -> Iterator[Breach]:
        for n in self.motors:
            if now[n] in (FORWARD, REVERSE) and course.turning[n] == -now[n]:
                yield Breach("R6", self.panel.motors[n].name)
            if after.forward & after.reverse & 1 << n:
                yield Breach("R6b", self.panel.motors[n].name)

    def _selector(self, course, turning, was, brake_was, brake_now, cause, after: Shown) -> Iterator[Breach]:
        if self.panel.speed_display:
            for n in self.motors:
                if turning[n] and not after.display >> n & 1:
                    yield Breach("R5c", self.panel.motors[n].name)
        if not cause & SELECTED:
            return
        for n in self.motors:
            if brake_was[n] and not brake_now[n] and course.turning[n] and not was[n]:
                yield Breach("R5b", self.panel.motors[n].name)

    def _direct_current(self, was, now, event: Event, before: Shown) -> Iterator[Breach]:
        """A contact in a motor's own rung that opens while the drive pushes."""
        lost = [n for n in self.motors if was[n] in (FORWARD, REVERSE) and now[n] != was[n]]
        if not lost or event.kind not in (MOVE, TICK):
            return
        if event.kind == MOVE:
            movers = {("switch", self.panel.switches[event.part].name)}
        else:
            movers = {
                ("relay", relay.name) for n, relay in enumerate(self.panel.relays) if event.part >> n & 1
            }
        for n in lost:
            motor = self.panel.motors[n]
            rung = motor.forward if was[n] == FORWARD else motor.reverse
            for name in sorted(rung.names):
                kind, owner = self._owner[name]
                if (kind, owner) not in movers or self._rated.get(name):
                    continue
                if self._rated.get(name) is False or owner in self.panel.rules.no_load_switches:
                    yield Breach("R11", name)
                else:
                    self.not_stated.add(name)

    def _settled(self, turning, now, brake_now, cause: int, after: Shown) -> Iterator[Breach]:
        for n in self.motors:
            name = self.panel.motors[n].name
            if after.stop and now[n]:
                yield Breach("R2", name)
            elif after.stop and turning[n] and self.braked[n] and not brake_now[n]:
                yield Breach("R2b", name)
            if after.guard_open and now[n] and n in self.guarded:
                yield Breach("R8", name)
        for n in self.moving_loads:
            if not after.on >> n & 1:
                continue
            name = self.panel.loads[n].name
            if after.stop:
                yield Breach("R2c", name)
            if after.stop or not after.powered or not after.latched:
                yield Breach("R9", name)
        if cause & POWER_OFF and cause & POWER_ON and any(now):
            yield Breach("N2", "")

    def _ahead(self, ahead: tuple[int, ...], turning, now, after: Shown) -> tuple[int, ...]:
        """Which timers may by now end before which motors stand, as bits by motor."""
        return tuple(
            sum(
                1 << m
                for m in self.motors
                if turning[m] and (ahead[t] >> m & 1 or now[m] or not self._ends_after(t, m, after))
            )
            if after.running_timers >> t & 1
            else 0
            for t in range(len(self.timers))
        )


def _each(bits: int, motors) -> list[int]:
    return [bits >> n & 1 for n in motors]


def _certainly(shortest_s: float, longest: tuple[float, float] | None, said: bool | None) -> bool:
    return shortest_s > longest[1] if longest else bool(said)


def _unasked(cause: int, asked: int) -> Iterator[str]:
    if cause & START:
        return
    if cause & BY_ITSELF and asked:
        yield "N1"
        return
    if cause & POWER_OFF and cause & POWER_ON:
        # A dip too short for the latch to fall; with a patient hand it cannot come about.
        yield "N2"
        return
    yield "R7"
    if cause & STOP_OUT:
        yield "R3"
    if cause & POWER_ON:
        yield "R4"
    if cause & SELECTED:
        yield "R5"
    if cause & GUARD_SHUT:
        yield "R8"
