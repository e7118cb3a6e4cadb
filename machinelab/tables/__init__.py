"""Tables: data files with a source column for every row, and the one reader for them.

A data table is a CSV file in this folder; its ``source`` column says for each row where the figures
come from. ``nomenclature.csv`` is not data but definitions: every name that a public function takes or
a result carries, once, with its unit and its symbol. Its columns:

name      the name in the code, ending in its unit (``pitch_mm``)
unit      as written in square brackets in a docstring: ``mm``, ``N m``, ``kg m2``, ``rad/s2``,
          ``step/count``; a pure number is ``1``; empty for what is not a number
symbol    the sign a machinist would write, plain text (``t_stop``); no two inputs of one formula share one
latex     the same for typesetting
kind      ``real``, ``integer``, ``ratio`` (an exact fraction), ``text``, ``flag`` (yes or no) or ``object``
low, high the ordinary range of a number; the formula test samples inputs from it
meaning   one line in plain words
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from machinelab.errors import RangeError

NUMBER_KINDS = ("real", "integer", "ratio")
KINDS = (*NUMBER_KINDS, "text", "flag", "object")


@dataclass(frozen=True)
class Quantity:
    """One name of the nomenclature."""

    name: str
    unit: str
    symbol: str
    latex: str
    kind: str
    low: Fraction | None
    high: Fraction | None
    meaning: str

    @property
    def is_number(self) -> bool:
        """Whether the name stands for a number, and so has a unit, a symbol and an ordinary range."""
        return self.kind in NUMBER_KINDS


def names() -> tuple[str, ...]:
    """Return the names of all tables, in alphabetical order."""
    return tuple(sorted(file.name[:-4] for file in files(__name__).iterdir() if file.name.endswith(".csv")))


@cache
def read(name: str) -> tuple[Mapping[str, str], ...]:
    """Return the rows of one table, each a mapping of text by column; the file is read once.

    Every row of a data table carries where it comes from in ``row["source"]``.

    Examples
    --------
    >>> read("leadscrews")[0]["screw"]
    'general lathe leadscrew'
    """
    if name not in names():
        raise RangeError(f"There is no table {name!r}. The tables are: {', '.join(names())}.")
    with files(__name__).joinpath(f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(map(MappingProxyType, csv.DictReader(file)))


@cache
def nomenclature() -> MappingProxyType[str, Quantity]:
    """Return every settled name with its unit, symbol, ordinary range and meaning.

    Examples
    --------
    >>> nomenclature()["speed_rpm"].unit
    'rpm'
    """
    return MappingProxyType({row["name"]: _quantity(row) for row in read("nomenclature")})


def _quantity(row: Mapping[str, str]) -> Quantity:
    ends = {end: Fraction(row[end]) if row[end] else None for end in ("low", "high")}
    return Quantity(**(row | ends))
