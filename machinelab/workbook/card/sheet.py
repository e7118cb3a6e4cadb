"""The card on paper: laid out in millimetres, as many sheets as its threads need."""

from collections.abc import Iterator

from machinelab.workbook.card import CAUTIONS, HOW_TO_READ, Card, CardRow
from machinelab.workbook.card.lettering import line_mm
from machinelab.workbook.card.paper import (
    HIGH_MM,
    PAD_MM,
    PAPERS_MM,
    WIDE_MM,
    Block,
    Sheet,
    Words,
    lines_of,
    pdf_of,
    preview_dots_per_inch,
)

__all__ = ["COLUMNS_MM", "HIGH_MM", "PAPERS_MM", "SMALLEST_PT", "WIDE_MM", "figures", "pdf", "pictures"]

SMALLEST_PT, KEY_PT, TITLE_PT = 12.0, 16.0, 16.0
COLUMNS_MM = {"Thread": 49.0, "Not above": 45.0, "Enter": 49.0, "Groove, depth": 47.0}
# A name longer than this many lines is cut off.
MOST_LINES = 2
MOST_REMARK_LINES = 4


def pdf(card: Card, paper: str = "A4") -> bytes:
    """The card as a PDF file: no name and no date of its own in it, letters that can be copied."""
    return pdf_of(figures(card, paper), card.title)


def pictures(card: Card, paper: str = "A4"):
    """Each sheet as a picture with its words, to look at before it is printed."""
    import matplotlib

    from machinelab.workbook.figures.base import show

    dots = preview_dots_per_inch(paper)
    # Without hinting a letter is as wide on the screen as on paper.
    with matplotlib.rc_context({"text.hinting": "none"}):
        return tuple(show(figure, alt=alt_text(card)) for figure in figures(card, paper, dots_per_inch=dots))


def alt_text(card: Card) -> str:
    """What the card says, for those who cannot see it."""
    told = "; ".join(
        f"{row.designation}: at most {row.speed_words}, ratio {row.ratio_words}" for row in card.rows
    )
    return f"{card.title}. {told or 'No thread on the list.'}."


def figures(card: Card, paper: str = "A4", *, dots_per_inch: float = 100.0) -> Iterator:
    """The sheets of the card as figures."""
    heads = [_row_block(row) for row in card.rows]
    sheets = _shared_out([block.high_mm for block in heads], _room_mm(card))
    for number, sheet in enumerate(sheets, start=1):
        count = f"sheet {number} of {len(sheets)}" if len(sheets) > 1 else ""
        yield _figure(card, [heads[place] for place in sheet], sheet, paper, count, dots_per_inch)


def _shared_out(heights_mm: list[float], room_mm: float) -> list[list[int]]:
    """Which rows go on which sheet; a row is never parted."""
    sheets: list[list[int]] = [[]]
    left = room_mm
    for place, height in enumerate(heights_mm):
        if sheets[-1] and height > left:
            sheets.append([])
            left = room_mm
        sheets[-1].append(place)
        left -= height
    return sheets


def _head(card: Card) -> Block:
    lines = _lines(card.title, 0, WIDE_MM, 0, size=TITLE_PT, bold=True, most=MOST_LINES)
    high = len(lines) * line_mm(TITLE_PT)
    made = _lines(card.made, 0, WIDE_MM, high, most=MOST_LINES)
    high += len(made) * line_mm(SMALLEST_PT)
    read = _lines(HOW_TO_READ, 0, WIDE_MM, high + PAD_MM)
    high += len(read) * line_mm(SMALLEST_PT) + 2 * PAD_MM
    headings, left = [], PAD_MM
    for heading, wide in COLUMNS_MM.items():
        headings += _lines(heading, left, wide, high, bold=True)
        left += wide
    return Block((*lines, *made, *read, *headings), high + line_mm(SMALLEST_PT) + PAD_MM)


def _foot() -> Block:
    words, high = [], PAD_MM
    for count, caution in enumerate(CAUTIONS, start=1):
        lines = _lines(f"{count}. {caution}", 0, WIDE_MM, high, bold=True)
        words += lines
        high += len(lines) * line_mm(SMALLEST_PT)
    return Block(tuple(words), high)


def _room_mm(card: Card) -> float:
    return HIGH_MM - _head(card).high_mm - _foot().high_mm - line_mm(SMALLEST_PT)


def _row_block(row: CardRow) -> Block:
    cells = (
        (
            (row.designation, KEY_PT, True),
            (row.name, SMALLEST_PT, False),
            (row.pitch_words, SMALLEST_PT, False),
        ),
        ((row.speed_words, KEY_PT, True), (row.limit_words, SMALLEST_PT, False)),
        ((row.ratio_words, KEY_PT, True), (row.error_words, SMALLEST_PT, False)),
        (
            (row.groove_words, KEY_PT, True),
            (row.run_out_words, SMALLEST_PT, False),
            (f"{row.depth_words} deep" if row.depths_mm else "", SMALLEST_PT, False),
            (row.passes_words, SMALLEST_PT, False),
        ),
    )
    words: list[Words] = []
    left, lowest = PAD_MM, 0.0
    for cell, wide in zip(cells, COLUMNS_MM.values(), strict=True):
        top = PAD_MM
        for text, size, bold in cell:
            lines = _lines(
                text, left, wide - PAD_MM, top, size=size, bold=bold, most=MOST_LINES + (size < KEY_PT)
            )
            words += lines
            top += len(lines) * line_mm(size)
        left, lowest = left + wide, max(lowest, top)
    for remark in row.remarks:
        lines = _lines(remark, PAD_MM, WIDE_MM - 2 * PAD_MM, lowest, most=MOST_REMARK_LINES)
        words += lines
        lowest += len(lines) * line_mm(SMALLEST_PT)
    return Block(tuple(words), lowest + PAD_MM)


def _lines(text, left_mm, wide_mm, top_mm, *, size=SMALLEST_PT, bold=False, most=99) -> list[Words]:
    return lines_of(text, left_mm, wide_mm, top_mm, size=size, bold=bold, most=most)


def _figure(card: Card, blocks, places, paper: str, count: str, dots_per_inch: float):
    sheet = Sheet(paper, dots_per_inch)
    head, foot = _head(card), _foot()
    sheet.put(head, 0.0)
    at = head.high_mm
    sheet.rule(at)
    for place, block in zip(places, blocks, strict=True):
        if place % 2 == 0:
            sheet.stripe(at, block.high_mm)
        sheet.put(block, at)
        at += block.high_mm
        sheet.rule(at)
    sheet.put(foot, HIGH_MM - foot.high_mm)
    if count:
        sheet.put(Block(tuple(_lines(count, 0, WIDE_MM, PAD_MM)), 0.0), at)
    return sheet.figure
