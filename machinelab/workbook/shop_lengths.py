"""Lengths in words, in the unit of the shop, with the speeds and roughness that go with it.

A shop reads inches where its machine file is written in inches.
"""

import re
from dataclasses import dataclass, replace

import numpy as np

from machinelab.estimate import Estimate
from machinelab.workbook.machine import Machine
from machinelab.workbook.measured import with_interval
from machinelab.workbook.verdict import Verdict, verdict

# Threads to the inch stand on metric machines too, so they say nothing of the dials.
_INCHES = re.compile(r"(?:\bin|\bthou|\bft|\")$")
_MILLIMETRES = re.compile(r"(?:mm|\bm|\bum|µm)$")
# From here on the whole number says enough of a roughness.
WHOLE_FROM = 10
# A rise of a thousandth of an inch in a foot, in mm/m.
THOU_IN_A_FOOT = 0.0254 / 0.3048


@dataclass(frozen=True)
class Scale:
    """How a shop writes one kind of quantity.

    Parameters
    ----------
    unit : str
        What stands behind the number.
    size : float
        How much that is, in the unit of the calculation.
    places : int
        Decimal places.
    """

    unit: str
    size: float
    places: int

    def told(self, value: float) -> str:
        """A quantity with its unit."""
        return f"{float(value) / self.size:.{self.places}f} {self.unit}"

    def signed(self, value: float) -> str:
        """The same with its sign."""
        return f"{float(value) / self.size:+.{self.places}f} {self.unit}"

    def estimate(self, found: Estimate) -> str:
        """An estimate with its interval and unit, no finer than its doubt allows."""
        low, high = found.interval
        own = Estimate(found.value / self.size, (low / self.size, high / self.size))
        return with_interval(own, self.unit, finest=self.places)


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
    fine_unit, fine_unit_um : str, float [um]
        The unit of roughness, and its length.
    rim, small, lean, twist : Scale
        Of a cutting speed in m/min, of an error in mm that would be nearly nothing in ``unit``, of a lean in
        mm/m, and of a lean that grows along the bed, in mm/m for each metre.
    """

    unit: str
    unit_mm: float
    more_places: int = 0
    fewest_places: int = 0
    over: float = 300.0
    rise_unit: str = "mm"
    rise_unit_mm: float = 1.0
    rise_places: int = 3
    fine_unit: str = "µm"
    fine_unit_um: float = 1.0
    rim: Scale = Scale("m/min", 1.0, 0)
    small: Scale = Scale("µm", 0.001, 1)
    lean: Scale = Scale("mm/m", 1.0, 3)
    twist: Scale = Scale("mm/m in each metre", 1.0, 2)

    def number(self, millimetres: float, places: int) -> str:
        """A length without its unit, as fine as so many decimal places of a millimetre."""
        fine = max(places + self.more_places, self.fewest_places)
        return f"{float(millimetres) / self.unit_mm:.{fine}f}"

    def told(self, millimetres: float, places: int) -> str:
        """The same with its unit."""
        return f"{self.number(millimetres, places)} {self.unit}"

    def signed(self, millimetres: float, places: int) -> str:
        """The same with its sign, a plus too."""
        return f"{'' if float(millimetres) < 0 else '+'}{self.told(millimetres, places)}"

    def short(self, millimetres: float, figures: int = 3) -> str:
        """A length with its unit, without idle zeros."""
        rounded = float(f"{float(millimetres) / self.unit_mm:.{figures}g}")
        return f"{np.format_float_positional(rounded, trim='-')} {self.unit}"

    @property
    def over_mm(self) -> float:
        """The length over which slopes and tapers are told."""
        return self.over * self.unit_mm

    @property
    def stretch(self) -> str:
        """The same in words."""
        return f"{self.over:g} {self.unit}"

    def slope(self, ppm: float) -> str:
        """The size of a slope, as so much over a usual length."""
        rise = abs(float(ppm)) * 1e-6 * self.over_mm / self.rise_unit_mm
        return f"{rise:.{self.rise_places}f} {self.rise_unit} in {self.stretch}"

    def travel(self, mm_min: float) -> str:
        """Travel of a carriage or table in a minute."""
        return f"{float(mm_min) / self.unit_mm:.{self.more_places}f} {self.unit}/min"

    def estimate(self, millimetres: Estimate, places: int) -> str:
        """A length with its interval and unit, no finer than its doubt allows."""
        finest = max(places + self.more_places, self.fewest_places)
        return Scale(self.unit, self.unit_mm, finest).estimate(millimetres)

    def verdict(self, value_mm, uncertainty_mm, lower_mm, upper_mm) -> Verdict:
        """What a measured length proves about its limits, as the record has it, told in the shop's unit."""
        found = verdict(value_mm, uncertainty_mm, lower_mm, upper_mm, unit="mm")
        if self.unit_mm == 1:
            return found
        # Six figures, so that 0.02032 mm reads 0.0008 in again.
        told = (
            None if one is None else float(f"{one / self.unit_mm:.6g}")
            for one in (value_mm, uncertainty_mm, lower_mm, upper_mm)
        )
        own = verdict(*told, unit=self.unit)
        # Where that rounding tips what lies on the very limit, the record's own words stand.
        return replace(found, sentence=own.sentence) if own.word == found.word else found

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
    fine_unit="µin",
    fine_unit_um=0.0254,
    rim=Scale("ft/min", 0.3048, 0),
    small=Scale("thou", 0.0254, 2),
    lean=Scale("thou in 12 in", THOU_IN_A_FOOT, 2),
    twist=Scale("thou in 12 in for each foot", THOU_IN_A_FOOT / 0.3048, 2),
)


def shop_lengths(machine: Machine) -> ShopLengths:
    """The unit in which most lengths of the machine file were typed; millimetres while there are none."""
    typed = [str(text).strip() for text in machine.typed.values()]
    inches = sum(bool(_INCHES.search(text)) for text in typed)
    return INCHES if inches > sum(bool(_MILLIMETRES.search(text)) for text in typed) else MILLIMETRES
