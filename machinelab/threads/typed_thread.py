"""What stands at the end of a designation: hand, starts, class of tolerance, the word special.

Everything else is left for the reader of the size. Nothing is guessed: what is not known stays in the rest.
"""

import re
from dataclasses import dataclass, replace

from machinelab.errors import RangeError
from machinelab.units.typed_number import tidy

__all__ = ["TypedThread", "typed_thread"]

SPECIAL = "special"
MOST_STARTS = 24
_TIMES = str.maketrans({"×": "x", "✕": "x", "*": "x", "X": "x", "ø": " ", "Ø": " ", "⌀": " "})
_HAND = re.compile(
    r"[\s-]+(?P<hand>[lr]h|(?:left|right)(?:[\s-]*hand(?:ed)?)?)(?=[\s-]|$)|(?<=[\d)])(?P<close>[lr]h)(?=-|$)",
    re.IGNORECASE,
)
_STARTS = re.compile(r"[\s,-]+\(?(?P<starts>\d{1,3}|two|three|four|six)[\s-]*starts?\)?$", re.IGNORECASE)
_SPECIAL = re.compile(r"[\s-]+special$", re.IGNORECASE)
_GRADE = r"\d{1,2}[A-Ha-h]"
_CLASS = re.compile(
    rf"(?:\s*-\s*|\s+)(?P<tolerance>{_GRADE}(?:{_GRADE})?(?:/{_GRADE}(?:{_GRADE})?)?)$", re.ASCII
)
_FIT = re.compile(r"[\s-]+(?P<tolerance>close|medium|free|normal)(?:\s+(?:class|fit))?$", re.IGNORECASE)
_COUNTED = {"two": 2, "three": 3, "four": 4, "six": 6}


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
    for pattern, name in _ENDINGS:
        match = pattern.search(found.rest)
        if match and match.start():
            return _with(found, name, match)
    return None


def _with(found: TypedThread, name: str, match: re.Match) -> TypedThread:
    if getattr(found, name):
        raise RangeError(f"The thread's {_SAID[name]} is said twice; leave one of them out.")
    said = next(filter(None, match.groups()), "")
    rest = found.rest[: match.start()].rstrip(" -,") + found.rest[match.end() :]
    return replace(found, rest=rest, **{name: _READ[name](said)})


_ENDINGS = (
    (_HAND, "hand"),
    (_STARTS, "starts"),
    (_SPECIAL, "special"),
    (_CLASS, "tolerance_class"),
    (_FIT, "tolerance_class"),
)
_SAID = {
    "hand": "hand",
    "starts": "number of starts",
    "special": "word special",
    "tolerance_class": "class of tolerance",
}
_READ = {
    "hand": lambda said: "left" if said[0] in "lL" else "right",
    "starts": lambda said: _COUNTED.get(said.lower()) or int(said),
    "special": lambda said: True,
    "tolerance_class": lambda said: said,
}
