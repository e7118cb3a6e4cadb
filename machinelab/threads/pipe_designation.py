"""Pipe threads, whose size is the bore of a pipe and not the thread's diameter: G1/2, R3/4, 1/2-14 NPT."""

import re
from dataclasses import replace
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.leadscrew.lead import INCH_MM
from machinelab.threads.settled_thread import settled
from machinelab.threads.standard_sizes import TAPER, StandardSize, decimal, inches, standard_sizes
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["read_pipe"]

_SIZE = r"\d{1,2}[\s-]+\d{1,2}/\d{1,2}|\d{1,2}/\d{1,2}|\d{1,2}"
_TPI = r"(?:\s*[-x]\s*(?P<{}>\d{{1,2}}(?:\.5|[\s-]1/2)?))?"
_INCH = r'\s*(?:"|in\b)?'
_IN_FRONT = re.compile(
    rf"(?P<series>g|r[cp]?|npt|bspp|bspt|bsp)\s*(?P<size>{_SIZE}){_INCH}{_TPI.format('tpi')}(?:\s*-?\s*(?P<tolerance>[ab]))?",
    re.IGNORECASE | re.ASCII,
)
_BEHIND = re.compile(
    rf"(?P<size>{_SIZE}){_INCH}{_TPI.format('tpi')}(?:\s*-\s*|\s*)(?P<series>npt|bspp|bspt|bsp)",
    re.IGNORECASE | re.ASCII,
)
_SETTLED = {"bspp": "G", "bsp": "G", "bspt": "R"}


def read_pipe(typed: TypedThread) -> Thread | None:
    """Read a pipe thread; its diameter comes from the table.

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
        None where it is no pipe thread. The letters: G parallel, R taper outside, Rc taper inside, Rp
        parallel inside, NPT American taper.

    Raises
    ------
    RangeError
        If there is no such size.

    Examples
    --------
    >>> float(read_pipe(TypedThread("G1/2", "G1/2")).nominal_diameter_mm)
    20.955

    Source
    ------
    ISO 228-1, ISO 7-1 and ASME B1.20.1, from memory.
    """
    found = _IN_FRONT.fullmatch(typed.rest) or _BEHIND.fullmatch(typed.rest)
    if not found:
        return None
    letters = found["series"].lower()
    letters = _SETTLED.get(letters, letters.upper() if letters == "npt" else letters.capitalize())
    series = letters if letters in ("G", "NPT") else "R"
    size = _size(typed, series, found)
    tolerance = (found.groupdict().get("tolerance") or "").upper()
    written = size.designation if series == "NPT" else f"{letters}{size.size}"
    return settled(
        replace(typed, tolerance_class=typed.tolerance_class or tolerance),
        written,
        form=size.form,
        series=letters,
        diameter_mm=size.nominal_diameter_mm,
        pitch_mm=size.pitch_mm,
        starts=typed.starts or 1,
        taper=Fraction(0) if letters == "Rp" else TAPER.get(series, Fraction(0)),
    )


def _size(typed: TypedThread, series: str, found: re.Match) -> StandardSize:
    wanted = "-".join(found["size"].replace("-", " ").split())
    size = next((size for size in standard_sizes(series) if size.size == wanted), None)
    if size is None:
        bores = ", ".join(size.size for size in standard_sizes(series))
        raise RangeError(
            f"{in_short(typed.typed)}: there is no {series} thread of that size. "
            f"The sizes are {bores} in, named after a pipe's bore."
        )
    tpi = INCH_MM / size.pitch_mm
    if found["tpi"] and inches(found["tpi"].replace(" ", "-")) != tpi:
        raise RangeError(
            f"{in_short(typed.typed)}: {series} of {wanted} in has {decimal(tpi)} threads to the inch. "
            f"Type {size.designation}."
        )
    return size
