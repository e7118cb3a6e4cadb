"""A thread under the tool: change its tip, the first cut or the finest; see each cut in the groove."""

from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.threads.infeed import minor_diameter_mm, thread_depth_mm
from machinelab.threads.infeed_schedule import InfeedSchedule, infeed_schedule, passes_for_first_cut
from machinelab.units import Field
from machinelab.workbook.figures.infeed import InfeedCuts
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shop_lengths import ShopLengths
from machinelab.workbook.thread_plan import SPRING_PASSES, ThreadPlan

OUTLINE_POINTS = 24
FIRST_CUTS_MM = tuple(np.round(np.arange(0.1, 0.62, 0.02), 2).tolist())
LAST_CUTS_MM = tuple(np.round(np.arange(0.0, 0.105, 0.005), 3).tolist())
TIP_STEPS = 30
FILED = "on the list of threads"
# How blunt the sliders make a tip, in pitches.
BLUNTEST_RADIUS, BLUNTEST_FLAT = 0.15, 0.25

TIP_RADIUS = Field(
    name="Radius of the tool's tip",
    kind="length",
    low="0 mm",
    high="10 mm",
    example="0.1 mm",
    help="0 mm is a sharp point; a rounder one goes less deep and lasts longer.",
)
TIP_FLAT = Field(
    name="Flat at the tool's tip",
    kind="length",
    low="0 mm",
    high="20 mm",
    example="0.12 mm",
    help="Its width between the corners; 0 mm for a round or a sharp tip.",
)
FIRST_CUT = Field(
    name="Deepest first cut",
    kind="length",
    low="0.02 mm",
    high="5 mm",
    example="0.2 mm",
    help="On the radius; every later cut takes as much metal and no more.",
)
LAST_CUT = Field(
    name="Finest cut that still bites",
    kind="length",
    low="0 mm",
    high="1 mm",
    example="0.03 mm",
    help="Finer ones rub, and harden the work; 0 mm lets the cuts grow finer to the end.",
)


@dataclass(frozen=True)
class InfeedView:
    """One thread under one tool, ready to draw."""

    name: str
    pitch_mm: float
    included_angle_deg: float
    blank_mm: float
    pitch_diameter_mm: float
    nut_crest_mm: float
    nut_is_round: bool
    tip_radius_mm: float
    tip_flat_mm: float
    last_cut_mm: float
    schedule: InfeedSchedule
    lengths: ShopLengths

    @property
    def depth_mm(self) -> float:
        """The whole depth."""
        return self.schedule.depths_mm[-1]

    @property
    def pitch_line_mm(self) -> float:
        """Depth of the pitch line under the blank."""
        return (self.blank_mm - self.pitch_diameter_mm) / 2

    @property
    def nut_line_mm(self) -> float:
        """How far under the blank the crest of its nut reaches."""
        return (self.blank_mm - self.nut_crest_mm) / 2

    @property
    def straight_mm(self) -> float:
        """How far down the flank is straight, before the tip's rounding begins."""
        return self.depth_mm - self.tip_radius_mm * (1 - np.sin(np.radians(self.included_angle_deg / 2)))

    @property
    def nut_goes_in(self) -> bool:
        """Whether the nut's crest has room: a flat one beside straight flanks, a round one above all."""
        room = self.depth_mm if self.nut_is_round else self.straight_mm
        return room >= self.nut_line_mm - 1e-9

    @property
    def core_mm(self) -> float:
        """Diameter at the bottom of the grooves."""
        return float(minor_diameter_mm(self.blank_mm, self.depth_mm))

    @property
    def tip_words(self) -> str:
        """The tip of the tool."""
        parts = [f"a flat of {self.lengths.short(self.tip_flat_mm)}"] if self.tip_flat_mm else []
        parts += [f"a radius of {self.lengths.short(self.tip_radius_mm)}"] if self.tip_radius_mm else []
        return " and ".join(parts) or "a sharp point"

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        cuts = f"{len(self.schedule.cuts_mm)} cuts and {self.schedule.spring_passes} spring pass"
        told = f"{self.name} with {self.tip_words}: {self.lengths.told(self.depth_mm, 2)} deep, {cuts}"
        if self.nut_goes_in:
            return f"{told}."
        return f"{told}; too blunt, its nut would bear on the bottom."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        length, unit = self.lengths.told, self.lengths.unit
        first, last = self.schedule.sections_mm2[0], self.schedule.sections_mm2[-1]
        depths = ", ".join(self.lengths.number(depth, 2) for depth in self.schedule.depths_mm)
        return (
            f"The tool stands at {depths} {unit}. Pitch line {length(self.pitch_line_mm, 2)} under the blank "
            f"of {length(self.blank_mm, 2)}, crest of the nut {length(self.nut_line_mm, 2)}; the first cut "
            f"takes {first:.3f} mm², the last {last:.3f} mm²."
        )

    @property
    def meaning(self) -> str:
        """What it means at the machine, in plain words."""
        length = self.lengths.told
        first, last = self.schedule.cuts_mm[0], self.schedule.cuts_mm[-1]
        heavier = max(self.schedule.sections_mm2) / self.schedule.sections_mm2[0]
        load = (
            "Every cut loads the tool alike."
            if heavier < 1.02
            else f"The finest cut allowed makes the last ones {heavier:.1f} times as heavy as the first."
        )
        return (
            f"The first cut goes {length(first, 2)} deep, the last {length(last, 3)}; the core left is "
            f"{length(self.core_mm, 2)}. {load} A first cut of twice the depth pushes up to four times "
            "as hard."
        )

    def outline(self, depth_mm: float) -> np.ndarray:
        """The groove at a depth: across and down from the blank, in millimetres."""
        half = np.radians(self.included_angle_deg / 2)
        radius, corner = self.tip_radius_mm, self.tip_radius_mm * (1 - np.sin(half))
        up = np.unique(np.concatenate([np.linspace(0, min(corner, depth_mm), OUTLINE_POINTS), [depth_mm]]))
        arc = np.sqrt(np.maximum(2 * radius * up - up**2, 0))
        flank = (up + radius * (1 / np.sin(half) - 1)) * np.tan(half)
        wide = self.tip_flat_mm / 2 + np.where(up < corner, arc, flank)
        right = np.column_stack([wide, depth_mm - up])
        return np.concatenate([right * [-1, 1], right[::-1]])[::-1]


