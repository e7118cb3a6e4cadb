"""A control box as a ladder: every rung with its contacts as they stand, and what it feeds.

A make contact is a blade that lies in the line when closed; a break contact carries a bar at its fixed end,
as in the trade's drawings. A closed contact is thick, an open one is lifted off the line.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from machinelab.controls.panel import Panel
from machinelab.controls.rung import Rung
from machinelab.workbook.figures.base import COMPUTED, MACHINE, QUIET, WIDTH_PX, Chart, Picture

INK = COMPUTED["color"]
FED = MACHINE["markerfacecolor"]
RAIL_X, CONTACTS_X, END_X, BOX_X, RIGHT_X = 16.0, 30.0, 640.0, 660.0, 784.0
WIDEST_CELL_PX, ROW_PX, BETWEEN_PX, TOP_PX, FOOT_PX = 66.0, 30.0, 10.0, 66.0, 14.0
BOX_HEIGHT_PX, LIFT_PX, BAR_PX = 20.0, 9.0, 7.0


@dataclass(frozen=True)
class Fed:
    """One rung as it stands: its name, the rung, whether what it feeds gets anything, and in which word."""

    name: str
    rung: Rung
    active: bool
    word: str


@dataclass(frozen=True)
class LadderView:
    """A whole ladder in one moment."""

    panel: Panel
    rungs: tuple[Fed, ...]
    closed: frozenset[str]
    headline: str
    details: str


@dataclass(frozen=True)
class _Cell:
    """Where a contact stands on the sheet."""

    name: str
    inverted: bool
    breaks: bool
    x: float
    y: float
    width: float


class Ladder(Chart):
    """The rungs of one panel, one below the other."""

    def __init__(self, panel: Panel):
        self.panel = panel
        self.height_px = round(TOP_PX + FOOT_PX + sum(_height(rung) for _, rung in named_rungs(panel)))
        super().__init__()

    @classmethod
    def draw(cls, result: LadderView) -> Picture:
        """Draw a finished picture of one moment."""
        chart = cls(result.panel)
        chart.update(result)
        return chart.picture()

    def lay_out(self) -> None:
        """Draw rails, wires and names once; blades and boxes follow what happens."""
        self.sheet = self.figure.add_axes([0, 0, 1, 1])
        self.sheet.set_xlim(0, WIDTH_PX)
        self.sheet.set_ylim(0, self.height_px)
        self.sheet.axis("off")
        self.breaking = {name for relay in self.panel.relays for name in relay.normally_closed}
        self.cells: list[_Cell] = []
        self.wires: list[list[tuple[float, float]]] = []
        self.boxes, self.states = [], []
        top = self.height_px - TOP_PX
        for name, rung in named_rungs(self.panel):
            self._draw_rung(name, rung, top)
            top -= _height(rung)
        rails = [[(x, top), (x, self.height_px - TOP_PX + 6)] for x in (RAIL_X, RIGHT_X)]
        self.sheet.add_collection(LineCollection(self.wires, colors=QUIET, linewidths=1.0))
        self.sheet.add_collection(LineCollection(rails, colors=INK, linewidths=2.0))
        self.blades = self.moves(LineCollection([], colors=INK, zorder=3))
        self.sheet.add_collection(self.blades)

    def update(self, result: LadderView) -> None:
        """Show a `LadderView`: the blades of its contacts and what its rungs feed."""
        closed = [(cell.name in result.closed) != cell.inverted for cell in self.cells]
        blades = [_blade(cell, shut) for cell, shut in zip(self.cells, closed, strict=True)]
        self.blades.set_segments(blades)
        self.blades.set_linewidths([3.0 if shut else 1.2 for shut in closed])
        for box, state, fed in zip(self.boxes, self.states, result.rungs, strict=True):
            box.set_facecolor(FED if fed.active else "white")
            box.set_linewidth(2.2 if fed.active else 1.0)
            state.set_text(f"{fed.name}: {fed.word}")
            state.set_weight("bold" if fed.active else "normal")
        self.say(result.headline, result.details)

    def _draw_rung(self, name: str, rung: Rung, top: float) -> None:
        tree = _without_not(rung.tree)
        columns = _width(tree)
        cell = min(WIDEST_CELL_PX, (END_X - CONTACTS_X) / columns)
        y = top - ROW_PX / 2 - BETWEEN_PX / 2
        end = CONTACTS_X + columns * cell
        self._place(tree, CONTACTS_X, y, cell, columns)
        self.wires += [[(RAIL_X, y), (CONTACTS_X, y)], [(end, y), (BOX_X, y)]]
        half = BOX_HEIGHT_PX / 2
        box = Rectangle((BOX_X, y - half), RIGHT_X - BOX_X - 8, BOX_HEIGHT_PX, edgecolor=INK, zorder=2)
        self.wires.append([(RIGHT_X - 8, y), (RIGHT_X, y)])
        self.sheet.add_patch(box)
        middle = (BOX_X + RIGHT_X - 8) / 2
        words = self.sheet.text(middle, y, "", size=7.5, ha="center", va="center", zorder=4)
        self.boxes.append(self.moves(box))
        self.states.append(self.moves(words))

    def _place(self, tree: tuple, x: float, y: float, cell: float, columns: int) -> None:
        """Put a part of a rung into so many columns, contacts first, the rest of the line a wire."""
        kind, *parts = tree
        if kind == "contact":
            self._contact(*parts, x, y, cell)
            self._wire(x + cell, x + columns * cell, y)
        elif kind == "and":
            for part in parts:
                self._place(part, x, y, cell, _width(part))
                x += _width(part) * cell
            self._wire(x, x + (columns - sum(map(_width, parts))) * cell, y)
        else:
            end = x + columns * cell
            last = y
            for part in parts:
                self._place(part, x, y, cell, columns)
                last, y = y, y - _rows(part) * ROW_PX
            first = last + sum(_rows(part) for part in parts[:-1]) * ROW_PX
            self.wires += [[(x, last), (x, first)], [(end, last), (end, first)]]

    def _contact(self, name: str, inverted: bool, x: float, y: float, cell: float) -> None:
        self.cells.append(_Cell(name, inverted, name in self.breaking or inverted, x, y, cell))
        gap = _gap(cell)
        self.wires += [[(x, y), (x + gap[0], y)], [(x + gap[1], y), (x + cell, y)]]
        if name in self.breaking or inverted:
            self.wires.append([(x + gap[1], y), (x + gap[1], y + BAR_PX)])
        said = f"not {name}" if inverted else name
        size = 7.5 if cell > 50 else 6.5
        self.sheet.text(x + cell / 2, y + LIFT_PX + 1, said, size=size, ha="center", va="bottom", color=INK)

    def _wire(self, start: float, end: float, y: float) -> None:
        if end > start:
            self.wires.append([(start, y), (end, y)])


def named_rungs(panel: Panel) -> Iterator[tuple[str, Rung]]:
    """Every rung with the name of what it feeds, in the order of the ladder."""
    for relay in panel.relays:
        yield relay.name, relay.coil
    for load in panel.loads:
        yield load.name, load.on
    for motor in panel.motors:
        for word, rung in (("fwd", motor.forward), ("rev", motor.reverse), ("brake", motor.brake)):
            if rung:
                yield f"{motor.name} {word}", rung


def _gap(cell: float) -> tuple[float, float]:
    return cell / 2 - 9, cell / 2 + 9


def _blade(cell: _Cell, shut: bool) -> list[tuple[float, float]]:
    start, end = _gap(cell.width)
    return [(cell.x + start, cell.y), (cell.x + end, cell.y if shut else cell.y + LIFT_PX)]


def _without_not(tree: tuple, inverted: bool = False) -> tuple:
    """Push every ``not`` down to the contacts, where it can be drawn."""
    kind, *parts = tree
    if kind == "name":
        return ("contact", parts[0], inverted)
    if kind == "not":
        return _without_not(parts[0], not inverted)
    turned = {"and": "or", "or": "and"}[kind] if inverted else kind
    return (turned, *(_without_not(part, inverted) for part in parts))


def _width(tree: tuple) -> int:
    kind, *parts = tree
    if kind == "contact":
        return 1
    return (sum if kind == "and" else max)(map(_width, parts))


def _rows(tree: tuple) -> int:
    kind, *parts = tree
    if kind == "contact":
        return 1
    return (max if kind == "and" else sum)(map(_rows, parts))


def _height(rung: Rung) -> float:
    return _rows(_without_not(rung.tree)) * ROW_PX + BETWEEN_PX
