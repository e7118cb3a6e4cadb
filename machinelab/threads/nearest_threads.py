"""When a designation fits no series: which threads come nearest, in letters or in size."""

import difflib
from fractions import Fraction
from functools import cache
from math import log

from machinelab.threads.profile import ThreadForm
from machinelab.threads.standard_sizes import StandardSize, standard_sizes
from machinelab.threads.typed_thread import TypedThread
from machinelab.units.typed_number import in_short

__all__ = ["in_no_series", "not_understood"]

MOST_NAMED = 3
# Named after the bore of a pipe, so that no diameter leads to them.
PIPES = ("G", "R", "NPT")
_EXAMPLES = "M10x1, 3/8-16 UNC, 26 tpi cycle, 3/8 BSW, Tr14x3, 1/2-10 Acme, G1/2, module 1 or 20 DP"


def not_understood(typed: TypedThread) -> str:
    """The words for a designation that cannot be read.

    Formula
    -------
    none: it compares text

    Parameters
    ----------
    typed : TypedThread
        What was typed.

    Returns
    -------
    str
        A message that names the nearest designations.

    Examples
    --------
    >>> "Did you mean M10x1," in not_understood(TypedThread("N10x1", "N10x1"))
    True

    Source
    ------
    Letters compared with the table of sizes.
    """
    shown = in_short(typed.typed)
    close = difflib.get_close_matches(in_short(typed.rest), _designations(), n=MOST_NAMED, cutoff=0.6)
    if close:
        return f"{shown} is no designation of a thread that is known here. Did you mean {_either(close)}?"
    return f"{shown} is no designation of a thread that is known here. Type one like {_EXAMPLES}."


def in_no_series(
    typed: TypedThread,
    *,
    form: ThreadForm | None,
    nominal_diameter_mm: Fraction | None,
    pitch_mm: Fraction | None,
    instead: str = "",
) -> str:
    """The words for a size and pitch that no series has.

    Formula
    -------
    none: a search in the table of sizes

    Parameters
    ----------
    typed : TypedThread
        What was typed.
    form : ThreadForm or None
        Only threads of this form are named; None for all forms.
    nominal_diameter_mm, pitch_mm : Fraction or None [mm, mm]
        As far as they were typed.
    instead : str
        What to type if it is meant as it stands; empty where nothing helps.

    Returns
    -------
    str
        A message that names the nearest threads.

    Examples
    --------
    >>> from machinelab.threads.profile import METRIC
    >>> typed = TypedThread("M10x1.1", "M10x1.1")
    >>> ten, pitch = Fraction(10), Fraction("1.1")
    >>> print(in_no_series(typed, form=METRIC, nominal_diameter_mm=ten, pitch_mm=pitch))
    M10x1.1 is in no series that is known here. The nearest are M10x1, M10x1.25 and M10x1.5.

    Source
    ------
    The table of sizes; nearness by the ratios of diameters and pitches, our own.
    """
    sizes = [size for size in standard_sizes() if size.series not in PIPES and form in (None, size.form)]
    sizes.sort(key=lambda size: _distance(size, nominal_diameter_mm, pitch_mm))
    named = _listed([size.designation for size in sizes[:MOST_NAMED]])
    told = f"{in_short(typed.typed)} is in no series that is known here. The nearest are {named}."
    return f"{told} {instead}".strip()


def _distance(size: StandardSize, diameter_mm: Fraction | None, pitch_mm: Fraction | None) -> float:
    """A diameter that is out is worse than a pitch that is: the bar is turned already."""
    diameter = abs(log(size.nominal_diameter_mm / diameter_mm)) if diameter_mm else 0.0
    pitch = abs(log(size.pitch_mm / pitch_mm)) if pitch_mm else 0.0
    return 3 * diameter + pitch


@cache
def _designations() -> tuple[str, ...]:
    worms = ("module 1", "module 1.5", "module 2", "20 DP", "24 DP", "32 DP", "26 tpi cycle", "24 tpi cycle")
    return (*(size.designation for size in standard_sizes()), *worms)


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)


def _either(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} or {names[-1]}" if len(names) > 1 else "".join(names)
