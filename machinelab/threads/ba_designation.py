"""Threads of the British Association, small screws of instruments: 4 BA."""

import re

from machinelab.errors import RangeError
from machinelab.threads.settled_thread import settled
from machinelab.threads.standard_sizes import standard_sizes
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["read_ba"]

_BA = re.compile(
    r"(?:#|no\.?)?\s*(?P<behind>\d{1,2})\s*-?\s*b\.?a\.?|b\.?a\.?\s*(?P<front>\d{1,2})",
    re.IGNORECASE | re.ASCII,
)


def read_ba(typed: TypedThread) -> Thread | None:
    """Read a BA thread; the larger the number, the smaller the screw.

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
        None where it is no BA designation.

    Raises
    ------
    RangeError
        If there is no such number.

    Examples
    --------
    >>> read_ba(TypedThread("4 BA", "4 BA")).pitch_mm
    Fraction(33, 50)

    Source
    ------
    BS 93, sizes as listed in a public technical note (read).
    """
    found = _BA.fullmatch(typed.rest)
    if not found:
        return None
    number = str(int(found["behind"] or found["front"]))
    size = next((size for size in standard_sizes("BA") if size.size == number), None)
    if size is None:
        raise RangeError(
            f"{in_short(typed.typed)}: the BA threads are numbered from 0 BA (6 mm) to 16 BA (0.79 mm)."
        )
    return settled(
        typed,
        size.designation,
        form=size.form,
        series="BA",
        diameter_mm=size.nominal_diameter_mm,
        pitch_mm=size.pitch_mm,
        starts=typed.starts or 1,
    )
