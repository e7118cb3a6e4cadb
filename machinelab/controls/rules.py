"""The rules that a control box is held against, what a breach means, and what each rule rests on."""

from collections.abc import Collection
from dataclasses import dataclass

from machinelab.controls.panel import Panel

__all__: list[str] = []

HAZARD, CAUTION, DEGRADED, NOTE = "HAZARD", "CAUTION", "DEGRADED", "NOTE"
EXCERPT = "excerpt read on a third-party page"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Rule:
    """One rule: its words, how grave a breach is, why it matters, what cures it, what it rests on."""

    id: str
    words: str
    grade: str
    broken: str
    why: str
    cure: str
    basis: str


RULES = {
    rule.id: rule
    for rule in (
        Rule(
            "R0",
            "After every action the relays come to rest.",
            HAZARD,
            "relays chatter and never come to rest",
            "A coil is fed over a contact that its own relay opens.",
            "Take that contact out of its own coil's rung, or give the relay a hold-in contact.",
            PRACTICE,
        ),
        Rule(
            "R1",
            "Drive and brake are never on one armature at once.",
            HAZARD,
            "the drive works against the brake resistor",
            "Nothing keeps the brake contact and the drive's contact apart: neither waits for the other.",
            "Put both on one changeover relay: the brake on its normally closed side, the drive opposite.",
            f"Circuit sense: {PRACTICE}",
        ),
        Rule(
            "R1b",
            "Between drive off and brake on, and the other way round, there is a gap for the arc to go out.",
            HAZARD,
            "drive and brake follow each other too closely",
            "An arc still bridges the opening contact when the other closes.",
            "Use a contactor whose contacts open well before the others close, or a relay that waits.",
            f"Arc time: {PRACTICE}",
        ),
        Rule(
            "R2",
            "Mushroom in: every motor is off its drive as soon as the relays have settled.",
            HAZARD,
            "a motor stays on its drive with the mushroom in",
            "The mushroom takes away the supply but leaves the motor on the drive, or does not reach it.",
            "Let the mushroom drop a contactor that opens the motor's own lead.",
            f"IEC 60204-1, 9.2.2, stop 0 or 1 for an emergency stop: {EXCERPT}",
        ),
        Rule(
            "R2t",
            "Mushroom in: every motor is off its drive within 0.2 s.",
            HAZARD,
            "a motor stays on its drive for more than 0.2 s after the mushroom",
            "A relay lets go too slowly: a plain diode across its coil makes that 5 to 10 times longer.",
            "Put a zener diode in series with the diode at the coil, then measure and type the new times.",
            "Under 0.2 s for contacts, common practice; one maker's glossary and data sheets of relays: "
            f"{EXCERPT}",
        ),
        Rule(
            "R2b",
            "Mushroom in: the brake is on the motor that turns.",
            DEGRADED,
            "the chuck runs on without its brake",
            "Something other than a released relay stands in the brake's way.",
            "Wire the brake over one normally closed contact, so that a relay without current brakes.",
            "Design aim, derived here",
        ),
        Rule(
            "R2c",
            "Mushroom in: the feed has no supply.",
            HAZARD,
            "the feed goes on with the mushroom in",
            "The feed's supply does not pass the stop chain.",
            "Take the feed's supply over a contact of the latch that the mushroom drops.",
            f"ISO 13850: {EXCERPT}",
        ),
        Rule(
            "R3",
            "Releasing the mushroom starts nothing.",
            HAZARD,
            "releasing the mushroom starts it",
            "Nothing has to be pressed again after the mushroom was in.",
            "Add a latch that needs a push on start, with the selector at off.",
            f"Directive 2006/42/EC, annex I, 1.2.4.3: {EXCERPT}",
        ),
        Rule(
            "R4",
            "Power that comes back, or the main switch, starts nothing.",
            HAZARD,
            "it starts by itself when power comes",
            "Nothing in the drive's rung drops out for good when power goes.",
            "Add a latch that needs a push on start, with the selector at off.",
            "No-volt release, 29 CFR 1910.213(b)(3) for woodworking, extended by a letter of 1999; "
            f"ISO 14118: {EXCERPT}",
        ),
        Rule(
            "R5",
            "Moving the lathe/mill selector starts nothing.",
            HAZARD,
            "the selector starts a motor",
            "The selector hands a live drive over to the other motor.",
            "Let moving the selector drop the latch.",
            f"IEC 60204-1, selecting a mode alone starts nothing: {EXCERPT}",
        ),
        Rule(
            "R5b",
            "Moving the lathe/mill selector takes no brake from a turning motor.",
            HAZARD,
            "the selector takes the brake from a turning motor",
            "The brake passes the selector.",
            "Wire the brake to its motor directly, past the selector.",
            f"Derived from the rule before: {PRACTICE}",
        ),
        Rule(
            "R5c",
            "The speed display never shows the other spindle while one turns.",
            CAUTION,
            "the display shows the spindle that stands",
            "The selector turns the display over although the other spindle still turns.",
            "Turn the display over with the relay that turns the motors over, not with the selector.",
            PRACTICE,
        ),
        Rule(
            "R6",
            "The opposite direction is refused, or waits until the motor stands still.",
            HAZARD,
            "a turning motor is driven the other way",
            "Nothing waits for standstill before the other direction is let through.",
            "Let a standstill timer, longer than the longest run-down, release the other direction.",
            f"Plugging current, screw-on chuck: {PRACTICE}",
        ),
        Rule(
            "R6b",
            "Forward and reverse are never closed together.",
            HAZARD,
            "forward and reverse are closed together: a short",
            "The two directions do not lock each other out.",
            "Put a normally closed contact of each direction's relay in the other's coil.",
            f"Circuit sense: {PRACTICE}",
        ),
        Rule(
            "R7",
            "Nothing that moves comes on without a start action.",
            HAZARD,
            "something moves that nobody asked for",
            "A contact lets the drive through although no start was given.",
            "Let every start pass the latch, and let the latch agree with the selector before it can be set.",
            f"ISO 14118: {EXCERPT}",
        ),
        Rule(
            "R8",
            "Guard open: no drive on the spindle behind it; closing the guard starts nothing.",
            HAZARD,
            "the spindle is driven with the guard open, or starts when it is shut",
            "The guard's contact does not stand in the latch.",
            "Put the guard's contact in the latch's coil.",
            "ISO 12100 and ISO 14120, from memory",
        ),
        Rule(
            "R9",
            "The feed cannot run with the power off, the mushroom in or the latch out.",
            HAZARD,
            "the feed runs although the power, the latch or the mushroom says no",
            "The feed's supply bypasses the latch.",
            "Take the feed's supply over a contact of the latch.",
            PRACTICE,
        ),
        Rule(
            "R9b",
            "The feed changes its direction only through off.",
            HAZARD,
            "the feed changes over without a stop",
            "The two directions of the feed lie beside each other on the switch.",
            "Use a switch with off between the two.",
            PRACTICE,
        ),
        Rule(
            "R11",
            "A contact that opens under direct current is rated for it.",
            CAUTION,
            "a contact breaks direct current that it is not rated for",
            "The contact stands in the motor's lead and opens while current flows.",
            "Let a rated contactor break first, or use a contact with a direct-current rating.",
            f"Relay and switch data sheets: {EXCERPT}",
        ),
        Rule(
            "N1",
            "Nothing starts by itself when a timer ends.",
            NOTE,
            "it starts by itself when the timer ends, as it was asked to before",
            "The start was given while the standstill timer still ran.",
            "Allowed. Know it: keep hands away until the timer has ended.",
            PRACTICE,
        ),
        Rule(
            "N2",
            "A short dip of the mains stops the machine.",
            NOTE,
            "a dip shorter than the latch's drop-out is ridden through",
            "The latch holds for longer than the dip lasts.",
            "Allowed: nothing had stopped, so nothing starts anew.",
            PRACTICE,
        ),
    )
}
NOTES = tuple(rule.id for rule in RULES.values() if rule.grade == NOTE)


