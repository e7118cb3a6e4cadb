"""Marks: change feed and speed; see where every part of the machine would print them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.accuracy.marks import DriveElement, seen_spacing_mm
from machinelab.units import Field
from machinelab.workbook.figures.marks import MarkPlaces
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

# Marks nearer than this run into one band for a rule.
CLOSE_SHARE = 0.05

FEED = Field(
    name="Feed for one turn of the spindle",
    kind="length",
    low="0.01 mm",
    high="5 mm",
    example="0.1 mm",
    help="As the saddle really moves, or the lead of a thread.",
)
SPEED = Field(
    name="Spindle speed",
    kind="speed",
    low="10 rpm",
    high="5000 rpm",
    example="310 rpm",
    help="As the encoder tells it.",
)


@dataclass(frozen=True)
class MarkView:
    """Where the marks of every part would stand."""

    names: tuple[str, ...]
    seen_mm: np.ndarray
    feed_mm: float
    speed_rpm: float
    measured_mm: float | None = None
    lengths: ShopLengths = MILLIMETRES

    @property
    def alike(self) -> int:
        """How many parts mark so near to another that a rule cannot part them."""
        shown = np.sort(self.seen_mm[np.isfinite(self.seen_mm) & (self.seen_mm > 2 * self.feed_mm)])
        return int(np.sum(np.diff(np.log(shown)) < CLOSE_SHARE))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        shown = int(np.sum(np.isfinite(self.seen_mm) & (self.seen_mm > 2 * self.feed_mm)))
        pairs = f"{self.alike} of them hard to tell from a neighbour" if self.alike else "all apart"
        feed = self.lengths.short(self.feed_mm)
        return (
            f"At {feed} and {self.speed_rpm:.0f} rpm {shown} of {len(self.names)} parts would print bands "
            f"wider than two feeds, {pairs}."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        return "; ".join(
            f"{name} {self.lengths.short(seen)}"
            for name, seen in zip(self.names, self.seen_mm, strict=True)
            if np.isfinite(seen)
        )

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        return (
            "Change the feed: marks of the spindle's side move with it, marks of the leadscrew's side stay. "
            "Change the speed alone: only what keeps its own time moves. Marks left of the dotted line are "
            "finer than the feed."
        )


def view_marks(
    *,
    feed_mm: float,
    speed_rpm: float,
    elements: Sequence[DriveElement],
    screw_lead_mm: float,
    measured_mm=None,
    lengths: ShopLengths = MILLIMETRES,
) -> MarkView:
    """Work out where the marks of every part would be seen."""
    cut = {"feed_mm": feed_mm, "speed_rpm": speed_rpm, "screw_lead_mm": screw_lead_mm}
    seen = np.array([float(seen_spacing_mm(one, **cut)) for one in elements])
    return MarkView(tuple(one.name for one in elements), seen, feed_mm, speed_rpm, measured_mm, lengths)


def mark_panel(
    elements: Sequence[DriveElement],
    *,
    screw_lead_mm: float,
    feed_mm: float,
    speed_rpm: float,
    speeds_rpm,
    lengths: ShopLengths = MILLIMETRES,
) -> LivePanel:
    """Build the panel."""
    return LivePanel(
        controls={
            "feed_mm": Quantity(FEED, sweep=[round(0.02 + 0.01 * n, 2) for n in range(60)], start=feed_mm),
            "speed_rpm": Quantity(SPEED, sweep=speeds_rpm, start=speed_rpm),
        },
        compute=partial(view_marks, elements=elements, screw_lead_mm=screw_lead_mm, lengths=lengths),
        chart=MarkPlaces(),
        sentence=lambda view: view.sentence,
    )
