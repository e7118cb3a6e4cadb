"""Collars: change what they measure and where they stand; see skew, shim and what bending alone would do."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.accuracy.collars import axis_skew_mm_m, bending_taper_mm, foot_shim_mm, stiff_enough_bar_mm
from machinelab.units import Field
from machinelab.workbook.figures.collars import CollarBar
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

# A light finishing cut across the bar; common practice, no source.
FINISHING_N = 20.0
POINTS = 120

BAR = Field(
    name="Diameter of the test bar",
    kind="length",
    low="5 mm",
    high="100 mm",
    example="25 mm",
    help="Held by the chuck alone.",
)
DISTANCE = Field(
    name="Far collar from the chuck",
    kind="length",
    low="30 mm",
    high="500 mm",
    example="150 mm",
    help="The near collar stands close to the jaws.",
)
FORCE = Field(
    name="Force of the finishing cut",
    kind="force",
    low="0 N",
    high="300 N",
    example="20 N",
    help="Across the bar; a sharp tool and a fine cut keep it low.",
)


@dataclass(frozen=True)
class CollarView:
    """What a test bar shows of its own, beside the taper to be judged."""

    bar_mm: float
    distance_mm: float
    force_n: float
    allowed_mm: float
    distances_mm: np.ndarray
    bent_mm: np.ndarray
    allowed_along_mm: np.ndarray
    thinnest_mm: float
    skew_mm_m: float
    shim_mm: float
    lengths: ShopLengths

    @property
    def own_mm(self) -> float:
        """Taper by bending alone."""
        return float(np.interp(self.distance_mm, self.distances_mm, self.bent_mm))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        word = "is stiff enough" if self.bar_mm >= self.thinnest_mm else "bends too much"
        told, small = self.lengths.told, self.lengths.small.told
        return (
            f"A {told(self.bar_mm, 0)} bar {word}: it fakes {small(self.own_mm)} of the "
            f"{small(self.allowed_mm)} that you allow over {told(self.distance_mm, 0)}."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        return f"The thinnest bar that fakes no more than a quarter is {self._thinnest}."

    @property
    def _thinnest(self) -> str:
        return self.lengths.told(self.thinnest_mm, 0)

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        return (
            f"A taper of your limit over this length is a skew of {self.lengths.lean.told(self.skew_mm_m)}, "
            f"taken out by {self.lengths.told(self.shim_mm, 3)} at the headstock's feet. Below a bar of "
            f"{self._thinnest} you would be shimming away the bending of the bar."
        )


def view_collars(
    *,
    bar_mm: float,
    distance_mm: float,
    force_n: float,
    taper_share: float,
    foot_base_mm: float,
    lengths: ShopLengths = MILLIMETRES,
) -> CollarView:
    """Work out what the bar fakes at every place of the far collar."""
    distances = np.linspace(30.0, max(300.0, distance_mm), POINTS)
    allowed = taper_share * distance_mm
    return CollarView(
        bar_mm=bar_mm,
        distance_mm=distance_mm,
        force_n=force_n,
        allowed_mm=allowed,
        distances_mm=distances,
        bent_mm=bending_taper_mm(force_n, 0.0, distances, bar_mm),
        allowed_along_mm=taper_share * distances,
        thinnest_mm=float(stiff_enough_bar_mm(max(force_n, 1e-3), distance_mm, allowed)),
        skew_mm_m=float(axis_skew_mm_m(allowed, distance_mm)),
        shim_mm=float(foot_shim_mm(allowed, distance_mm, foot_base_mm)),
        lengths=lengths,
    )


def collar_panel(
    *,
    bar_mm: float,
    distance_mm: float,
    taper_share: float,
    foot_base_mm: float,
    lengths: ShopLengths = MILLIMETRES,
) -> LivePanel:
    """Build the panel."""
    return LivePanel(
        controls={
            "bar_mm": Quantity(BAR, sweep=range(10, 61), start=bar_mm),
            "distance_mm": Quantity(DISTANCE, sweep=range(50, 301, 5), start=distance_mm),
            "force_n": Quantity(FORCE, sweep=range(0, 101, 2), start=FINISHING_N),
        },
        compute=partial(view_collars, taper_share=taper_share, foot_base_mm=foot_base_mm, lengths=lengths),
        chart=CollarBar(),
        sentence=lambda view: view.sentence,
    )