def view_infeed(
    plan: ThreadPlan,
    name: str,
    *,
    tip_radius_mm: float,
    tip_flat_mm: float,
    first_cut_mm: float,
    last_cut_mm: float,
) -> InfeedView:
    """Work out the cuts of a planned thread with one tool."""
    form, pitch = plan.thread.form, float(plan.thread.pitch_mm)
    tool = {
        "included_angle_deg": form.included_angle_deg,
        "tip_flat_mm": tip_flat_mm,
        "tip_radius_mm": tip_radius_mm,
    }
    depth = float(thread_depth_mm(plan.blank_mm, plan.target_mm, pitch_mm=pitch, **tool))
    cuts = passes_for_first_cut(depth, first_cut_mm=first_cut_mm, **tool)
    schedule = infeed_schedule(
        depth,
        infeed_passes=cuts,
        last_cut_mm=min(last_cut_mm, depth),
        spring_passes=SPRING_PASSES,
        **tool,
    )
    nominal = float(plan.thread.nominal_diameter_mm or plan.blank_mm)
    return InfeedView(
        name=name,
        pitch_mm=pitch,
        included_angle_deg=form.included_angle_deg,
        blank_mm=plan.blank_mm,
        pitch_diameter_mm=plan.target_mm,
        nut_crest_mm=nominal - 2 * (form.crest_height + form.nut_crest_height) * pitch,
        nut_is_round=form.crest_radius > 0,
        tip_radius_mm=tip_radius_mm,
        tip_flat_mm=tip_flat_mm,
        last_cut_mm=last_cut_mm,
        schedule=schedule,
        lengths=plan.lengths,
    )


def infeed_panel(
    plan: ThreadPlan,
    name: str,
    *,
    tip_radius_mm: float,
    tip_flat_mm: float,
    first_cut_mm: float,
    last_cut_mm: float,
) -> LivePanel:
    """Build the panel, starting at the thread's own tool and the machine's own cuts."""
    pitch = float(plan.thread.pitch_mm)
    radii = np.round(np.linspace(0, BLUNTEST_RADIUS * pitch, TIP_STEPS + 1), 4).tolist()
    flats = np.round(np.linspace(0, BLUNTEST_FLAT * pitch, TIP_STEPS + 1), 4).tolist()
    return LivePanel(
        controls={
            "tip_radius_mm": Quantity(TIP_RADIUS, sweep=radii, own=tip_radius_mm, own_words=FILED),
            "tip_flat_mm": Quantity(TIP_FLAT, sweep=flats, own=tip_flat_mm, own_words=FILED),
            "first_cut_mm": Quantity(FIRST_CUT, sweep=FIRST_CUTS_MM, own=first_cut_mm),
            "last_cut_mm": Quantity(LAST_CUT, sweep=LAST_CUTS_MM, own=last_cut_mm, own_words="as is usual"),
        },
        compute=partial(view_infeed, plan, name),
        chart=InfeedCuts(),
        sentence=lambda view: view.meaning,
    )
