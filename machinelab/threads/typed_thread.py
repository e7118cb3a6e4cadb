"""What stands at the end of a designation: hand, starts, class of tolerance, the word special.

Everything else is left for the reader of the size. Nothing is guessed: what is not known stays in the rest.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from machinelab.errors import RangeError
from machinelab.units.typed_number import tidy

__all__ = ["TypedThread", "typed_thread"]

SPECIAL = "special"
MOST_STARTS = 24
_TIMES = str.maketrans({"×": "x", "✕": "x", "*": "x", "X": "x", "ø": " ", "Ø": " ", "⌀": " "})
_COUNTED = {"two": 2, "three": 3, "four": 4, "six": 6}
_GRADE = r"\d{1,2}[A-Ha-h]"
_HAND = r"(?:left|right)(?:[\s-]*hand(?:ed)?)?"


@dataclass(frozen=True)
class _Ending:
    """Something that may stand behind the size: how it looks, what it is, how it is read."""

    name: str
    said: str
    pattern: re.Pattern
    read: Callable[[str], object]


_ENDINGS = (
    _Ending(
        "hand",
        "hand",
        # A short hand may stand right behind the pitch, and any hand before the class.
        re.compile(rf"[\s-]+([lr]h|{_HAND})(?=[\s-]|$)|(?<=[\d)])([lr]h)(?=-|$)", re.IGNORECASE),
        lambda said: "left" if said[0] in "lL" else "right",
    ),
    _Ending(
        "starts",
        "number of starts",
        re.compile(r"[\s,-]+\(?(\d{1,3}|two|three|four|six)[\s-]*starts?\)?$", re.IGNORECASE),
        lambda said: _COUNTED.get(said.lower()) or int(said),
    ),
    _Ending(
        "special",
        "word special",
        re.compile(r"[\s-]+(special)$", re.IGNORECASE),
        lambda said: True,
    ),
    _Ending(
        "tolerance_class",
        "class of tolerance",
        re.compile(rf"(?:\s*-\s*|\s+)({_GRADE}(?:{_GRADE})?(?:/{_GRADE}(?:{_GRADE})?)?)$", re.ASCII),
        str,
    ),
    _Ending(
        "tolerance_class",
        "class of tolerance",
        re.compile(r"[\s-]+(close|medium|free|normal)(?:\s+(?:class|fit))?$", re.IGNORECASE),
        str.lower,
    ),
)


@dataclass(frozen=True)
class TypedThread:
    """A designation with what stood at its end taken off.

    Parameters
    ----------
    typed : str
        As the person typed it.
    rest : str
        Size, pitch and series.
    tolerance_class : str
        Empty where none was typed.
    starts : int or None [1]
        None where nothing was said.
    hand : str
        "left", "right", or empty where nothing was said.
    special : bool
        Whether it is said to be of no series.

    Source
    ------
    As typed.
    """

    typed: str
    rest: str
    tolerance_class: str = ""
    starts: int | None = None
    hand: str = ""
    special: bool = False


def typed_thread(typed: str) -> TypedThread:
    """Take off what stands at the end of a designation, in whatever order.

    Formula
    -------
    none: it reads text

    Parameters
    ----------
    typed : str
        As typed; signs of multiplication, blanks and fractions in any of their ways of writing.

    Returns
    -------
    TypedThread
        The end, and the rest for the reader of the size.

    Raises
    ------
    UnitError
        If nothing was typed, or far more than a designation needs.
    RangeError
        If the same thing is said twice, or the starts cannot be.

    Examples
    --------
    >>> typed_thread("Tr40x14P7 - 7e LH").rest
    'Tr40x14P7'

    Source
    ------
    Order of ISO 965-1, ISO 2904 and ASME B1.1 designations, from memory.
    """
    found = TypedThread(typed, tidy(typed).translate(_TIMES))
    while (shorter := _one_off(found)) is not None:
        found = shorter
    if found.starts is not None and not 1 <= found.starts <= MOST_STARTS:
        raise RangeError(
            f"{found.starts} starts: a thread has from 1 to {MOST_STARTS}; type it like 2 start."
        )
    return found


def _one_off(found: TypedThread) -> TypedThread | None:
    """The same with one ending less; None when none is left."""
    for ending in _ENDINGS:
        match = ending.pattern.search(found.rest)
        if match and match.start():
            return _without(found, ending, match)
    return None


def _without(found: TypedThread, ending: _Ending, match: re.Match) -> TypedThread:
    if getattr(found, ending.name):
        raise RangeError(f"The thread's {ending.said} is said twice; leave one of them out.")
    rest = found.rest[: match.start()].rstrip(" -,") + found.rest[match.end() :]
    said = next(filter(None, match.groups()))
    return replace(found, rest=rest, **{ending.name: ending.read(said)})
