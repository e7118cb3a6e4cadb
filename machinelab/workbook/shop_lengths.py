"""Lengths in words, in the unit of the shop, with the speeds and roughness that go with it.

A shop reads inches where its machine file is written in inches.
"""

import re
from dataclasses import dataclass

from machinelab.workbook.machine import Machine

# Threads to the inch stand on metric machines too, so they say nothing of the dials.
_INCHES = re.compile(r"(?:\bin|\bthou|\bft|\")$")
_MILLIMETRES = re.compile(r"(?:mm|\bm|\bum|µm)$")
# From here on the whole number says enough of a roughness.
WHOLE_FROM = 10


@dataclass(frozen=True)
class ShopLengths:
    """How a shop writes lengths.

    Parameters
    ----------
    unit : str
        The unit that stands behind the number.
    unit_mm : float [mm]
        Its length.
    more_places, fewest_places : int
        Decimal places beyond those of millimetres, and the fewest: a dial in inches reads thousandths.
    over : float
        The length over which the shop tells a slope, in its unit.
    rise_unit, rise_unit_mm, rise_places : str, float [mm], int
        The unit of the rise over it, and to how many places.
    rim_unit, rim_unit_m : str, float [m]
        The unit of a cutting speed, and how far that is in a minute.
    fine_unit, fine_unit_um : str, float [um]
        The unit of roughness, and its length.
    """

    unit: str
    unit_mm: float
    more_places: int = 0
    fewest_places: int = 0
    over: float = 300.0
    rise_unit: str = "mm"
    rise_unit_mm: float = 1.0
    rise_places: int = 3
    rim_unit: str = "m/min"
    rim_unit_m: float = 1.0
    fine_unit: str = "µm"
    fine_unit_um: float = 1.0

    def number(self, millimetres: float, places: int) -> str:
        """A length without its unit, as fine as so many decimal places of a millimetre."""
        fine = max(places + self.more_places, self.fewest_places)
        return f"{float(millimetres) / self.unit_mm:.{fine}f}"

    def told(self, millimetres: float, places: int) -> str:
        """The same with its unit."""
        return f"{self.number(millimetres, places)} {self.unit}"

    def short(self, millimetres: float, figures: int = 3) -> str:
        """A length with its unit, without idle zeros."""
        return f"{float(millimetres) / self.unit_mm:.{figures}g} {self.unit}"

    def slope(self, ppm: float) -> str:
        """The size of a slope, as so much over a usual length."""
        rise = abs(float(ppm)) * 1e-6 * self.over * self.unit_mm / self.rise_unit_mm
        return f"{rise:.{self.rise_places}f} {self.rise_unit} in {self.over:g} {self.unit}"

    def travel(self, mm_min: float) -> str:
        """Travel of a carriage or table in a minute."""
        return f"{float(mm_min) / self.unit_mm:.{self.more_places}f} {self.unit}/min"

    def rim(self, m_min: float) -> str:
        """A cutting speed, to whole units."""
        return f"{float(m_min) / self.rim_unit_m:.0f} {self.rim_unit}"

    def fine(self, micrometres: float) -> str:
        """A roughness without its unit, to two figures or to the whole."""
        rough = float(micrometres) / self.fine_unit_um
        return f"{rough:.0f}" if rough >= WHOLE_FROM else f"{rough:.2g}"


MILLIMETRES = ShopLengths("mm", 1.0)
INCHES = ShopLengths(
    "in",
    25.4,
    more_places=1,
    fewest_places=3,
    over=12.0,
    rise_unit="thou",
    rise_unit_mm=0.0254,
    rise_places=1,
    rim_unit="ft/min",
    rim_unit_m=0.3048,
    fine_unit="µin",
    fine_unit_um=0.0254,
)


def shop_lengths(machine: Machine) -> ShopLengths:
    """The unit in which most lengths of the machine file were typed; millimetres while there are none."""
    typed = [str(text).strip() for text in machine.typed.values()]
    inches = sum(bool(_INCHES.search(text)) for text in typed)
    return INCHES if inches > sum(bool(_MILLIMETRES.search(text)) for text in typed) else MILLIMETRES
