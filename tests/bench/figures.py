"""What a bench measures: one figure with what is wanted of it, and what a person would write instead."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field

import pandas as pd


@dataclass(frozen=True)
class Figure:
    """One measured figure.

    ``usual`` names what would be written without the library; ``usual_value`` is what that took in the same
    run, in the same unit. ``wanted`` says in words what the figure should be.
    """

    what: str
    value: float
    unit: str
    wanted: str = ""
    usual: str = ""
    usual_value: float | None = None

    @property
    def times(self) -> float | None:
        """How many times more the usual way takes."""
        return None if self.usual_value is None or not self.value else self.usual_value / self.value


@dataclass
class Figures:
    """The figures of one run, in the order in which they were measured."""

    rows: list[Figure] = field(default_factory=list)

    def add(self, what: str, value: float, unit: str, **more) -> Figure:
        """Keep one figure and give it back; what is measured a second time replaces what was."""
        figure = Figure(what, float(value), unit, **more)
        self.rows = [*(row for row in self.rows if row.what != what), figure]
        return figure

    def as_json(self) -> list[dict]:
        """The figures as plain data."""
        return [asdict(row) for row in self.rows]

    @staticmethod
    def from_json(rows: Iterable[dict]) -> tuple[Figure, ...]:
        """The figures of an earlier run."""
        return tuple(Figure(**row) for row in rows)


def as_table(rows: Iterable[Figure], before: Iterable[Figure] = ()) -> pd.DataFrame:
    """The figures as a table, each beside what it was in the run before."""
    earlier = {row.what: row for row in before}
    return pd.DataFrame(
        {
            "what": row.what,
            "measured": f"{row.value:.4g} {row.unit}",
            "wanted": row.wanted,
            "written instead": row.usual,
            "takes": "" if row.usual_value is None else f"{row.usual_value:.4g} {row.unit}",
            "times": "" if row.times is None else f"{row.times:.3g}",
            "run before": f"{earlier[row.what].value:.4g}" if row.what in earlier else "",
        }
        for row in rows
    )
