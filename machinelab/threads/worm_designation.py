"""Worms by module or diametral pitch, whose lead carries pi: module 1, 20 DP."""

import re
from fractions import Fraction

from machinelab.leadscrew.lead import diametral_pitch_lead_mm, module_lead_mm
from machinelab.threads.profile import WORM
from machinelab.threads.settled_thread import settled
from machinelab.threads.standard_sizes import decimal
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import TypedThread

__all__ = ["read_worm"]

_NUMBER = r"\d{1,3}(?:[.,]\d{1,4})?|[.,]\d{1,4}"
_MODULE = re.compile(
    rf"(?:module|mod\.?|m\s*=)\s*(?P<first>{_NUMBER})(?:\s+worm)?"
    rf"|(?P<second>{_NUMBER})\s*-?(?:module|mod\.?)(?:\s+worm)?|m\s*(?P<third>{_NUMBER})\s+worm",
    re.IGNORECASE | re.ASCII,
)
_DIAMETRAL_PITCH = re.compile(
    rf"(?P<first>{_NUMBER})\s*-?d\.?p\.?(?:\s+worm)?|d\.?p\.?\s*(?P<second>{_NUMBER})(?:\s+worm)?",
    re.IGNORECASE | re.ASCII,
)


def read_worm(typed: TypedThread) -> Thread | None:
    """Read a worm; its diameter is not part of the name.

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
        None where it is no worm.

    Raises
    ------
    RangeError
        If the pitch is beyond what a thread can have.

    Examples
    --------
    >>> round(float(read_worm(TypedThread("20 DP", "20 DP")).pitch_mm), 4)
    3.9898

    Source
    ------
    Gear textbooks, from memory.
    """
    if found := _MODULE.fullmatch(typed.rest):
        module = _exact(found)
        written, pitch = f"module {decimal(module)}", module_lead_mm(module) if module else Fraction(0)
    elif found := _DIAMETRAL_PITCH.fullmatch(typed.rest):
        teeth = _exact(found)
        written, pitch = f"{decimal(teeth)} DP", diametral_pitch_lead_mm(teeth) if teeth else Fraction(0)
    else:
        return None
    return settled(
        typed,
        written,
        form=WORM,
        series="worm",
        diameter_mm=None,
        pitch_mm=pitch,
        starts=typed.starts or 1,
    )


def _exact(found: re.Match) -> Fraction:
    return Fraction(next(filter(None, found.groups())).replace(",", "."))
