"""The commissioning report: what was proven on a machine, to be printed and handed over with it.

`report_of` makes it from a machine and its record; it goes out as a PDF (A4 or Letter) and as a page that
carries everything along. It certifies nothing.
"""

from dataclasses import dataclass
from datetime import date

from machinelab.workbook import machine_tables
from machinelab.workbook.card.machine_rows import record_words
from machinelab.workbook.cautions import LAST_WORD, SHEET, all_cautions
from machinelab.workbook.machine import Machine
from machinelab.workbook.record.history import HEADINGS, NOTHING, histories, set_aside, sheet_rows
from machinelab.workbook.record_summary import RecordSummary
from machinelab.workbook.share import Block, Notes, Paragraph, Table
from machinelab.workbook.verdict import RULE

WHAT_IT_IS = (
    "This report says what one person measured, on the days named, with the uncertainties named. "
    "It certifies nothing, and it is no approval of a machine."
)
INVENTED = "INVENTED: a sample record, to show what a report looks like. Nothing in it was measured."


@dataclass(frozen=True)
class Report:
    """A title, when and from what it was made, and what stands under it."""

    title: str
    made: str
    blocks: tuple[Block, ...]


def report_of(
    machine: Machine, summary: RecordSummary, *, day: date | None = None, is_sample: bool = False
) -> Report:
    """The commissioning report of a machine, as it stands today."""
    day = day or date.today()
    source = "an invented sample record" if is_sample else record_words(machine)
    lines = summary.lines
    changed = [one.row for one in histories(lines).values() if len(one.measurements) > 1]
    blocks = (
        Paragraph(f"{INVENTED} {WHAT_IT_IS}" if is_sample else WHAT_IT_IS),
        Paragraph(LAST_WORD),
        Paragraph(summary.headline),
        _table("Inspection sheet", HEADINGS, sheet_rows(lines), "The record is empty."),
        Paragraph(f"U is the expanded uncertainty, k = 2. {RULE}"),
        Notes(summary.told, "Open points and next check"),
        Notes(tuple(one.words for one in all_cautions() if SHEET in one.shown), "Cautions"),
        Notes(set_aside(lines) or ("No line was corrected or withdrawn.",), "Corrected or withdrawn"),
        _table(
            "Changes since a quantity was first measured",
            ("quantity", "first", "last", "E_n", "changed"),
            changed,
            "No quantity has been measured twice yet.",
        ),
        _table("Steps", ("step", "stands", "lines", "last", "open"), summary.step_rows, ""),
        _table(
            "Machine as built", ("part", "lines", "what is known"), machine_tables.known(machine).rows, ""
        ),
    )
    return Report(
        f"Commissioning report: {machine.name}", f"Made on {day.day} {day:%B %Y} from {source}", blocks
    )


def _table(title: str, headings, rows, empty: str) -> Block:
    """A table, or a word where it would have no rows."""
    if not rows:
        return Notes((empty,), title)
    return Table(headings, tuple(tuple(cell or NOTHING for cell in row) for row in rows), title)
