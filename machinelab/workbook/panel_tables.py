"""A control box as tables: what is wired, every rule with its verdict, and what it does at rest."""

from collections.abc import Iterator

import pandas as pd

from machinelab.controls.explore import Findings
from machinelab.controls.panel import Panel, Relay
from machinelab.controls.rules import NOTES, RULES
from machinelab.controls.search import Search
from machinelab.controls.truth_table import truth_table

# How a rule stands, in the words of the page; "kept" alone would say more than a desk check can.
WORDS = {
    "kept": "no breach found",
    "broken": "BROKEN",
    "not finished": "not finished",
    "not asked": "not asked",
}


def wired_table(box: Panel) -> pd.DataFrame:
    """Every rung as it was read, beside what it feeds, with the times of the relays."""
    return pd.DataFrame(_rungs(box), columns=["feeds", "rung", ""]).set_index("feeds")


def _rungs(box: Panel) -> Iterator[tuple[str, str, str]]:
    for relay in box.relays:
        yield f"coil of {relay.name}", relay.coil.text, _times(relay)
    for load in box.loads:
        yield f"{load.name} ({'moves' if load.moves else 'supply'})", load.on.text, ""
    for motor in box.motors:
        yield f"{motor.name} forward", motor.forward.text, f"from {motor.source}"
        if motor.reverse:
            yield f"{motor.name} reverse", motor.reverse.text, f"from {motor.source}"
        if motor.brake:
            yield f"{motor.name} brake", motor.brake.text, ""


def _times(relay: Relay) -> str:
    low, high = relay.pickup_ms
    out_low, out_high = relay.dropout_ms
    slow = f", timer {relay.slow_drop_s[0]:g} s" if relay.slow_drop_s else ""
    return f"in {low:g}-{high:g} ms, out {out_low:g}-{out_high:g} ms{slow}"


def verdict_table(found: Findings) -> pd.DataFrame:
    """Every rule, whether a breach was found, how grave it would be, and what the rule rests on."""
    rows = [
        (rule.id, rule.words, _verdict(found, rule.id), rule.grade, rule.basis)
        for rule in RULES.values()
        if rule.id not in NOTES or rule.id in found.broken
    ]
    frame = pd.DataFrame(rows, columns=["rule", "in words", "found", "a breach is", "rests on"])
    return frame.set_index("rule")


def _verdict(found: Findings, rule: str) -> str:
    if rule in NOTES:
        return "happens"
    word = found.verdict(rule)
    return f"not asked: {found.not_asked[rule]}" if word == "not asked" else WORDS[word]


def rest_table(search: Search) -> pd.DataFrame:
    """What the box does when nothing moves any more."""
    table = truth_table(search)
    rows = [(*row.positions, row.relays, row.fed) for row in table.rows]
    return pd.DataFrame(rows, columns=[*table.switches, "relays in", "fed"]).set_index("relays in")
