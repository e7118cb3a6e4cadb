"""The tests of a control box with the plug out, made for the box that is described."""

from collections.abc import Iterator
from dataclasses import dataclass

from machinelab.controls.panel import Panel

NOT_DONE_YET, AS_IT_SHOULD, NOT_AS_IT_SHOULD = "not done", "as it should", "not as it should"
ANSWERS = (NOT_DONE_YET, AS_IT_SHOULD, NOT_AS_IT_SHOULD)


@dataclass(frozen=True)
class BenchTest:
    """One test with the plug out: its name, what to do, and what it rests on."""

    name: str
    words: str
    basis: str


def bench_tests(panel: Panel) -> tuple[BenchTest, ...]:
    """Every dead test that this box asks for, in the order in which to do them."""
    return tuple(_tests(panel))


def _tests(panel: Panel) -> Iterator[BenchTest]:
    stops = {name for name, _ in panel.rules.stops}
    guards = {name for name, _ in panel.rules.guard_open}
    for contact in panel.contacts:
        if contact.switch in stops:
            yield BenchTest(
                f"{contact.name} of {contact.switch}",
                f"Meter across {contact.name} alone, its wires off: closed with {contact.switch} in "
                f"{'/'.join(contact.closed)}, open in every other position. Work it ten times.",
                "ISO 13850, contacts open by direct action: excerpt read on a third-party page",
            )
    for name in sorted(stops):
        yield BenchTest(
            f"{name} latches",
            f"Press {name} slowly: it stays in as soon as its contacts have opened, not before, and comes "
            "out only by hand.",
            "ISO 13850: excerpt read on a third-party page",
        )
    for contact in panel.contacts:
        if contact.switch in guards:
            yield BenchTest(
                f"{contact.name} of {contact.switch}",
                f"Meter across {contact.name}: open before {contact.switch} is wide enough for a finger.",
                "common practice, no source",
            )
    for motor in panel.motors:
        if motor.brake:
            yield BenchTest(
                f"brake of {motor.name}",
                f"All relays released: the meter across the armature leads of {motor.name} (motor unplugged) "
                "shows the brake resistor, and does so with a wire of the relay's coil taken off.",
                "Design aim, derived here: a broken wire brakes",
            )
    for relay in panel.relays:
        if relay.normally_open and relay.normally_closed:
            yield BenchTest(
                f"{relay.name} changes over",
                f"Press the armature of {relay.name} in slowly: {_listed(relay.normally_closed)} open before "
                f"{_listed(relay.normally_open)} close, and the other way round on the way back.",
                "common practice, no source",
            )
    yield BenchTest(
        "power returns",
        "Set the direction and the feed to on, press every relay in and let it go once: after that no coil "
        "is fed again before the start was given.",
        "No-volt release, ISO 14118: excerpt read on a third-party page",
    )


def _listed(names: tuple[str, ...]) -> str:
    return " and ".join(names)


def verdict_word(answers: list[str], hazards: int, finished: bool) -> str:
    """What desk check and bench tests come to, as a word of the record."""
    if hazards or NOT_AS_IT_SHOULD in answers:
        return "NOT MET"
    if NOT_DONE_YET in answers or not answers:
        return "NOT DONE"
    return "MET" if finished else "NOT PROVEN"
