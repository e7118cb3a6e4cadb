"""The search itself: breadth first through all states, each remembered with the state before it.

Only ticks pass within a layer; from one layer to the next something happens. So the way back from a state is
one of fewest happenings, and of fewest ticks among those.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from machinelab.controls.course import Breach, Course, Courses
from machinelab.controls.events import BREAKS, STOP_IN, STOP_OUT, TIMER, Event
from machinelab.controls.fault import Fault
from machinelab.controls.panel import Panel
from machinelab.controls.wiring import OPERATED, Shown, Standing, Step, Wiring

__all__: list[str] = []

MOST_STATES = 1_500_000
# Standings of the wiring weigh far more than states; a box with many free switches meets them all.
MOST_STANDINGS = 150_000
TOLD_EVERY = 1_000
_SHIFT = 24
_COURSE = (1 << _SHIFT) - 1


class _Outlook(NamedTuple):
    """What may happen in one course of things while the wiring shows one picture, and what has come of it."""

    course: Course
    shown: Shown
    by_themselves: tuple[Event, ...]
    hand_is_free: bool
    after: dict[int, tuple[int, tuple[Breach, ...]]]


class Search:
    """One search through the states of a panel.

    Parameters
    ----------
    panel : Panel
        What is wired.
    fault : Fault, optional
        A fault that is there from the beginning of this search.
    in_a_hurry : bool
        Whether the operator may act once more before the relays have settled.
    most_states : int
        Where the search gives up.
    keep_on : callable, optional
        Is told the number of states now and then; the search stops when it answers False.
    """

    def __init__(
        self,
        panel: Panel,
        *,
        fault: Fault | None = None,
        in_a_hurry: bool = False,
        most_states: int = MOST_STATES,
        keep_on: Callable[[int], bool] | None = None,
    ):
        self.panel, self.fault = panel, fault
        self.most_states, self.keep_on = most_states, keep_on
        self.wiring = Wiring(panel, fault)
        self.courses = Courses(panel, in_a_hurry=in_a_hurry)
        self.movements = self.wiring.movements
        self.before: dict[int, int] = {}
        self.broken: dict[tuple[str, str], tuple[int, int]] = {}
        self.finished = False
        self._course_numbers: dict[Course, int] = {}
        self._course_list: list[Course] = []
        self._outlooks: dict[int, _Outlook] = {}

    def from_rest(self) -> "Search":
        """Search everything that can be reached from rest."""
        start = self._key(self.wiring.at_rest(), self._course(self.courses.at_rest()))
        self.before[start] = -1
        self._search([start])
        return self

    def from_states_of(self, whole: "Search") -> "Search":
        """Search on from every settled state of the sound box in which this search's fault can begin."""
        seeds: list[int] = []
        entries: dict[int, int | None] = {}
        known: dict[tuple[int, int, int], tuple[int, tuple[Breach, ...]]] = {}
        for key in whole.before:
            at = key >> _SHIFT
            if at not in entries:
                entries[at] = self._entry(whole, key)
            number = entries[at]
            if number is None:
                continue
            mark = (key & _COURSE, whole.wiring.shown_number[at], self.wiring.shown_number[number])
            if mark not in known:
                known[mark] = self._begin_fault(whole, key, number)
            course, breaches = known[mark]
            after = self._key(number, course)
            for breach in breaches:
                self.broken.setdefault(breach, (-2 - key, after))
            if after not in self.before:
                # A state of the sound box stands as a negative number.
                self.before[after] = -2 - key
                seeds.append(after)
        self._search(seeds)
        self.finished = self.finished and whole.finished
        return self

    def _entry(self, whole: "Search", key: int) -> int | None:
        """The standing with which the fault begins in a state of the sound box; None where it cannot."""
        if not whole.shown(key).settled or not self.fault.can_happen(*whole.contacts_and_relays(key)):
            return None
        return self.wiring.number(whole.wiring.settled_again(key >> _SHIFT))

    def _begin_fault(self, whole: "Search", key: int, number: int) -> tuple[int, tuple[Breach, ...]]:
        event = Event(BREAKS)
        cause, asks = self.movements.cause(event)
        course, breaches = self.courses.go_on(
            whole.course(key), whole.shown(key), self.wiring.shows(number), event, cause, asks
        )
        return self._course(course), breaches

    @staticmethod
    def number(key: int) -> int:
        """The number of the wiring's standing in a state."""
        return key >> _SHIFT

    def shown(self, key: int) -> Shown:
        """What the wiring shows in a state."""
        return self.wiring.shows(key >> _SHIFT)

    def course(self, key: int) -> Course:
        """The course of things in a state."""
        return self._course_list[key & _COURSE]

    def standing(self, key: int) -> Standing:
        """Where switches and relays are in a state."""
        return self.wiring.standings[key >> _SHIFT]

    def contacts_and_relays(self, key: int) -> tuple[frozenset[str], frozenset[str]]:
        """The closed contacts and the relays that are in."""
        places = zip(self.panel.relays, self.standing(key).relays, strict=True)
        return self.wiring.closed(key >> _SHIFT), frozenset(r.name for r, at in places if at == OPERATED)

    def next_states(self, key: int) -> Iterator[tuple[Event, int, tuple[Breach, ...]]]:
        """Everything that may happen in a state, the state after it, and the rules broken on the way."""
        outlook = self._outlook(key)
        for steps in self._steps(key, outlook):
            for step in steps:
                course, breaches = outlook.after.get(step.mark) or self._go_on(outlook, step)
                yield step.event, step.number << _SHIFT | course, breaches

    def _steps(self, key: int, outlook: "_Outlook") -> tuple[tuple[Step, ...], ...]:
        """The ticks that may follow, what may happen by itself, and what a hand may do."""
        number, wiring = key >> _SHIFT, self.wiring
        alone = [wiring.step(event, self._after(number, event)) for event in outlook.by_themselves]
        by_hand = wiring.moved(number) if outlook.hand_is_free else ()
        if outlook.course.cause & STOP_IN:
            # A latching mushroom stays in for a tenth of a second at least, longer than any relay takes.
            by_hand = [step for step in by_hand if not self.movements.cause(step.event)[0] & STOP_OUT]
        return wiring.ticked(number), alone, by_hand

    def _after(self, number: int, event: Event) -> int:
        if event.kind != TIMER:
            return number
        return self.wiring.timed_out(number, self.panel.relays.index(self.courses.timers[event.part]))

    def _outlook(self, key: int) -> "_Outlook":
        number, course_number = key >> _SHIFT, key & _COURSE
        mark = course_number << 32 | self.wiring.shown_number[number]
        known = self._outlooks.get(mark)
        if known is None:
            course, shown = self._course_list[course_number], self.wiring.shows(number)
            events = tuple(self.courses.by_themselves(course, shown)) if shown.settled else ()
            known = self._outlooks[mark] = _Outlook(course, shown, events, shown.settled or course.hurry, {})
        return known

    def _go_on(self, outlook: "_Outlook", step: Step) -> tuple[int, tuple[Breach, ...]]:
        cause, asks = self.movements.cause(step.event)
        course, breaches = self.courses.go_on(
            outlook.course, outlook.shown, self.wiring.shows(step.number), step.event, cause, asks
        )
        gone_on = outlook.after[step.mark] = (self._course(course), breaches)
        return gone_on

    def _search(self, layer: list[int]) -> None:
        while layer:
            following: list[int] = []
            for count, key in enumerate(layer):
                if count % TOLD_EVERY == 0 and not self._may_go_on():
                    return
                self._expand(key, layer, following)
            layer = following
        self.finished = True

    def _may_go_on(self) -> bool:
        met = len(self.before)
        if met >= self.most_states or len(self.wiring.standings) >= MOST_STANDINGS:
            return False
        return self.keep_on is None or self.keep_on(met) is not False

    def _expand(self, key: int, layer: list[int], following: list[int]) -> None:
        outlook, before = self._outlook(key), self.before
        queues = (layer, following, following)
        for steps, queue in zip(self._steps(key, outlook), queues, strict=True):
            for event, number, mark in steps:
                # Nearly every time the answer is known; this line decides how long a search takes.
                course, breaches = outlook.after.get(mark) or self._go_on(outlook, Step(event, number, mark))
                after = number << _SHIFT | course
                for breach in breaches:
                    self.broken.setdefault(breach, (key, after))
                if after not in before:
                    before[after] = key
                    queue.append(after)

    def _course(self, course: Course) -> int:
        number = self._course_numbers.setdefault(course, len(self._course_list))
        if number == len(self._course_list):
            self._course_list.append(course)
        return number

    @staticmethod
    def _key(number: int, course: int) -> int:
        return number << _SHIFT | course
