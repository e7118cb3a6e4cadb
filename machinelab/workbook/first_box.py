"""A first description of a control box, made from a few answers; a start to write one's own wiring into."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

RELEASED_BRAKES = "a released relay brakes"
PULLED_IN_BRAKES = "a relay that pulls in brakes"
NO_BRAKE = "no brake"
BRAKES = (RELEASED_BRAKES, PULLED_IN_BRAKES, NO_BRAKE)
FEED_BEHIND_STOP = "behind the mushroom"
FEED_PAST_STOP = "straight on the main switch"
FEEDS = (FEED_BEHIND_STOP, FEED_PAST_STOP)
HEAD = """# A first description of the control box, made from answers. Change it until it says what is wired.
# A switch: its positions in order, the one in which it rests. A contact: its switch, where it is closed.
# A rung (coil, on, fwd, rev, brake): names of contacts, and, or, not, brackets. Relay times in milliseconds.
"""


@dataclass(frozen=True)
class Answers:
    """What the owner has said about the box."""

    start_button: bool = True
    guard_switch: bool = True
    mill_head: bool = True
    reverse: bool = True
    brake: str = RELEASED_BRAKES
    feed: str = FEED_BEHIND_STOP


def first_box(answers: Answers) -> str:
    """The text of a description for such a box."""
    parts = [HEAD, *_switches(answers), _contacts(answers), *_relays(answers), *_loads(answers)]
    return "\n".join([*parts, *_motors(answers), _rules(answers)])


def _table(name: str, lines: Mapping[str, str]) -> str:
    return "\n".join([f"[{name}]", *(f"{key} = {value}" for key, value in lines.items()), ""])


def _switches(answers: Answers) -> Iterator[str]:
    yield _table("switch.plug", {"pos": '["out", "in"]'})
    yield _table("switch.main", {"pos": '["off", "on"]'})
    yield _table("switch.mushroom", {"pos": '["out", "in"]', "latching": "true"})
    if answers.start_button:
        yield _table("switch.start", {"pos": '["up", "down"]', "momentary": '"up"'})
    ways = '["fwd", "off", "rev"]' if answers.reverse else '["off", "fwd"]'
    yield _table("switch.direction", {"pos": ways, "init": '"off"'})
    if answers.guard_switch:
        yield _table("switch.guard", {"pos": '["shut", "open"]'})
    if answers.mill_head:
        yield _table("switch.mode", {"pos": '["lathe", "mill"]'})
    yield _table("switch.feed", {"pos": '["off", "on"]'})


def _contacts(answers: Answers) -> str:
    wanted = {
        "PLUG": ("plug", "in", True),
        "S1": ("main", "on", True),
        "ES1": ("mushroom", "out", True),
        "ST": ("start", "down", answers.start_button),
        "D_F": ("direction", "fwd", True),
        "D_0": ("direction", "off", True),
        "D_R": ("direction", "rev", answers.reverse),
        "G1": ("guard", "shut", answers.guard_switch),
        "M_L": ("mode", "lathe", answers.mill_head),
        "M_M": ("mode", "mill", answers.mill_head),
        "F_0": ("feed", "off", True),
        "FEED": ("feed", "on", True),
    }
    lines = {
        name: f'{{of = "{switch}", closed = ["{closed}"]}}'
        for name, (switch, closed, there) in wanted.items()
        if there
    }
    return _table("contact", lines)


def _chain(answers: Answers) -> str:
    return "PLUG and S1 and ES1" + (" and G1" if answers.guard_switch else "")


def _supply(answers: Answers) -> str:
    return "KL_a" if answers.start_button else _chain(answers)


def _running(answers: Answers) -> str:
    return "(D_F or D_R)" if answers.reverse else "D_F"


def _relays(answers: Answers) -> Iterator[str]:
    if answers.start_button:
        latch = f"{_chain(answers)} and (KL_h or (ST and D_0 and F_0))"
        yield _table("relay.KL", {"coil": f'"{latch}"', "no": '["KL_h", "KL_a"]'})
    times = {"pickup_ms": "[10, 20]", "dropout_ms": "[10, 20]", "transfer_ms": "10"}
    if answers.brake == RELEASED_BRAKES:
        coil = f'"{_supply(answers)} and {_running(answers)}"'
        yield _table("relay.KB", {"coil": coil, "no": '["KB_d"]', "nc": '["KB_b"]', **times})
    elif answers.brake == PULLED_IN_BRAKES:
        yield _table(
            "relay.KB", {"coil": '"PLUG and S1 and D_0"', "no": '["KB_b"]', "nc": '["KB_d"]', **times}
        )


def _loads(answers: Answers) -> Iterator[str]:
    yield _table("load.drive", {"on": f'"{_supply(answers)}"', "holds_s": "4"})
    stopped = _supply(answers) if answers.feed == FEED_BEHIND_STOP else "PLUG and S1"
    yield _table("load.feed", {"on": f'"{stopped} and FEED"', "kind": '"motion"'})


def _motors(answers: Answers) -> Iterator[str]:
    first = "" if answers.brake == NO_BRAKE else "KB_d and "
    for motor, contact in (("lathe", "M_L"), ("mill", "M_M")):
        if motor == "mill" and not answers.mill_head:
            return
        last = f" and {contact}" if answers.mill_head else ""
        lines = {"source": '"drive"', "fwd": f'"{first}D_F{last}"'}
        if answers.reverse:
            lines["rev"] = f'"{first}D_R{last}"'
        if motor == "lathe" and answers.brake != NO_BRAKE:
            lines["brake"] = '"KB_b"'
        yield _table(f"motor.{motor}", lines)


def _rules(answers: Answers) -> str:
    starts = ["direction:fwd", "feed:on"]
    starts += ["direction:rev"] if answers.reverse else []
    starts += ["start:down"] if answers.start_button else []
    lines = {
        "start_actions": "[" + ", ".join(f'"{one}"' for one in starts) + "]",
        "stop_devices": '["mushroom:in"]',
        "power_switches": '["plug:in", "main:on"]',
    }
    lines |= {"guards": '["guard:open"]', "guarded": '["lathe"]'} if answers.guard_switch else {}
    lines |= {"selectors": '["mode"]'} if answers.mill_head else {}
    lines |= {"latch": '"KL"'} if answers.start_button else {}
    return _table("rules", lines)
