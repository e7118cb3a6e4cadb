"""Slender work: move the bar, its holding and the cut; move a tail behind the headstock."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.errors import RangeError
from machinelab.units import Field
from machinelab.work.bending import STEEL_N_MM2
from machinelab.work.holding import HOLDINGS
from machinelab.work.whip import BENT_SHARE, USUAL_SHARE, bow_growth, longest_tail_mm, tail_whip_rpm
from machinelab.workbook.figures.slender import BarError, TailWhip
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths
from machinelab.workbook.slender_work import BENDS_LIKE, Grip, SlenderWork, view_slender

SHORTEST_TAIL_MM, LONGEST_TAIL_MM = 50.0, 1000.0
POINTS = 200

DIAMETER = Field(
    name="Diameter of the bar",
    kind="length",
    low="1 mm",
    high="200 mm",
    example="16 mm",
    help="After the cut.",
)
LENGTH = Field(
    name="Length that stands free",
    kind="length",
    low="5 mm",
    high="3 m",
    example="180 mm",
    help="From the jaws to the end, or from centre to centre.",
)
STEADY = Field(
    name="Steady rest from the chuck",
    kind="length",
    low="1 mm",
    high="3 m",
    example="100 mm",
    help="Only where one stands in it.",
)
STEADY_STIFF = Field(
    name="Stiffness of the steady rest",
    kind="stiffness",
    low="100 N/mm",
    high="1000000 N/mm",
    example="20 N/um",
    help="Push the bar in it with a scale, dial beside the fingers: force over movement.",
)
DEPTH = Field(
    name="Depth of cut",
    kind="length",
    low="0.01 mm",
    high="10 mm",
    example="0.25 mm",
    help="Half of what comes off the diameter.",
)
FEED = Field(
    name="Feed for each turn",
    kind="feed",
    low="0.005 mm",
    high="2 mm",
    example="0.05 mm",
    help="How far the tool moves in one turn.",
)
FORCE = Field(
    name="Force across the work, if measured",
    kind="force",
    low="0 N",
    high="5000 N",
    example="30 N",
    help="0 N takes it from depth, feed and material, with all their doubt.",
)
ALLOWED = Field(
    name="Diameter may be too large by",
    kind="length",
    low="0.001 mm",
    high="2 mm",
    example="0.02 mm",
    help="What the fit or the drawing allows.",
)
TAIL = Field(
    name="Bar behind the headstock",
    kind="length",
    low="50 mm",
    high="1 m",
    example="400 mm",
    help="From the last place that holds it to its end.",
)
TAIL_SPEED = Field(
    name="Spindle speed",
    kind="speed",
    low="20 rpm",
    high="10000 rpm",
    example="400 rpm",
    help="At which the bar is to turn.",
)
TAIL_BAR = Field(
    name="Diameter of that bar",
    kind="length",
    low="1 mm",
    high="200 mm",
    example="12 mm",
    help="Of steel; aluminium whips at the same speed, brass at two thirds.",
)


@dataclass(frozen=True)
class TailView:
    """A bar that stands out behind the headstock."""

    tail_mm: float
    bar_mm: float
    speed_rpm: float
    bore_mm: float | None
    tails_mm: np.ndarray
    whips_rpm: np.ndarray
    straight_share: float = USUAL_SHARE
    bent_share: float = BENT_SHARE
    lengths: ShopLengths = MILLIMETRES

    @property
    def whip_rpm(self) -> float:
        """Where this tail whips."""
        return float(tail_whip_rpm(self.tail_mm, self.bar_mm))

    @property
    def share(self) -> float:
        """Speed over the speed at which it whips."""
        return self.speed_rpm / self.whip_rpm

    @property
    def longest_mm(self) -> float:
        """The longest tail at this speed, a straight bar."""
        return float(longest_tail_mm(self.speed_rpm, self.bar_mm, whip_share=USUAL_SHARE))

    @property
    def longest_bent_mm(self) -> float:
        """The longest tail at this speed, a bent bar."""
        return float(longest_tail_mm(self.speed_rpm, self.bar_mm, whip_share=BENT_SHARE))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        word = "too fast" if self.share > USUAL_SHARE else "slow enough only if straight"
        word = "slow enough" if self.share <= BENT_SHARE else word
        bar, tail = self.lengths.short(self.bar_mm), self.lengths.told(self.tail_mm, 0)
        return f"A {bar} bar {tail} out whips at {self.whip_rpm:.0f} rpm: {self.speed_rpm:.0f} rpm is {word}."

    @property
    def details(self) -> str:
        """What else the figure shows."""
        told = self.lengths.told
        return (
            f"At this speed a straight bar may stand out {told(self.longest_mm, 0)}, a bent one "
            f"{told(self.longest_bent_mm, 0)}."
        )

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        grows = "nothing but friction bounds its bow"
        if self.share < 1:
            grows = f"a bow that it has at rest grows {float(bow_growth(self.share)):.2f} times"
        fits = ""
        if self.bore_mm and self.bar_mm > self.bore_mm:
            fits = f" It does not go through the spindle's bore of {self.lengths.short(self.bore_mm)}."
        return (
            f"{self.details} At this speed {grows}. The figures hold for a bar that is clamped at the "
            "spindle's end; a loose one whips sooner. A tube or a guard round it is wanted in any case."
            f"{fits}"
        )


def view_tail(
    *,
    tail_mm: float,
    bar_mm: float,
    speed_rpm: float,
    bore_mm: float | None = None,
    lengths: ShopLengths = MILLIMETRES,
) -> TailView:
    """Work out where a tail whips."""
    if not tail_mm > 0:
        raise RangeError("The tail is no length at all; type how far the bar stands out.")
    tails = np.linspace(SHORTEST_TAIL_MM, LONGEST_TAIL_MM, POINTS)
    whips = tail_whip_rpm(tails, bar_mm, STEEL_N_MM2)
    return TailView(tail_mm, bar_mm, speed_rpm, bore_mm, tails, whips, lengths=lengths)


def slender_panel(work: SlenderWork, *, grip: Grip, top_rpm: float | None) -> LivePanel:
    """Build the panel of the bar, starting at a piece of work."""
    return LivePanel(
        controls={
            "holding": Choice("How it is held", {way: way for way in HOLDINGS}, chosen=work.holding),
            "material": Choice("Material", {name: name for name in BENDS_LIKE}, chosen=work.material),
            "diameter_mm": Quantity(DIAMETER, sweep=range(4, 61), start=work.diameter_mm),
            "length_mm": Quantity(LENGTH, sweep=range(20, 601, 10), start=work.length_mm),
            "steady_mm": Quantity(STEADY, sweep=range(10, 591, 10), start=work.steady_mm),
            "steady_n_mm": Quantity(
                STEADY_STIFF,
                sweep=[1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000],
                start=work.steady_n_mm,
            ),
            "depth_mm": Quantity(DEPTH, sweep=[0.05 * n for n in range(1, 41)], start=work.depth_mm),
            "feed_mm": Quantity(FEED, sweep=[0.01 * n for n in range(1, 31)], start=work.feed_mm),
            "typed_force_n": Quantity(FORCE, sweep=range(0, 301, 5), start=work.typed_force_n),
            "allowed_mm": Quantity(ALLOWED, sweep=[0.005 * n for n in range(1, 41)], start=work.allowed_mm),
        },
        compute=partial(view_slender, grip=grip, top_rpm=top_rpm, lengths=work.lengths),
        chart=BarError(),
        sentence=lambda view: view.sentence,
        lines=5,
    )


def tail_panel(
    *,
    bar_mm: float,
    speed_rpm: float,
    tail_mm: float,
    bore_mm: float | None,
    lengths: ShopLengths = MILLIMETRES,
) -> LivePanel:
    """Build the panel of the tail."""
    return LivePanel(
        controls={
            "tail_mm": Quantity(TAIL, sweep=range(50, 1001, 10), start=tail_mm),
            "bar_mm": Quantity(TAIL_BAR, sweep=range(3, 41), start=bar_mm),
            "speed_rpm": Quantity(TAIL_SPEED, sweep=range(100, 3001, 50), start=speed_rpm),
        },
        compute=partial(view_tail, bore_mm=bore_mm, lengths=lengths),
        chart=TailWhip(),
        sentence=lambda view: view.sentence,
    )
