"""Between which sizes a thread's diameters must stand, whatever standard it belongs to."""

from contextlib import suppress

from machinelab.errors import RangeError
from machinelab.threads.ba_limits import BA_CLASSES, ba_limits
from machinelab.threads.limit_sizes import Limits
from machinelab.threads.metric_limits import METRIC_CLASSES, metric_limits
from machinelab.threads.pipe_limits import PIPE_CLASSES, pipe_limits
from machinelab.threads.profile import BA, METRIC, TRAPEZOIDAL, UNIFIED, WHITWORTH
from machinelab.threads.thread import Thread
from machinelab.threads.trapezoidal_limits import TRAPEZOIDAL_CLASSES, trapezoidal_limits
from machinelab.threads.unified_limits import UNIFIED_CLASSES, unified_limits
from machinelab.threads.whitworth_limits import WHITWORTH_CLASSES, whitworth_limits
from machinelab.units.typed_number import in_short

__all__ = ["Limits", "classes_of", "limits"]

LONGEST_CLASS = 20
_BY_FORM = {
    METRIC.name: (metric_limits, METRIC_CLASSES),
    UNIFIED.name: (unified_limits, UNIFIED_CLASSES),
    TRAPEZOIDAL.name: (trapezoidal_limits, TRAPEZOIDAL_CLASSES),
    WHITWORTH.name: (whitworth_limits, WHITWORTH_CLASSES),
    BA.name: (ba_limits, BA_CLASSES),
}
_BY_SERIES = {"G": (pipe_limits, PIPE_CLASSES), **dict.fromkeys(("R", "Rc", "Rp"), (None, ()))}


def limits(thread, tolerance_class=""):
    """Lowest and highest size of each diameter of a screw or a nut.

    A class of the metric threads is a grade and a position, such as 6g for a screw and 6H for a nut; Unified
    threads have 1A to 3A and 1B to 3B. Whitworth classes are words with the side behind: medium screw.

    Formula
    -------
    none: by the table or the formulas of the thread's own standard

    Parameters
    ----------
    thread : Thread
        The thread.
    tolerance_class : str
        The class; empty for the one that stands in the designation.

    Returns
    -------
    Limits
        Outside, pitch and inside diameter, each from lowest to highest.

    Range
    -----
    Normal lengths of engagement, uncoated.

    Raises
    ------
    RangeError
        If no such limits are known; the message lists those that are.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> limits(parse("M10x1.5-6g")).pitch_mm
    (8.862, 8.994)

    Source
    ------
    ISO 965-1, ASME B1.1, BS 84, DIN 103, ISO 228-1; the source of each figure stands in the result.
    """
    make, _ = _rule(thread)
    asked = (tolerance_class or thread.tolerance_class).strip()
    if make is None:
        raise RangeError(
            f"{thread.designation}: no published limits are known here for this kind of thread. "
            "Cut it to its basic sizes and try it with its mating part."
        )
    if not asked or "/" in asked:
        raise RangeError(
            f"{thread.designation}: name one class, of the screw or of the nut. {_there_are(thread)}"
        )
    if len(asked) > LONGEST_CLASS:
        raise RangeError(f"{in_short(asked)} is no class of a thread. {_there_are(thread)}")
    return make(thread, asked)


def classes_of(thread):
    """The usual classes for which the limits of a thread are known.

    Formula
    -------
    none: a list by standard

    Parameters
    ----------
    thread : Thread
        The thread.

    Returns
    -------
    tuple of str
        Classes of screws, then of nuts; empty where no published limits are known.

    Examples
    --------
    >>> from machinelab.threads.form import parse
    >>> classes_of(parse("1/4-20"))
    ('1A', '2A', '3A', '1B', '2B', '3B')

    Source
    ------
    ISO 965-1, ASME B1.1, BS 84, DIN 103 and ISO 228-1, from memory.
    """
    make, usual = _rule(thread)
    return tuple(name for name in usual if _has_limits(make, thread, name))


def _there_are(thread: Thread) -> str:
    known = classes_of(thread)
    return f"There are {', '.join(known)}." if known else "No published limits are known here for its size."


def _has_limits(make, thread: Thread, tolerance_class: str) -> bool:
    with suppress(RangeError):
        make(thread, tolerance_class)
        return True
    return False


def _rule(thread: Thread):
    return _BY_SERIES.get(thread.series) or _BY_FORM.get(thread.form.name, (None, ()))
