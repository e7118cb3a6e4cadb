"""The way to a broken rule, read back from a search."""

from dataclasses import dataclass

from machinelab.controls.course import Course
from machinelab.controls.events import BREAKS, Event
from machinelab.controls.search import Search
from machinelab.controls.settling import Settling
from machinelab.controls.wiring import Shown, Standing

__all__: list[str] = []


@dataclass(frozen=True)
class Moment:
    """One state on the way: what has led to it, and how things stand in it."""

    event: Event | None
    standing: Standing
    shown: Shown
    course: Course
    driven: tuple[int, ...]


@dataclass(frozen=True)
class Broken:
    """A broken rule: what it was about, and the shortest way from rest to it."""

    rule: str
    about: str
    way: tuple[Moment, ...]


def broken_rules(search: Search, whole: Search, comes_to_rest: Settling) -> dict[str, Broken]:
    """Every broken rule once, with the way that the search met first."""
    found: dict[str, Broken] = {}
    for (rule, about), (before, after) in search.broken.items():
        if rule not in found:
            found[rule] = Broken(rule, about, way_to(search, whole, before, after))
    for rule, numbers in (("R0", comes_to_rest.chattering), ("R2t", comes_to_rest.too_late)):
        key = next((key for key in search.before if search.number(key) in numbers), None) if numbers else None
        if key is not None and rule not in found:
            found[rule] = Broken(rule, "", way_to(search, whole, search.before[key], key))
    return found


def way_to(search: Search, whole: Search, before: int, after: int) -> tuple[Moment, ...]:
    """Every state from rest to ``before`` and on to ``after``; negative states belong to the sound box."""
    keys = [after]
    at = before
    while at >= 0:
        keys.append(at)
        at = search.before[at]
    sound = []
    if at < -1:
        sound_key = -2 - at
        while sound_key != -1:
            sound.append(sound_key)
            sound_key = whole.before[sound_key]
    way = _moments(whole, sound[::-1])
    if not way:
        return tuple(_moments(search, keys[::-1]))
    return (*way, *_moments(search, keys[::-1], Event(BREAKS)))


def _moments(search: Search, keys: list[int], first: Event | None = None) -> list[Moment]:
    moments = []
    for n, key in enumerate(keys):
        event = _between(search, keys[n - 1], key) if n else first
        course, shown = search.course(key), search.shown(key)
        driven = tuple(search.courses.driven(course.charged, shown))
        moments.append(Moment(event, search.standing(key), shown, course, driven))
    return moments


def _between(search: Search, before: int, after: int) -> Event:
    return next(event for event, state, _ in search.next_states(before) if state == after)
