"""The report on paper: headings, words and tables flowing over as many sheets as they need."""

from collections.abc import Iterator
from dataclasses import dataclass

from machinelab.workbook.card.lettering import in_type, line_mm, width_mm
from machinelab.workbook.card.paper import (
    HIGH_MM,
    PAD_MM,
    WIDE_MM,
    Block,
    Sheet,
    lines_of,
    pdf_of,
    preview_dots_per_inch,
)
from machinelab.workbook.report import Report
from machinelab.workbook.share import Notes, Paragraph, Table

TEXT_PT, HEADING_PT, TITLE_PT = 8.5, 11.0, 16.0
# A cell that is longer is cut off; the page beside it has it whole.
MOST_LINES = 24
# A heading with less than this below it goes to the next sheet.
KEPT_TOGETHER_MM = 22.0
# No column is narrower, so that a cell without words still has a place.
NARROWEST_MM = 8.0


@dataclass(frozen=True)
class Piece:
    """A part of the report that is never parted; the headings of its table come again on a new sheet."""

    block: Block
    ruled: bool = False
    headings: Block | None = None
    wants_mm: float = 0.0

    @property
    def high_mm(self) -> float:
        """How high it is."""
        return self.block.high_mm


def pdf(report: Report, paper: str = "A4") -> bytes:
    """The report as a PDF file."""
    return pdf_of(figures(report, paper), report.title)


def pictures(report: Report, paper: str = "A4"):
    """Each sheet as a picture with its words, to look at before it is printed."""
    import matplotlib

    from machinelab.workbook.figures.base import show

    dots = preview_dots_per_inch(paper)
    # Without hinting a letter is as wide on the screen as on paper.
    with matplotlib.rc_context({"text.hinting": "none"}):
        sheets = list(figures(report, paper, dots_per_inch=dots))
        said = f"{report.title}. The words of it stand in the tables of this page."
        return tuple(
            show(sheet, alt=f"Sheet {number} of {len(sheets)}: {said}")
            for number, sheet in enumerate(sheets, start=1)
        )


def figures(report: Report, paper: str = "A4", *, dots_per_inch: float = 100.0) -> Iterator:
    """The sheets of the report as figures."""
    shared = _shared_out(list(_pieces(report)))
    for number, pieces in enumerate(shared, start=1):
        sheet, at = Sheet(paper, dots_per_inch), 0.0
        for piece in pieces:
            sheet.put(piece.block, at)
            at += piece.high_mm
            if piece.ruled:
                sheet.rule(at)
        sheet.put(_foot(report.title, number, len(shared)), HIGH_MM - line_mm(TEXT_PT))
        yield sheet.figure


def _shared_out(pieces: list[Piece]) -> list[list[Piece]]:
    """Which pieces go on which sheet."""
    room = HIGH_MM - 2 * line_mm(TEXT_PT)
    sheets: list[list[Piece]] = [[]]
    left = room
    for piece in pieces:
        if sheets[-1] and max(piece.high_mm, piece.wants_mm) > left:
            again = [Piece(piece.headings, ruled=True)] if piece.headings else []
            sheets.append(again)
            left = room - sum(one.high_mm for one in again)
        sheets[-1].append(piece)
        left -= piece.high_mm
    return sheets


def _pieces(report: Report) -> Iterator[Piece]:
    yield Piece(_words(report.title, size=TITLE_PT, bold=True))
    yield Piece(_words(report.made))
    for block in report.blocks:
        yield from _PIECES[type(block)](block)


def _paragraph(block: Paragraph) -> Iterator[Piece]:
    yield Piece(_words(block.text))


def _notes(block: Notes) -> Iterator[Piece]:
    yield _heading(block.title)
    yield from (Piece(_words(f"- {item}")) for item in block.items)


def _table(block: Table) -> Iterator[Piece]:
    widths = _widths_mm(block)
    headings = _row(block.headings, widths, bold=True)
    yield _heading(block.title)
    yield Piece(headings, ruled=True)
    yield from (Piece(_row(row, widths), ruled=True, headings=headings) for row in block.rows)


_PIECES = {Paragraph: _paragraph, Notes: _notes, Table: _table}


def _heading(title: str) -> Piece:
    lines = lines_of(title, 0, WIDE_MM, 2 * PAD_MM, size=HEADING_PT, bold=True, most=2)
    high = 3 * PAD_MM + len(lines) * line_mm(HEADING_PT)
    return Piece(Block(tuple(lines), high), wants_mm=high + KEPT_TOGETHER_MM)


def _words(text: str, *, size: float = TEXT_PT, bold: bool = False) -> Block:
    lines = lines_of(text, 0, WIDE_MM, 0, size=size, bold=bold, most=MOST_LINES)
    return Block(tuple(lines), len(lines) * line_mm(size) + PAD_MM / 2)


def _row(cells, widths_mm, *, bold: bool = False) -> Block:
    words, left, most = [], 0.0, 1
    for cell, wide in zip(cells, widths_mm, strict=True):
        lines = lines_of(
            cell, left + PAD_MM / 2, wide - PAD_MM, PAD_MM / 2, size=TEXT_PT, bold=bold, most=MOST_LINES
        )
        words += lines
        left, most = left + wide, max(most, len(lines))
    return Block(tuple(words), most * line_mm(TEXT_PT) + 1.5 * PAD_MM)


def _widths_mm(block: Table) -> list[float]:
    """As much as each column's longest word wants, and of the rest more where there is more to say."""
    columns = list(zip(block.headings, *block.rows, strict=True))
    least = [max(NARROWEST_MM, *map(_longest_word_mm, column)) for column in columns]
    if sum(least) >= WIDE_MM:
        return [wide * WIDE_MM / sum(least) for wide in least]
    wanted = [max(max(map(_cell_mm, column)) - low, 0.0) for column, low in zip(columns, least, strict=True)]
    # The square root, so that one very long cell does not take all there is.
    shares = [more**0.5 for more in wanted]
    rest = WIDE_MM - sum(least)
    total = sum(shares) or 1.0
    widths = [low + rest * share / total for low, share in zip(least, shares, strict=True)]
    return [wide * WIDE_MM / sum(widths) for wide in widths]


def _longest_word_mm(cell: str) -> float:
    longest = max((width_mm(word, TEXT_PT, True) for word in in_type(cell).split()), default=0.0)
    return min(longest + 1.2 * PAD_MM, WIDE_MM / 4)


def _cell_mm(cell: str) -> float:
    return width_mm(in_type(cell), TEXT_PT, True) + 1.2 * PAD_MM


def _foot(text: str, number: int, of: int) -> Block:
    lines = lines_of(f"sheet {number} of {of} · {text}", 0, WIDE_MM, 0, size=TEXT_PT, most=1)
    return Block(tuple(lines), line_mm(TEXT_PT))
