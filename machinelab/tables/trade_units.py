"""The units a person may type, for each kind of quantity, and how the trade writes them.

Two tables: ``quantities.csv`` says which plain unit the program uses for a kind of quantity and how it is
shown; ``units.csv`` lists every accepted unit with its definition, its spellings and its source.
"""

import re
from dataclasses import dataclass
from functools import cache

from machinelab import tables

_SAME_SIGN = str.maketrans(
    {"µ": "μ", "\u2126": "Ω", "²": "2", "³": "3", **dict.fromkeys(" .·⋅*×^-", "")},
)
_ASCII_TWIN = str.maketrans({"µ": "u", "Ω": "ohm", "°": "deg", "²": "2"})


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: its plain unit, how to speak of it, and what is shown."""

    name: str
    unit: str
    words: str
    also_shown: str
    scaled: tuple[str, ...]
    bare: str
    example: str

    @property
    def whole(self) -> bool:
        """Whether it is counted, so that only whole numbers make sense."""
        return self.bare == "whole"


@dataclass(frozen=True)
class Unit:
    """One unit of one kind, with the definition that pint is given."""

    kind: str
    symbol: str
    definition: str
    inverse: bool
    spellings: tuple[str, ...]


@cache
def kinds() -> dict[str, Kind]:
    """Every kind of quantity by its name."""
    return {
        row["kind"]: Kind(
            name=row["kind"],
            unit=row["unit"],
            words=row["words"],
            also_shown=row["also_shown"],
            scaled=_listed(row["scaled"]),
            bare=row["bare"],
            example=row["example"],
        )
        for row in tables.read("quantities")
    }


@cache
def units_of(kind: Kind) -> tuple[Unit, ...]:
    """The units accepted for a kind, the usual one first."""
    return tuple(
        Unit(
            kind=row["kind"],
            symbol=row["symbol"],
            definition=row["definition"],
            inverse=row["inverse"] == "yes",
            spellings=_listed(row["also_written"]),
        )
        for row in tables.read("units")
        if row["kind"] == kind.name
    )


@cache
def kinds_measured_in(unit: str) -> tuple[Kind, ...]:
    """The kinds whose plain unit this is; failing that, the kinds that know it at all."""
    every = tuple(kinds().values())
    plain = tuple(kind for kind in every if spelling_key(kind.unit) == spelling_key(unit))
    return plain or tuple(kind for kind in every if find(unit, (kind,)))


def find(written: str, among: tuple[Kind, ...]) -> Unit | None:
    """The unit written so, within some kinds; capitals are forgiven where they decide nothing."""
    by_spelling, by_letters = _spellings(among)
    key = spelling_key(written)
    return by_spelling.get(key) or by_letters.get(key.casefold())


def differs_by_capitals(written: str, among: tuple[Kind, ...]) -> tuple[str, ...]:
    """The units that share these letters, when only capitals tell them apart."""
    folded = spelling_key(written).casefold()
    by_spelling, _ = _spellings(among)
    return tuple(dict.fromkeys(unit.symbol for key, unit in by_spelling.items() if key.casefold() == folded))


def spelling_key(written: str) -> str:
    """A unit with spaces, dots, dashes and the two ways of writing a sign ironed out."""
    return re.sub(r"\s*\bper\b\s*", "/", written).translate(_SAME_SIGN)


def is_usual_spelling(written: str, unit: Unit) -> bool:
    """Whether it was written as it is shown, or in its plain-letter twin (``uF`` for ``µF``)."""
    return spelling_key(written) in {
        spelling_key(unit.symbol),
        spelling_key(unit.symbol.translate(_ASCII_TWIN)),
    }


@cache
def _spellings(among: tuple[Kind, ...]) -> tuple[dict[str, Unit], dict[str, Unit]]:
    by_spelling: dict[str, Unit] = {}
    for kind in among:
        for unit in units_of(kind):
            for spelling in (unit.symbol, unit.symbol.translate(_ASCII_TWIN), *unit.spellings):
                by_spelling.setdefault(spelling_key(spelling), unit)
    by_letters: dict[str, Unit] = {}
    disputed = set()
    for key, unit in by_spelling.items():
        other = by_letters.setdefault(key.casefold(), unit)
        if other.definition != unit.definition:
            disputed.add(key.casefold())
    return by_spelling, {key: unit for key, unit in by_letters.items() if key not in disputed}


def _listed(cell: str) -> tuple[str, ...]:
    return tuple(filter(None, cell.split("|")))
