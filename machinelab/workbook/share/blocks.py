"""The pieces of a post: what stands in it, with no thought yet of where it will be read."""

import re
from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.workbook.verdict import WORDS

# Nothing in it that could end an address in any of the ways of writing.
_ADDRESS = re.compile(r"https?://[A-Za-z0-9_./:?&=%+~#@,;-]+")


@dataclass(frozen=True)
class Paragraph:
    """Running text; a line break in it stays one."""

    text: str


@dataclass(frozen=True)
class Calculation:
    """A calculation to be followed line by line.

    ``formula`` and ``numbers`` are lines of plain text: the formula, and the same with numbers and units in
    place. ``verdict`` is a verdict word, perhaps with a colon and a sentence behind it.
    """

    title: str
    formula: tuple[str, ...]
    numbers: tuple[str, ...]
    result: str
    source: str
    verdict: str = ""
    meaning: str = ""
    assumptions: tuple[str, ...] = ()

    @property
    def verdict_parts(self) -> tuple[str, str]:
        """The verdict word, and what stands behind it; both empty without a verdict."""
        word, _, sentence = self.verdict.partition(":")
        return (word, sentence.strip()) if word in WORDS else ("", self.verdict)


@dataclass(frozen=True)
class Table:
    """Rows of text under headings."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""

    def __post_init__(self):
        uneven = [number for number, row in enumerate(self.rows, 1) if len(row) != len(self.headings)]
        if uneven or not self.headings:
            raise RangeError(
                f"A table has as many cells in each row as headings ({len(self.headings)}); "
                f"look at row {uneven[0] if uneven else 1}."
            )


@dataclass(frozen=True)
class Notes:
    """A list of short remarks."""

    items: tuple[str, ...]
    title: str = "Notes"


@dataclass(frozen=True)
class Picture:
    """A picture with the words that stand for it; its address, once it was put somewhere.

    ``png`` is the picture itself, for a page that carries it along; a forum wants its address.
    """

    alt: str
    png: bytes = b""
    url: str = ""

    def __post_init__(self):
        if not self.alt.strip():
            raise RangeError("Say in words what the picture shows; not everyone can see it.")
        if self.url and not _ADDRESS.fullmatch(self.url):
            raise RangeError(
                f"The picture's address begins with https:// and has no blanks: {self.url[:60]!r}."
            )


Block = Paragraph | Calculation | Table | Notes | Picture


def calculation(working, *, verdict="", meaning: str = "", assumptions: tuple[str, ...] = ()) -> Calculation:
    """A worked calculation as a piece of a post.

    Parameters
    ----------
    working : Working
        From `machinelab.worked`: formula, numbers in place, result and source.
    verdict : Verdict or str
        What the result proves about a limit.
    meaning : str
        One line: what the result means for this machine.
    assumptions : tuple of str
        What was taken for granted.

    Returns
    -------
    Calculation
        The same, ready for any kind of page.

    Examples
    --------
    >>> from machinelab.spindle.encoder import edge_rate_hz
    >>> from machinelab.worked import worked
    >>> calculation(worked(edge_rate_hz, speed_rpm=2000, counts_per_spindle_turn=2700)).result
    'f_e = 90000 Hz'
    """
    return Calculation(
        title=working.title,
        formula=tuple(working.formula_lines),
        numbers=tuple(working.substituted_lines),
        result=working.result_text,
        source=working.source,
        verdict=str(verdict),
        meaning=meaning,
        assumptions=tuple(assumptions),
    )
