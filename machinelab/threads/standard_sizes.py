"""The sizes that the standards list: every series of the trade, from one table."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from machinelab import tables
from machinelab.leadscrew.lead import INCH_MM, tpi_lead_mm
from machinelab.threads.profile import (
    ACME,
    BA,
    CYCLE,
    METRIC,
    NPT,
    TRAPEZOIDAL,
    UNIFIED,
    WHITWORTH,
    ThreadForm,
)

__all__ = ["FORM_OF", "TAPER", "StandardSize", "standard_sizes"]

FORM_OF = {
    "metric coarse": METRIC,
    "metric fine": METRIC,
    **dict.fromkeys(("UNC", "UNF", "UNEF", "UN", "UNS"), UNIFIED),
    **dict.fromkeys(("BSW", "BSF", "G", "R"), WHITWORTH),
    "BSC": CYCLE,
    "BA": BA,
    "Tr": TRAPEZOIDAL,
    "Acme": ACME,
    "NPT": NPT,
}
# ISO 7-1 and ASME B1.20.1, from memory: one in sixteen on the diameter.
TAPER = {"R": Fraction(1, 16), "NPT": Fraction(1, 16)}


@dataclass(frozen=True)
class StandardSize:
    """One size of one series.

    Parameters
    ----------
    series : str
        Such as "metric coarse" or "UNC".
    size : str
        As written in a designation: "10", "1-1/4", "#10".
    nominal_diameter_mm : Fraction [mm]
        Nominal outside diameter.
    pitch_mm : Fraction [mm]
        Pitch.
    remark : str
        Order of preference, or what it is used for.
    source : str
        Where the row comes from.

    Source
    ------
    See each row.
    """

    series: str
    size: str
    nominal_diameter_mm: Fraction
    pitch_mm: Fraction
    remark: str
    source: str

    @property
    def form(self) -> ThreadForm:
        """The form of its series."""
        return FORM_OF[self.series]

    @property
    def designation(self) -> str:
        """How it is written."""
        match self.series:
            case "metric coarse" | "metric fine":
                return f"M{self.size}x{decimal(self.pitch_mm)}"
            case "Tr":
                return f"Tr{self.size}x{decimal(self.pitch_mm)}"
            case "BA":
                return f"{self.size} BA"
            case "G" | "R":
                return f"{self.series}{self.size}"
        return f"{self.size}-{decimal(INCH_MM / self.pitch_mm)} {self.series}"


@cache
def standard_sizes(*series: str) -> tuple[StandardSize, ...]:
    """Every size of the series named, or of all.

    Formula
    -------
    none: a look-up in the table thread_sizes

    Parameters
    ----------
    series : str
        Names of series; none for all of them.

    Returns
    -------
    tuple of StandardSize
        In the order of the table.

    Examples
    --------
    >>> [size.designation for size in standard_sizes("UNC")][9:12]
    ['1/4-20 UNC', '5/16-18 UNC', '3/8-16 UNC']

    Source
    ------
    The table's own source column.
    """
    if series:
        return tuple(size for size in standard_sizes() if size.series in series)
    return tuple(_size(row) for row in tables.read("thread_sizes"))


def decimal(number: Fraction) -> str:
    """A number as a designation writes it, without zeros at the end."""
    return f"{float(number):.10g}"


def _size(row: dict[str, str]) -> StandardSize:
    pitch = Fraction(row["pitch"])
    return StandardSize(
        series=row["series"],
        size=row["size"],
        nominal_diameter_mm=inches(row["diameter"]) * (INCH_MM if row["unit"] == "in" else 1),
        pitch_mm=tpi_lead_mm(pitch) if row["pitch_unit"] == "tpi" else pitch,
        remark=row["remark"],
        source=row["source"],
    )


def inches(size: str) -> Fraction:
    """A plain number or one with a fraction: ``1-1/4`` is five quarters."""
    whole, _, part = size.replace(" ", "-").rpartition("-")
    return Fraction(whole or 0) + Fraction(part)
