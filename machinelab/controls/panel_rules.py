"""Reading the part of the description that says what starts, stops, powers, guards and selects."""

from collections.abc import Mapping, Sequence

from machinelab.controls.panel import USUAL_GAP_MS, Motor, Relay, Rules, Switch
from machinelab.controls.panel_mistakes import Mistakes

__all__: list[str] = []

# What a switch is taken for when `rules` does not say it: the names that the trade gives such switches.
USUAL_NAMES = {
    "stop_devices": ("estop", "mushroom", "stop"),
    "power_switches": ("mains", "master", "plug"),
    "guards": ("guard",),
}
USUAL_SELECTORS = ("mode", "selector")
WORDS = (
    *(
        "start_actions",
        "stop_devices",
        "power_switches",
        "guards",
        "guarded",
        "selectors",
        "no_load_switches",
    ),
    *("latch", "gap_ms", "timer_outlasts_braked", "timer_outlasts_coast"),
)


def read_rules(
    mistakes: Mistakes,
    said: Mapping,
    switches: Sequence[Switch],
    relays: Sequence[Relay],
    motors: Sequence[Motor],
) -> Rules:
    """Read the table ``rules``.

    A part is written ``"switch:position"``. For a switch with two positions its name is enough: then it is
    the position in which it does not rest (mushroom in, power on, guard open).
    """
    mistakes.unknown("rules", said, WORDS)
    by_name = {switch.name: switch for switch in switches}
    parts = {
        word: _parts(mistakes, said, word, by_name, [name for name in usual if name in by_name])
        for word, usual in USUAL_NAMES.items()
    }
    motor_names = [motor.name for motor in motors]
    usual = {
        "selectors": tuple(name for name in USUAL_SELECTORS if name in by_name),
        "guarded": tuple(motor_names[:1]),
    }
    selectors = _names(mistakes, said, "selectors", by_name) if "selectors" in said else usual["selectors"]
    guarded = _names(mistakes, said, "guarded", motor_names) if "guarded" in said else usual["guarded"]
    return Rules(
        starts=frozenset(_parts(mistakes, said, "start_actions", by_name, ())),
        stops=parts["stop_devices"],
        power=parts["power_switches"],
        guard_open=parts["guards"],
        guarded=guarded if parts["guards"] else (),
        selectors=selectors,
        no_load_switches=_names(mistakes, said, "no_load_switches", by_name),
        latch=mistakes.one_of("rules", said, "latch", [relay.name for relay in relays], None),
        gap_ms=_gap(mistakes, said),
        timer_outlasts_braked=_maybe(mistakes, said, "timer_outlasts_braked"),
        timer_outlasts_coast=_maybe(mistakes, said, "timer_outlasts_coast"),
    )


def _gap(mistakes: Mistakes, said: Mapping) -> float:
    gap_ms = mistakes.number("rules", said, "gap_ms", most=100)
    return USUAL_GAP_MS if gap_ms is None else gap_ms


def _maybe(mistakes: Mistakes, said: Mapping, key: str) -> bool | None:
    return mistakes.flag("rules", said, key, False) if key in said else None


def _names(mistakes: Mistakes, said: Mapping, key: str, known) -> tuple[str, ...]:
    names = mistakes.texts("rules", said, key)
    for name in names:
        if name not in known:
            mistakes.not_one_of(f"rules.{key}", name, tuple(known), "name")
    return tuple(name for name in names if name in known)


def _parts(mistakes: Mistakes, said: Mapping, key: str, by_name: Mapping[str, Switch], usual) -> tuple:
    wanted = mistakes.texts("rules", said, key) if key in said else tuple(usual)
    found = (_part(mistakes, f"rules.{key}", text, by_name) for text in wanted)
    return tuple(part for part in found if part)


def _part(mistakes: Mistakes, place: str, text: str, by_name: Mapping[str, Switch]) -> tuple[str, str] | None:
    name, colon, position = text.rpartition(":") if ":" in text else (text, "", "")
    if name not in by_name:
        mistakes.not_one_of(place, name, tuple(by_name), "switch")
        return None
    switch = by_name[name]
    if not colon:
        others = [one for one in switch.positions if one != switch.rest]
        if len(others) == 1:
            return name, others[0]
        mistakes.add(place, f"{name} has {len(switch.positions)} positions; say which: {name}:{others[0]}.")
        return None
    if position not in switch.positions:
        mistakes.not_one_of(place, position, switch.positions, f"position of {name}")
        return None
    return name, position
