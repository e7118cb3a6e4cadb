"""The search itself: breadth first through all states, each remembered with the state before it.

Only ticks pass within a layer; from one layer to the next something happens. So the way back from a state is
one of fewest happenings, and of fewest ticks among those.
"""

from collections.abc import Callable, Iterator

from machinelab.controls.course import Course, Courses
from machinelab.controls.events import BREAKS, TICK, TIMER, Event
from machinelab.controls.fault import Fault
from machinelab.controls.panel import Panel
from machinelab.controls.wiring import OPERATED, Shown, Wiring

__all__: list[str] = []

MOST_STATES = 1_500_000
TOLD_EVERY = 5_000
_SHIFT = 24
_COURSE = (1 << _SHIFT) - 1


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
        self._gone_on: dict[tuple, tuple[int, tuple]] = {}
        self._by_themselves: dict[tuple[int, int], tuple[Event, ...]] = {}

    def from_rest(self) -> "Search":
        """Search everything that can be reached from rest."""
        start = self._key(self.wiring.at_rest(), self._course(self.courses.at_rest()))
        self.before[start] = -1
        self._search([start])
        return self

    def from_states_of(self, whole: "Search") -> "Search":
        """Search on from every settled state of the sound box in which this search's fault can begin."""
        seeds: list[int] = []
        for key in whole.before:
            shown = whole.shown(key)
            if shown.settled and self.fault.can_happen(*whole.contacts_and_relays(key)):
                course = whole.course(key)
                number = self.wiring.number(whole.wiring.settled_again(key >> _SHIFT))
                self._from_outside(key, course, shown, number, seeds)
        self._search(seeds)
        self.finished = self.finished and whole.finished
        return self

    def shown(self, key: int) -> Shown:
        """What the wiring shows in a state."""
        return self.wiring.shows(key >> _SHIFT)

    def course(self, key: int) -> Course:
        """The course of things in a state."""
        return self._course_list[key & _COURSE]

    def standing(self, key: int):
        """Where switches and relays are in a state."""
        return self.wiring.standings[key >> _SHIFT]

    def contacts_and_relays(self, key: int) -> tuple[frozenset[str], frozenset[str]]:
        """The closed contacts and the relays that are in."""
        places = zip(self.panel.relays, self.standing(key).relays, strict=True)
        return self.wiring.closed(key >> _SHIFT), frozenset(r.name for r, at in places if at == OPERATED)

    def next_states(self, key: int) -> Iterator[tuple[Event, int]]:
        """Everything that may happen in a state, and the wiring's standing after it."""
        number, course = key >> _SHIFT, key & _COURSE
        settled = self.wiring.shows(number).settled
        yield from self.wiring.ticked(number)
        if settled:
            for event in self._alone(course, number):
                yield event, self._after(number, event)
        if settled or self._course_list[course].hurry:
            yield from self.wiring.moved(number)

    def _after(self, number: int, event: Event) -> int:
        if event.kind != TIMER:
            return number
        return self.wiring.timed_out(number, self.panel.relays.index(self.courses.timers[event.part]))

    def _alone(self, course: int, number: int) -> tuple[Event, ...]:
        key = (course, self.wiring.shown_number[number])
        known = self._by_themselves.get(key)
        if known is None:
            events = self.courses.by_themselves(self._course_list[course], self.wiring.shows(number))
            known = self._by_themselves[key] = tuple(events)
        return known

    def follow(self, key: int, event: Event, number: int) -> tuple[int, tuple]:
        """The state that an event leads to, and the rules that are broken on the way."""
        shown = self.wiring.shown_number
        memo = (key & _COURSE, shown[key >> _SHIFT], shown[number], event)
        known = self._gone_on.get(memo)
        if known is None:
            cause, asks = self.movements.cause(event)
            course, breaches = self.courses.go_on(
                self.course(key), self.shown(key), self.wiring.shows(number), event, cause, asks
            )
            known = self._gone_on[memo] = (self._course(course), breaches)
        return self._key(number, known[0]), known[1]

    def _search(self, layer: list[int]) -> None:
        while layer:
            following: list[int] = []
            for count, key in enumerate(layer):
                told = (
                    count % TOLD_EVERY or self.keep_on is None or self.keep_on(len(self.before)) is not False
                )
                if not told or len(self.before) >= self.most_states:
                    return
                for event, number in self.next_states(key):
                    self._reach(key, event, number, layer if event.kind == TICK else following)
            layer = following
        self.finished = True

    def _reach(self, key: int, event: Event, number: int, queue: list[int]) -> None:
        after, breaches = self.follow(key, event, number)
        for breach in breaches:
            self.broken.setdefault(breach, (key, after))
        if after not in self.before:
            self.before[after] = key
            queue.append(after)

    def _from_outside(self, key: int, course: Course, shown: Shown, number: int, queue: list[int]) -> None:
        """Enter a state of this search from a state of the sound box; remembered as a negative number."""
        event = Event(BREAKS)
        cause, asks = self.movements.cause(event)
        after_course, breaches = self.courses.go_on(
            course, shown, self.wiring.shows(number), event, cause, asks
        )
        after = self._key(number, self._course(after_course))
        for breach in breaches:
            self.broken.setdefault(breach, (-2 - key, after))
        if after not in self.before:
            self.before[after] = -2 - key
            queue.append(after)

    def _course(self, course: Course) -> int:
        number = self._course_numbers.setdefault(course, len(self._course_list))
        if number == len(self._course_list):
            self._course_list.append(course)
        return number

    @staticmethod
    def _key(number: int, course: int) -> int:
        return number << _SHIFT | course
