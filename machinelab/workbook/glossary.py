"""The words used here: each term in plain words, its sign and unit, and the pages on which it occurs.

Two sources and no third: `trade_words` explains the words of the trade and of the workbook, the nomenclature
what stands behind the signs of formulas. Where a term occurs is read from the notebooks themselves.
"""

import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from machinelab.tables import Quantity, nomenclature, read
from machinelab.workbook.machine.folders import machines_folder
from machinelab.workbook.steps import Step, steps
from machinelab.worked.lettering import UNICODE

WRITTEN = ("text/markdown", "text/plain")


@dataclass(frozen=True)
class Term:
    """One word or sign: what it means, how it is written in formulas, its unit, and where it occurs."""

    word: str
    meaning: str
    symbol: str
    unit: str
    pages: tuple[Step, ...]

    def speaks_of(self, asked: str) -> bool:
        """Whether who asks for this may mean the term: its word, its sign, or words of its meaning."""
        if asked == self.symbol:
            return True
        return asked.lower() in f"{self.word} {self.meaning}".lower()


@cache
def terms() -> tuple[Term, ...]:
    """Every term that occurs on a page: the trade's words first, then the signs of the formulas."""
    written = {one: page_text(one) for one in steps()}
    words = [_word(row, written) for row in read("trade_words")]
    signs = [_sign(one, written) for one in nomenclature().values() if one.is_number and one.symbol]
    found = [one for one in (*words, *signs) if one.pages]
    return tuple(found)


def looked_up(asked: str) -> tuple[Term, ...]:
    """The terms that a person may mean, those whose own word it is before those that only mention it."""
    asked = " ".join(asked.split())
    if not asked:
        return tuple(one for one in terms() if one.word)
    found = [one for one in terms() if one.speaks_of(asked)]
    return tuple(sorted(found, key=lambda one: (not _is_it(one, asked), not one.word)))


@cache
def page_text(step: Step) -> str:
    """What stands written on a step's page, as it was stored: its prose and what its cells show."""
    if not step.notebook:
        return ""
    file: Path = machines_folder().parent / step.notebook
    cells = json.loads(file.read_text(encoding="utf-8"))["cells"]
    prose = ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")
    shown = (
        "".join(output.get("data", {}).get(kind, ""))
        for cell in cells
        for output in cell.get("outputs", ())
        for kind in WRITTEN
    )
    return "\n".join([*prose, *shown])


def _is_it(term: Term, asked: str) -> bool:
    return asked == term.symbol or term.word.lower().startswith(asked.lower())


def _word(row: dict[str, str], written: dict[Step, str]) -> Term:
    forms = [row["word"], *filter(None, row["other_forms"].split(";"))]
    behind = nomenclature().get(row["quantity"])
    symbol, unit = (behind.symbol, _unit(behind)) if behind else ("", "")
    # A verdict is a word of its own only in capitals; of all others the case is left alone, as it costs time.
    as_read = str if row["word"].isupper() else str.lower
    sought = re.compile(rf"(?<!\w)(?:{'|'.join(re.escape(as_read(form)) for form in forms)})")
    pages = tuple(one for one, text in written.items() if sought.search(as_read(text)))
    return Term(row["word"], row["meaning"], symbol, unit, pages)


def _sign(one: Quantity, written: dict[Step, str]) -> Term:
    """A quantity that a worked calculation spells out: its meaning ends a line there, apart from the rest."""
    spelt = f"  {one.meaning}\n"
    pages = tuple(step for step, text in written.items() if spelt in text)
    return Term("", one.meaning, one.symbol, _unit(one), pages)


def _unit(one: Quantity) -> str:
    written = UNICODE.unit(one.unit, many=False).strip()
    return f"1{written}" if written.startswith("/") else written
