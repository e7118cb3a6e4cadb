"""What the box does at rest as a table: each thing it does, with the switch positions in which it does it."""

from dataclasses import dataclass
from itertools import product

from machinelab.controls.panel import Panel
from machinelab.controls.search import Search
from machinelab.controls.wiring import OPERATED

__all__: list[str] = []

MOST_ROWS = 40
Standings = set[tuple[int, ...]]
Places = tuple[frozenset[int], ...]


@dataclass(frozen=True)
class TableRow:
    """One row: the position of each switch (``-`` where any will do), the relays that are in, what is fed."""

    positions: tuple[str, ...]
    relays: str
    fed: str


@dataclass(frozen=True)
class TruthTable:
    """The settled standings of a box, with the rows that did not fit left out and counted."""

    switches: tuple[str, ...]
    rows: tuple[TableRow, ...]
    left_out: int


def truth_table(search: Search, most_rows: int = MOST_ROWS) -> TruthTable:
    """Every settled standing that a search has met, rows that differ in nothing that matters put together."""
    panel = search.panel
    resting = {n for n, switch in enumerate(panel.switches) if switch not in panel.switches_that_matter}
    everywhere = [frozenset(range(len(switch.positions))) for switch in panel.switches]
    groups: dict[tuple[str, str], Standings] = {}
    numbers = {search.number(key) for key in search.before}
    for number in numbers:
        shown, standing = search.wiring.shows(number), search.wiring.standings[number]
        if shown.settled:
            does = (_relays(panel, standing.relays), _fed(panel, shown))
            groups.setdefault(does, set()).add(standing.switches)
    rows = [
        TableRow(_named(panel, places, resting), *does)
        for does, standings in sorted(groups.items(), key=lambda group: (len(group[0][0]), group[0]))
        for places in _put_together(standings, everywhere)
    ]
    return TruthTable(
        switches=tuple(switch.name for switch in panel.switches),
        rows=tuple(rows[:most_rows]),
        left_out=max(len(rows) - most_rows, 0),
    )


def _put_together(standings: Standings, everywhere: list[frozenset[int]]) -> list[Places]:
    """Rows that cover the standings and nothing else, the widest first."""
    widest = {_widened(one, standings, everywhere) for one in standings}
    rows, left = [], set(standings)
    while left:
        row = max(
            widest, key=lambda places: (len(left & set(product(*places))), [sorted(at) for at in places])
        )
        rows.append(row)
        left -= set(product(*row))
    return rows


def _widened(standing: tuple[int, ...], standings: Standings, everywhere: list[frozenset[int]]) -> Places:
    """A standing with every switch set free whose positions all do the same."""
    places = [frozenset((at,)) for at in standing]
    for switch, anywhere in enumerate(everywhere):
        if all(one in standings for one in product(*places[:switch], anywhere, *places[switch + 1 :])):
            places[switch] = anywhere
    return tuple(places)


def _named(panel: Panel, places: Places, resting: set[int]) -> tuple[str, ...]:
    return tuple(
        "-"
        if n in resting or len(at) == len(switch.positions)
        else "/".join(switch.positions[one] for one in sorted(at))
        for n, (switch, at) in enumerate(zip(panel.switches, places, strict=True))
    )


def _relays(panel: Panel, phases: tuple[int, ...]) -> str:
    return (
        " ".join(relay.name for relay, at in zip(panel.relays, phases, strict=True) if at == OPERATED) or "-"
    )


def _fed(panel: Panel, shown) -> str:
    said = [load.name for n, load in enumerate(panel.loads) if shown.on >> n & 1]
    for n, motor in enumerate(panel.motors):
        ways = [
            word for word, bits in (("forward", shown.forward), ("reverse", shown.reverse)) if bits >> n & 1
        ]
        said += [f"{motor.name} path {' and '.join(ways)}"] if ways else []
        said += [f"{motor.name} brake"] if shown.brake >> n & 1 else []
    return ", ".join(said) or "-"
