"""The settled thread: what was read, checked for sense, with the one way to write it."""

import re
from fractions import Fraction

from machinelab.errors import RangeError
from machinelab.threads.profile import (
    ACME,
    BA,
    METRIC,
    TRAPEZOIDAL,
    UNIFIED,
    WHITWORTH,
    ThreadForm,
)
from machinelab.threads.thread import Thread
from machinelab.threads.typed_thread import MOST_STARTS, SPECIAL, TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["settled"]

FINEST_PITCH_MM, COARSEST_PITCH_MM = Fraction(1, 20), Fraction(60)
# What a class of tolerance looks like, and an example of each.
_ISO = r"[3-9][a-h](?:[3-9][a-h])?|[4-8][GH](?:[4-8][GH])?"
_CLASSES = {
    METRIC.name: (rf"(?:{_ISO})(?:/(?:{_ISO}))?", "6g for a screw, 6H for a nut"),
    UNIFIED.name: (r"[123][AB]", "2A for a screw, 2B for a nut"),
    TRAPEZOIDAL.name: (r"[6-9][ceg]|[4-9]H|[4-9]H/[6-9][ceg]", "7e for a screw, 7H for a nut"),
    ACME.name: (r"[2-5][GC]", "2G"),
    WHITWORTH.name: (r"close|medium|free|normal", "medium"),
    BA.name: (r"close|normal", "normal"),
    "G": (r"[AB]", "A, or the wider B, for an outside thread"),
    **dict.fromkeys(("R", "Rc", "Rp"), ("", "")),
}


def settled(
    typed: TypedThread,
    written: str,
    *,
    form: ThreadForm,
    series: str,
    diameter_mm: Fraction | None,
    pitch_mm: Fraction,
    starts: int,
    taper: Fraction = Fraction(0),
) -> Thread:
    """Put a thread together and write its designation in the one settled way.

    Formula
    -------
    none: it puts text together

    Parameters
    ----------
    typed : TypedThread
        What was typed.
    written : str
        Size, pitch and series as settled.
    form : ThreadForm
        Its form.
    series : str
        Its series; empty for a special size.
    diameter_mm, pitch_mm : Fraction or None [mm, mm]
        Nominal diameter and pitch.
    starts : int [1]
        Number of starts.
    taper : Fraction [1]
        Growth of the diameter along the axis.

    Returns
    -------
    Thread
        The thread.

    Raises
    ------
    RangeError
        If the pitch cannot go on the diameter, or the class of tolerance is not one of this form.

    Examples
    --------
    >>> from machinelab.threads.typed_thread import typed_thread
    >>> ten = {"diameter_mm": Fraction(10), "pitch_mm": Fraction(1)}
    >>> thread = settled(
    ...     typed_thread("M10*1 left"), "M10x1", form=METRIC, series="metric fine", starts=1, **ten
    ... )
    >>> thread.designation
    'M10x1 LH'

    Source
    ------
    ISO 965-1 for the order, from memory.
    """
    _check_pitch(typed, form, diameter_mm, pitch_mm)
    _check_class(typed, form, series)
    if starts > MOST_STARTS:
        raise RangeError(
            f"{in_short(typed.typed)} would have {starts} starts; there are at most {MOST_STARTS}."
        )
    several = starts > 1 and form not in (METRIC, TRAPEZOIDAL)
    parts = (
        written,
        "" if series else f" {SPECIAL}",
        f" {starts} start" if several else "",
        f"-{typed.tolerance_class}" if typed.tolerance_class else "",
        " LH" if typed.hand == "left" else "",
    )
    return Thread(
        designation="".join(parts),
        form=form,
        series=series or SPECIAL,
        nominal_diameter_mm=diameter_mm,
        pitch_mm=pitch_mm,
        starts=starts,
        hand=typed.hand or "right",
        tolerance_class=typed.tolerance_class,
        taper=taper,
    )


def _check_pitch(
    typed: TypedThread, form: ThreadForm, diameter_mm: Fraction | None, pitch_mm: Fraction
) -> None:
    if not FINEST_PITCH_MM <= pitch_mm <= COARSEST_PITCH_MM:
        raise RangeError(
            f"{in_short(typed.typed)} has a pitch of {float(pitch_mm):g} mm; "
            f"threads have from {float(FINEST_PITCH_MM):g} to {float(COARSEST_PITCH_MM):g} mm."
        )
    depth = (form.crest_height + form.root_depth) * float(pitch_mm)
    if diameter_mm is not None and float(diameter_mm) <= 3 * depth:
        raise RangeError(
            f"{in_short(typed.typed)} would be cut {depth:.3g} mm deep into {float(diameter_mm):g} mm: "
            "too coarse a pitch for its diameter. Type the diameter first, then the pitch."
        )


def _check_class(typed: TypedThread, form: ThreadForm, series: str) -> None:
    if not typed.tolerance_class:
        return
    pattern, example = _CLASSES.get(series) or _CLASSES.get(form.name, ("", ""))
    if not pattern:
        raise RangeError(
            f"{in_short(typed.typed)}: threads of the {form.name} form have no class that is known here."
        )
    if not re.fullmatch(pattern, typed.tolerance_class, re.ASCII):
        raise RangeError(
            f"{in_short(typed.typed)}: {typed.tolerance_class} is no class of tolerance of the {form.name} "
            f"form. Type {example}."
        )
