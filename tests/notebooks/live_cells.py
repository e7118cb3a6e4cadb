"""What the live cells of a notebook show, without a kernel: each with all its widgets."""

import ast
from dataclasses import dataclass
from pathlib import Path

import nbformat
from ipywidgets import Widget

from machinelab.workbook.panels.machine_form import MachineForm

HOUSE = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted(path.stem for path in (HOUSE / "notebooks").glob("*.ipynb"))
OPENS = (".open()", ".beside(")


@dataclass(frozen=True)
class Shown:
    """What one live cell shows."""

    cell: str
    piece: object

    @property
    def widgets(self) -> list[Widget]:
        """Every widget, an outer one before those inside it."""
        return [] if self.outer is None else [*walk(self.outer)]

    @property
    def outer(self) -> Widget | None:
        """The widget that the cell shows; None where it only says something."""
        found = getattr(self.piece, "widget", self.piece)
        return found if isinstance(found, Widget) else None

    def row_of(self, inner: Widget) -> Widget:
        """The row that a control stands in: the smallest upright box around it."""
        around = [box for box in self.widgets if type(box).__name__ == "VBox" and inner in walk(box)]
        return min(around, key=lambda box: len([*walk(box)]))


def walk(widget: Widget):
    """A widget and all that stands in it."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


def shown_by(notebook: str) -> list[Shown]:
    """Open the pages of a notebook on the chosen machine and make what its live cells show."""
    cells = nbformat.read(HOUSE / "notebooks" / f"{notebook}.ipynb", 4).cells
    found, names = [], {}
    for cell in cells:
        live = "live" in cell.metadata.get("tags", ())
        if live or (cell.cell_type == "code" and any(sign in cell.source for sign in OPENS)):
            piece = _run(cell.source, names)
            found += [Shown(cell.source.splitlines()[-1], piece)] if live else []
    return [one for whole in found for one in _parts_of(whole)]


def _parts_of(shown: Shown) -> list[Shown]:
    """A form shows one part at a time; here each part counts as shown."""
    if not isinstance(shown.piece, MachineForm):
        return [shown]
    form = shown.piece
    parts = [Shown(f"{shown.cell}, {part}", form.open(part).widget) for part in form.boxes]
    return [shown, *parts]


def _run(source: str, names: dict):
    *before, last = ast.parse(source).body
    exec(compile(ast.Module(before, []), "cell", "exec"), names)
    if not isinstance(last, ast.Expr):
        return exec(compile(ast.Module([last], []), "cell", "exec"), names)
    return eval(compile(ast.Expression(last.value), "cell", "eval"), names)
