"""Inch threads: 3/8-16 UNC, #10-24, 1/4 BSW, 5/16 x 26 CEI, 26 tpi cycle, 1-1/4-5 Acme.

A size and its threads to the inch do not say the form: 1/4-20 is UNC and BSW alike, with flanks of 60 and of
55 degrees. Without a word for the form the Unified series are meant, as common practice has it, and no other.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.leadscrew.lead import INCH_MM, tpi_lead_mm
from machinelab.threads.nearest_threads import in_no_series
from machinelab.threads.profile import CYCLE, UNIFIED
from machinelab.threads.settled_thread import settled
from machinelab.threads.standard_sizes import FORM_OF, StandardSize, decimal, standard_sizes
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["read_inch"]

_UNIFIED = ("UNC", "UNF", "UNEF")
# Words of the trade and the series each may mean, the settled one first.
_SERIES = {
    **{word.lower(): (word,) for word in (*_UNIFIED, "UNS", "BSW", "BSF", "BSC", "Acme")},
    "un": (*_UNIFIED, "UN"),
    **dict.fromkeys(("whitworth", "whit", "whit."), ("BSW", "BSF")),
    **dict.fromkeys(("cei", "cycle", "bscy", "bs cycle", "cycle thread"), ("BSC",)),
}
# Pitches of the constant-pitch series, ASME B1.1, from memory.
_CONSTANT_TPI = (4, 6, 8, 12, 16, 20, 28, 32)
_WORDS = "|".join(sorted(map(re.escape, _SERIES), key=len, reverse=True))
_WORD_BEHIND = re.compile(
    rf"(?P<head>.*?)(?:\s*-\s*|\s*)(?<![a-z])(?P<word>{_WORDS})(?:\s+thread)?", re.IGNORECASE | re.ASCII
)
_WORD_IN_FRONT = re.compile(rf"(?P<word>{_WORDS})\s+(?P<head>.*)", re.IGNORECASE | re.ASCII)
_TPI = r"\d{1,3}(?:\.\d{1,2}|[\s-]+\d/\d)?"
_ONLY_TPI = re.compile(
    rf"(?P<tpi>{_TPI})\s*(?:tpi|t\.p\.i\.?|threads\s+(?:per|to\s+the|an)\s+inch)", re.IGNORECASE
)
_SIZE = re.compile(
    r"""(?: (?:\#\s*|no\.?\s*)(?P<number>\d{1,2})
          | (?P<whole>\d{1,2})[\s-]+(?P<over>\d{1,2})/(?P<under>\d{1,3})
          | (?P<top>\d{1,2})/(?P<bottom>\d{1,3})
          | (?P<decimal>\d{0,2}\.\d{1,4})
          | (?P<bare>\d{1,2}) )
        (?P<inch>\s*(?:"|''|in\b\.?|inch\b))?"""
    rf"(?:\s*[-x]\s*|\s+|$)(?P<tpi>{_TPI})?\s*(?:tpi|t\.p\.i\.?)?",
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)
_BOTTOM_BRACKET = (Fraction(11, 8), Fraction(24))


@dataclass(frozen=True)
class _Typed:
    """Size and threads to the inch as read; a bare whole number may be the N of #N."""

    diameter_in: Fraction | None
    tpi: Fraction | None
    may_be_number: int | None = None


def read_inch(typed: TypedThread) -> Thread | None:
    """Read an inch thread.

    Formula
    -------
    none: it reads text

    Parameters
    ----------
    typed : TypedThread
        The designation.

    Returns
    -------
    Thread or None
        None where it is no inch designation at all.

    Raises
    ------
    RangeError
        If no series has it, it fits several forms, or a number size and an inch size could both be meant.

    Examples
    --------
    >>> read_inch(TypedThread("10-24", "10-24")).designation
    '#10-24 UNC'

    Source
    ------
    ASME B1.1 and B1.5, BS 84 and cycle threads, from memory.
    """
    word = _WORD_BEHIND.fullmatch(typed.rest) or _WORD_IN_FRONT.fullmatch(typed.rest)
    head = word["head"] if word else typed.rest
    candidates = _SERIES[" ".join(word["word"].lower().split())] if word else ()
    if only := _ONLY_TPI.fullmatch(head):
        return _without_size(typed, candidates, _sum(only["tpi"]))
    found = _SIZE.fullmatch(head)
    if not found:
        return None
    read = _read(found)
    if not word and read.may_be_number is not None and not _listed(typed, _UNIFIED, read):
        # A bare whole number is more likely metric without its M than inches.
        return None
    return _with_size(typed, candidates or _UNIFIED, read, said=bool(word))


def _without_size(typed: TypedThread, candidates: tuple[str, ...], tpi: Fraction) -> Thread:
    if not candidates:
        raise RangeError(
            f"{in_short(typed.typed)} does not say the form of the thread. Type it with the form, "
            f"such as {decimal(tpi)} tpi cycle or {decimal(tpi)} tpi BSF; 26 tpi is not 1 mm."
        )
    series = "UN" if "UN" in candidates else candidates[0]
    name = "cycle" if series == "BSC" else series
    return _settled(typed, f"{decimal(tpi)} tpi {name}", series, None, tpi)


def _with_size(typed: TypedThread, candidates: tuple[str, ...], read: _Typed, *, said: bool) -> Thread:
    size = _listed(typed, candidates, read)
    if size is not None:
        return _settled(
            typed, size.designation, size.series, size.nominal_diameter_mm, INCH_MM / size.pitch_mm
        )
    if read.tpi is not None and said:
        made = _unlisted(typed, candidates, read)
        if made is not None:
            return made
    raise RangeError(_refused(typed, candidates, read, said=said))


def _listed(typed: TypedThread, candidates: tuple[str, ...], read: _Typed) -> StandardSize | None:
    """The size of the series; a bare whole number may be a number size or inches."""
    sizes = standard_sizes(*(_UNIFIED if candidates == ("UNS",) else candidates))
    numbered = read.may_be_number is not None
    by_number = [
        size for size in sizes if numbered and size.size == f"#{read.may_be_number}" and _fits(size, read)
    ]
    by_inch = [
        size for size in sizes if size.nominal_diameter_mm == _mm(read.diameter_in) and _fits(size, read)
    ]
    if by_number and by_inch and read.tpi is None:
        raise RangeError(
            f"{in_short(typed.typed)} could be {by_number[0].designation} or {by_inch[0].designation}: "
            "type the one that is meant."
        )
    found = by_inch or by_number
    if len(found) > 1 and read.tpi is None:
        named = " or ".join(size.designation for size in found)
        raise RangeError(f"{in_short(typed.typed)} does not say which: type {named}.")
    return found[0] if found else None


def _unlisted(typed: TypedThread, candidates: tuple[str, ...], read: _Typed) -> Thread | None:
    """A size of constant pitch, UNS, or one that is said to be special."""
    series = candidates[-1]
    size, tpi = read.diameter_in, read.tpi
    if not size or not tpi:
        return None
    written = f"{_size_text(size)}-{decimal(tpi)}"
    constant = series == "UN" and tpi in _CONSTANT_TPI and 16 % size.denominator == 0
    if constant or series == "UNS":
        return _settled(typed, f"{written} {series}", series, _mm(size), tpi)
    if typed.special:
        return _settled(typed, f"{written} {candidates[0]}", "", _mm(size), tpi, form_of=candidates[0])
    return None


def _refused(typed: TypedThread, candidates: tuple[str, ...], read: _Typed, *, said: bool) -> str:
    form = FORM_OF[candidates[0]] if said else None
    pitch = tpi_lead_mm(read.tpi) if read.tpi else None
    if (read.diameter_in, read.tpi) == _BOTTOM_BRACKET and (form is CYCLE or not said):
        return (
            f"{in_short(typed.typed)}: the cycle form with 24 threads to the inch is 1.37-24 BSC. 1.375 in "
            "is the same fit in the ISO form, as ISO 6696 has it: type 1.375-24 UNS for that."
        )
    if not said:
        instead = (
            "Without a word for the form the Unified series are meant: "
            "type BSW, BSF, BSC, Acme or UNS behind it."
        )
    elif form is UNIFIED:
        instead = "If it is meant as it stands, type UNS for the series."
    else:
        instead = "If it is meant as it stands, add the word special."
    diameter = _mm(read.diameter_in)
    return in_no_series(typed, form=form, nominal_diameter_mm=diameter, pitch_mm=pitch, instead=instead)


def _settled(
    typed: TypedThread,
    written: str,
    series: str,
    diameter_mm: Fraction | None,
    tpi: Fraction,
    form_of: str = "",
) -> Thread:
    return settled(
        typed,
        written,
        form=FORM_OF[form_of or series],
        series=series,
        diameter_mm=diameter_mm,
        pitch_mm=tpi_lead_mm(tpi) if tpi else Fraction(0),
        starts=typed.starts or 1,
    )


def _read(found: re.Match) -> _Typed:
    tpi = _sum(found["tpi"]) if found["tpi"] else None
    if found["number"]:
        return _Typed(None, tpi, int(found["number"]))
    if found["bare"]:
        bare = int(found["bare"])
        return _Typed(Fraction(bare), tpi, None if found["inch"] else bare)
    if found["decimal"]:
        return _Typed(Fraction(found["decimal"]), tpi)
    over, under = (found["over"], found["under"]) if found["whole"] else (found["top"], found["bottom"])
    if not int(under):
        return _Typed(None, tpi)
    return _Typed(Fraction(int(found["whole"] or 0)) + Fraction(int(over), int(under)), tpi)


def _fits(size: StandardSize, read: _Typed) -> bool:
    return read.tpi in (None, INCH_MM / size.pitch_mm)


def _sum(text: str) -> Fraction:
    whole, *part = re.split(r"[\s-]+", text)
    if part and part[0].endswith("/0"):
        return Fraction(0)
    return Fraction(whole) + sum(map(Fraction, part))


def _mm(inch: Fraction | None) -> Fraction | None:
    return None if inch is None else inch * INCH_MM


def _size_text(inch: Fraction) -> str:
    """Sixty-fourths as a fraction, anything else as a decimal."""
    if 64 % inch.denominator:
        return decimal(inch)
    whole, part = divmod(inch, 1)
    return "-".join(str(one) for one in (whole, part) if one)
