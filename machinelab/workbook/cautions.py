"""The cautions at each step of the workbook, read before anything is switched on.

They are words, not colours; each says what it rests on. They stand in ``tables/cautions.csv``.
"""

import html
from dataclasses import dataclass
from functools import cache

from machinelab import tables
from machinelab.errors import RangeError

_FIRST_WORD = "CAUTION: read this before anything is switched on"
LAST_WORD = (
    "Local wiring rules come first; have mains wiring inspected by a licensed electrician. "
    "This workbook advises; it drives no machine."
)
POP_OUT, ALWAYS, TRACE, SHEET = "pop-out", "always", "trace", "sheet"
SHOWN = (POP_OUT, ALWAYS, TRACE, SHEET)
STEPS = tuple(f"{number:02d}" for number in range(17))


@dataclass(frozen=True)
class Caution:
    """One caution: its words, the steps it belongs to, how it is shown there, and what it rests on.

    ``shown`` holds any of ``"pop-out"`` (first and in bold), ``"always"`` (on the page), ``"trace"`` (in the
    report of the control-box check) and ``"sheet"`` (on the printed sheet).
    """

    number: int
    words: str
    steps: tuple[str, ...]
    shown: tuple[str, ...]
    basis: str


@dataclass(frozen=True)
class Cautions:
    """The cautions of one step, as a page, as Markdown or as plain text."""

    step: str
    cautions: tuple[Caution, ...]

    def __iter__(self):
        return iter(self.cautions)

    def __len__(self):
        return len(self.cautions)

    def __str__(self) -> str:
        lines = [f"CAUTION {one.number}: {one.words} [{one.basis}.]" for one in self._most_pressing_first()]
        return "\n".join([*lines, LAST_WORD])

    def _repr_markdown_(self) -> str:
        lines = [
            f"- {f'**{one.words}**' if 'pop-out' in one.shown else one.words} *({one.basis}.)*"
            for one in self._most_pressing_first()
        ]
        return "\n".join([f"**{_FIRST_WORD}**", "", *lines, "", LAST_WORD])

    def _repr_html_(self) -> str:
        # Black on white in any theme, a thick edge, and the word itself: no colour has to be seen.
        items = "".join(_item(one) for one in self._most_pressing_first())
        return (
            '<section role="note" aria-label="cautions" style="border:3px solid #000;background:#fff;'
            'color:#000;padding:0.6em 1em;max-width:50em;line-height:1.4">'
            f'<p style="margin:0 0 0.4em"><strong>{html.escape(_FIRST_WORD)}</strong></p>'
            f'<ul style="margin:0 0 0.6em;padding-left:1.4em">{items}</ul>'
            f'<p style="margin:0"><strong>{html.escape(LAST_WORD)}</strong></p></section>'
        )

    def _most_pressing_first(self) -> list[Caution]:
        return sorted(self.cautions, key=lambda one: min(SHOWN.index(way) for way in one.shown))


def _item(one: Caution) -> str:
    words = html.escape(one.words)
    words = f"<strong>{words}</strong>" if POP_OUT in one.shown else words
    return f'<li style="margin:0.2em 0">{words} <small>({html.escape(one.basis)}.)</small></li>'


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Every caution, in the order of its number."""
    return tuple(_caution(row) for row in tables.read("cautions"))


def _caution(row: dict[str, str]) -> Caution:
    steps, shown = row["steps"].split(), row["shown"].split()
    return Caution(int(row["number"]), row["words"], tuple(steps), tuple(shown), row["source"])


def cautions(step: str | int) -> tuple[Caution, ...]:
    """The cautions of one step of the workbook.

    Parameters
    ----------
    step : str or int
        The step's number, ``"05"``.

    Returns
    -------
    tuple of Caution
        In the order of their numbers.

    Raises
    ------
    RangeError
        When there is no such step.

    Examples
    --------
    >>> [one.number for one in cautions("14") if "pop-out" in one.shown]
    [9, 10, 24]
    """
    wanted = f"{step:02d}" if isinstance(step, int) else step
    if wanted not in STEPS:
        raise RangeError(f"There is no step {step!r}. The steps are {STEPS[0]} to {STEPS[-1]}.")
    return tuple(one for one in all_cautions() if wanted in one.steps)


def show_cautions(step: str | int) -> Cautions:
    """The cautions of one step, ready to stand in a notebook.

    Parameters
    ----------
    step : str or int
        The step's number, ``"05"``.

    Returns
    -------
    Cautions
        Shows itself as the last line of a cell.

    Examples
    --------
    >>> print(str(show_cautions("07")).split(".")[0])
    CAUTION 12: Before hands go in: plug out and in your sight
    """
    found = cautions(step)
    return Cautions(f"{step:02d}" if isinstance(step, int) else step, found)