def not_asked(panel: Panel, unrated: Collection[str]) -> dict[str, str]:
    """The rules that cannot be held against this box, each with the reason in words."""
    rules = panel.rules
    reasons = {}
    if not rules.stops:
        reasons |= dict.fromkeys(("R2", "R2t", "R2b", "R2c", "R3"), "no stop device is named under [rules]")
    elif not any(motor.brake for motor in panel.motors):
        reasons["R2b"] = "no motor has a brake"
    if not any(load.moves for load in panel.loads):
        reasons |= dict.fromkeys(("R2c", "R9"), "no load is of the kind motion")
    if not any(motor.brake for motor in panel.motors):
        reasons |= dict.fromkeys(("R1", "R1b"), "no motor has a brake")
    reasons["R9b"] = "a description has no direction of the feed: try it at the switch"
    if not rules.power:
        reasons["R4"] = "no power switch is named under [rules]"
    if not rules.selectors:
        reasons |= dict.fromkeys(("R5", "R5b"), "no lathe/mill selector is named under [rules]")
    if not panel.speed_display:
        reasons["R5c"] = "no [sensor.rpm] says which contact routes the speed display"
    if not rules.guard_open:
        reasons["R8"] = "no guard switch is named under [rules]"
    if not any(motor.reverse for motor in panel.motors):
        reasons |= dict.fromkeys(("R6", "R6b"), "no motor has a reverse")
    if unrated:
        names = ", ".join(sorted(unrated))
        reasons["R11"] = f"no direct-current rating is typed for {names}, which open while current flows"
    return reasons
