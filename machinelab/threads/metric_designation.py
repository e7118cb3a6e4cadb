"""Metric and trapezoidal threads: M10x1.5-6g, M16xPh3P1.5, Tr40x14P7 LH."""

import re
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.threads.nearest_threads import in_no_series
from machinelab.threads.profile import METRIC, TRAPEZOIDAL, ThreadForm
from machinelab.threads.settled_thread import settled
from machinelab.threads.standard_sizes import decimal, standard_sizes
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["read_metric", "read_trapezoidal"]

_NUMBER = r"\d{1,4}(?:[.,]\d{1,4})?|[.,]\d{1,4}"
_METRIC = re.compile(
    rf"m\s*(?P<size>{_NUMBER})\s*(?:mm)?"
    rf"(?:\s*[x-]\s*(?:ph\s*(?P<lead>{_NUMBER})\s*p\s*)?(?P<pitch>{_NUMBER})\s*(?:mm)?)?(?:\s+(?P<word>coarse|fine))?",
    re.IGNORECASE | re.ASCII,
)
_TRAPEZOIDAL = re.compile(
    rf"tr\s*(?P<size>{_NUMBER})\s*x\s*(?P<pitch>{_NUMBER})(?:\s*\(?p\s*(?P<of_several>{_NUMBER})\)?)?",
    re.IGNORECASE | re.ASCII,
)
_HINT = "If it is meant as it stands, add the word special."
_SEVERAL = "Of several starts type the lead and behind the P the pitch, such as Tr40x14P7."


def read_metric(typed: TypedThread) -> Thread | None:
    """Read a metric thread; a coarse pitch may be left out.

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
        None where it is no metric designation at all.

    Raises
    ------
    RangeError
        If no series has it and it is not said to be special.

    Examples
    --------
    >>> read_metric(TypedThread("M10", "M10")).pitch_mm
    Fraction(3, 2)

    Source
    ------
    ISO 261 and ISO 965-1, from memory.
    """
    found = _METRIC.fullmatch(typed.rest)
    if not found:
        return None
    diameter = _exact(found["size"])
    pitch = _exact(found["pitch"]) if found["pitch"] else _only_pitch(typed, diameter, found["word"])
    starts = _starts(typed, pitch, _exact(found["lead"]) if found["lead"] else None)
    return _of_form(typed, METRIC, diameter, pitch, starts)


def read_trapezoidal(typed: TypedThread) -> Thread | None:
    """Read a trapezoidal thread; of several starts the lead stands first and the pitch behind the P.

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
        None where it is no trapezoidal designation at all.

    Raises
    ------
    RangeError
        If no series has it and it is not said to be special.

    Examples
    --------
    >>> read_trapezoidal(TypedThread("Tr40x14P7", "Tr40x14P7")).starts
    2

    Source
    ------
    ISO 2904, from memory.
    """
    found = _TRAPEZOIDAL.fullmatch(typed.rest)
    if not found:
        return None
    pitch, lead = _exact(found["pitch"]), None
    if found["of_several"]:
        pitch, lead = _exact(found["of_several"]), pitch
    return _of_form(typed, TRAPEZOIDAL, _exact(found["size"]), pitch, _starts(typed, pitch, lead))


def _of_form(
    typed: TypedThread, form: ThreadForm, diameter: Fraction, pitch: Fraction, starts: int
) -> Thread:
    sizes = standard_sizes("metric coarse", "metric fine") if form is METRIC else standard_sizes("Tr")
    listed = {(size.nominal_diameter_mm, size.pitch_mm): size.series for size in sizes}
    series = listed.get((diameter, pitch), "")
    if not series and not typed.special:
        hint = _SEVERAL if form is TRAPEZOIDAL and starts > 1 else _HINT
        told = in_no_series(
            typed, form=form, nominal_diameter_mm=diameter or None, pitch_mm=pitch or None, instead=hint
        )
        raise RangeError(told)
    several = f"Ph{decimal(pitch * starts)}P" if starts > 1 else ""
    written = f"M{decimal(diameter)}x{several}{decimal(pitch)}"
    if form is TRAPEZOIDAL:
        several = f"{decimal(pitch * starts)}P" if starts > 1 else ""
        written = f"Tr{decimal(diameter)}x{several}{decimal(pitch)}"
    return settled(
        typed, written, form=form, series=series, diameter_mm=diameter, pitch_mm=pitch, starts=starts
    )


def _only_pitch(typed: TypedThread, diameter: Fraction, word: str | None) -> Fraction:
    """The coarse pitch, or the fine one where a diameter has only that."""
    wanted = f"metric {word.lower()}" if word else "metric coarse"
    pitches = [size.pitch_mm for size in standard_sizes(wanted) if size.nominal_diameter_mm == diameter]
    if len(pitches) == 1:
        return pitches[0]
    if pitches:
        named = ", ".join(f"M{decimal(diameter)}x{decimal(pitch)}" for pitch in pitches)
        raise RangeError(f"{in_short(typed.typed)} does not say which fine pitch: type one of {named}.")
    reason = "Type the pitch behind it, such as M10x1."
    raise RangeError(
        in_no_series(typed, form=METRIC, nominal_diameter_mm=diameter or None, pitch_mm=None, instead=reason)
    )


def _starts(typed: TypedThread, pitch: Fraction, lead: Fraction | None) -> int:
    if lead is None:
        return typed.starts or 1
    if not pitch or (lead / pitch).denominator != 1:
        raise RangeError(
            f"A lead of {decimal(lead)} mm does not hold a pitch of {decimal(pitch)} mm a whole number of "
            "times. Type the lead and behind the P the pitch: Tr40x14P7, M16xPh3P1.5."
        )
    starts = int(lead / pitch)
    if typed.starts not in (None, starts):
        raise RangeError(f"{typed.starts} starts were typed, and {starts} follow from lead and pitch.")
    return starts


def _exact(text: str) -> Fraction:
    return Fraction(text.replace(",", "."))
