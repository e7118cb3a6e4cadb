"""Backlash: change play, spring and thread; see when the carriage follows and where a thread may begin."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from machinelab.leadscrew.backlash import take_up_mm, take_up_turns
from machinelab.units import Field
from machinelab.workbook.axis_advice import MARGIN_LEADS
from machinelab.workbook.figures.backlash import TakeUp
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

POINTS = 400

PLAY = Field(
    name="Backlash at the carriage",
    kind="length",
    low="0 mm",
    high="2 mm",
    example="0.12 mm",
    help="All of it: nut, thrust bearing, belt and coupling.",
)
SPRING = Field(
    name="Give of screw and bearing",
    kind="length",
    low="0 mm",
    high="0.5 mm",
    example="0.01 mm",
    help="How far both spring under the cut; a few hundredths of a millimetre at most.",
)


@dataclass(frozen=True)
class TakeUpView:
    """A thread begun after the carriage was sent back."""

    thread: str
    turns: np.ndarray
    screw_mm: np.ndarray
    carriage_mm: np.ndarray
    take_up_turns: float
    begin_turns: float
    begin_mm: float
    lengths: ShopLengths

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        return (
            f"{self.thread}: the carriage follows after {self.take_up_turns:.2g} turns; begin "
            f"{self.lengths.told(self.begin_mm, 2)} before the thread, {self.begin_turns:.2g} turns."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return "Until then the tool stands still while the work turns, and would cut a ring."

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        return (
            f"Send the carriage back at least {self.lengths.told(self.begin_mm, 2)} beyond the start of the "
            "thread, tool drawn back. Every pass then cuts on the same flank of the screw, and the backlash "
            "does no harm."
        )


def view_take_up(
    *,
    thread,
    play_mm: float,
    spring_mm: float,
    leads_mm: Mapping[str, float],
    lengths: ShopLengths = MILLIMETRES,
) -> TakeUpView:
    """Work out when the carriage follows the screw."""
    lead = leads_mm[thread]
    begin_mm = float(take_up_mm(play_mm, spring_mm=spring_mm, margin_mm=MARGIN_LEADS * lead))
    begin = float(take_up_turns(begin_mm, lead))
    turns = np.linspace(0, rounded_up(1.35 * begin), POINTS)
    screw = lead * turns
    lost = play_mm + spring_mm
    return TakeUpView(
        thread=thread,
        turns=turns,
        screw_mm=screw,
        carriage_mm=np.maximum(screw - lost, 0.0),
        take_up_turns=float(take_up_turns(lost, lead)),
        begin_turns=begin,
        begin_mm=begin_mm,
        lengths=lengths,
    )


def backlash_panel(
    leads_mm: Mapping[str, float],
    *,
    thread: str,
    play_mm: float,
    spring_mm: float,
    lengths: ShopLengths = MILLIMETRES,
) -> LivePanel:
    """Build the panel, starting at the machine as it is."""
    hundredths = [round(0.01 * n, 2) for n in range(61)]
    return LivePanel(
        controls={
            "thread": Choice("Thread", {name: name for name in leads_mm}, chosen=thread),
            "play_mm": Quantity(PLAY, sweep=hundredths, own=play_mm),
            "spring_mm": Quantity(SPRING, sweep=hundredths[:21], start=spring_mm),
        },
        compute=partial(view_take_up, leads_mm=leads_mm, lengths=lengths),
        chart=TakeUp(),
        sentence=lambda view: view.sentence,
    )
