"""The card on paper: laid out in millimetres, as many sheets as its threads need."""

import io
from collections.abc import Iterator
from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.workbook.card import CAUTIONS, HOW_TO_READ, Card, CardRow
from machinelab.workbook.card.lettering import FAMILY, POINT_MM, in_type, line_mm, wrapped

# What fits on both papers and on the printers of both.
WIDE_MM, HIGH_MM = 190.0, 260.0
SMALLEST_PT, KEY_PT, TITLE_PT = 12.0, 16.0, 16.0
PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
COLUMNS_MM = {"Thread": 49.0, "Not above": 45.0, "Enter": 49.0, "Groove, depth": 47.0}
PAD_MM = 1.6
STRIPE, RULE = "#e6e6e6", "#000000"
PREVIEW_PX = 800
# A name longer than this many lines is cut off.
MOST_LINES = 2
MOST_REMARK_LINES = 4


@dataclass(frozen=True)
class Words:
    """One line of text and where it stands, in millimetres from the left and the top of the printed area."""

    text: str
    left_mm: float
    base_mm: float
    size: float = SMALLEST_PT
    bold: bool = False


@dataclass(frozen=True)
class Block:
    """Lines that stand together, counted from their own top, and how high they are."""

    words: tuple[Words, ...]
    high_mm: float


def pdf(card: Card, paper: str = "A4") -> bytes:
    """The card as a PDF file: no name and no date of its own in it, letters that can be copied."""
    import matplotlib
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    stream = io.BytesIO()
    about = {"Title": in_type(card.title), "Creator": None, "Producer": None, "CreationDate": None}
    with matplotlib.rc_context({"pdf.fonttype": 42}), PdfPages(stream, metadata=about) as file:
        for figure in figures(card, paper):
            FigureCanvasPdf(figure)
            file.savefig(figure)
    return stream.getvalue()


def pictures(card: Card, paper: str = "A4"):
    """Each sheet as a picture with its words, to look at before it is printed."""
    import matplotlib

    from machinelab.workbook.figures.base import show

    dots = PREVIEW_PX / (_paper(paper)[0] / 25.4)
    # Without hinting a letter is as wide on the screen as on paper.
    with matplotlib.rc_context({"text.hinting": "none"}):
        return tuple(show(figure, alt=alt_text(card)) for figure in figures(card, paper, dots_per_inch=dots))


def alt_text(card: Card) -> str:
    """What the card says, for those who cannot see it."""
    told = "; ".join(
        f"{row.designation}: not above {row.speed_words}, {row.ratio_words}" for row in card.rows
    )
    return f"{card.title}. {told or 'No thread on the list.'}."


def figures(card: Card, paper: str = "A4", *, dots_per_inch: float = 100.0) -> Iterator:
    """The sheets of the card as figures."""
    size = _paper(paper)
    heads = [_row_block(row) for row in card.rows]
    sheets = _shared_out([block.high_mm for block in heads], _room_mm(card))
    for number, sheet in enumerate(sheets, start=1):
        count = f"sheet {number} of {len(sheets)}" if len(sheets) > 1 else ""
        yield _figure(card, [heads[place] for place in sheet], sheet, size, count, dots_per_inch)


def _paper(paper: str) -> tuple[float, float]:
    if paper not in PAPERS_MM:
        raise RangeError(f"There is no paper {paper!r} here; there are: {', '.join(PAPERS_MM)}.")
    return PAPERS_MM[paper]


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
    """A text broken into lines below one another."""
    return [
        Words(line, left_mm, top_mm + (count + 0.8) * line_mm(size), size, bold)
        for count, line in enumerate(wrapped(text, wide_mm, size, bold=bold, most=most))
    ]


def _figure(card: Card, blocks, places, paper_mm, count: str, dots_per_inch: float):
    from matplotlib.figure import Figure

    wide, high = paper_mm
    figure = Figure(figsize=(wide / 25.4, high / 25.4), dpi=dots_per_inch, facecolor="white")
    left, top = (wide - WIDE_MM) / 2, (high - HIGH_MM) / 2
    at = top
    head = _head(card)
    _put(figure, head, left, at, paper_mm)
    at += head.high_mm
    _rule(figure, left, at, paper_mm)
    for place, block in zip(places, blocks, strict=True):
        if place % 2 == 0:
            _stripe(figure, left, at, block.high_mm, paper_mm)
        _put(figure, block, left, at, paper_mm)
        at += block.high_mm
        _rule(figure, left, at, paper_mm)
    foot = _foot()
    _put(figure, foot, left, top + HIGH_MM - foot.high_mm, paper_mm)
    if count:
        _put(figure, Block(tuple(_lines(count, 0, WIDE_MM, PAD_MM)), 0.0), left, at, paper_mm)
    return figure


def _put(figure, block: Block, left_mm: float, top_mm: float, paper_mm) -> None:
    wide, high = paper_mm
    for one in block.words:
        figure.text(
            (left_mm + one.left_mm) / wide,
            1 - (top_mm + one.base_mm) / high,
            one.text,
            size=one.size,
            weight="bold" if one.bold else "normal",
            family=FAMILY,
            va="baseline",
            color="black",
            # What was typed is never read as a formula.
            parse_math=False,
        )


def _stripe(figure, left_mm: float, top_mm: float, block_mm: float, paper_mm) -> None:
    from matplotlib.patches import Rectangle

    wide, high = paper_mm
    corner = (left_mm / wide, 1 - (top_mm + block_mm) / high)
    band = Rectangle(corner, WIDE_MM / wide, block_mm / high, facecolor=STRIPE, edgecolor="none", zorder=0)
    figure.add_artist(band)


def _rule(figure, left_mm: float, top_mm: float, paper_mm) -> None:
    from matplotlib.lines import Line2D

    wide, high = paper_mm
    across = [left_mm / wide, (left_mm + WIDE_MM) / wide]
    level = 1 - top_mm / high
    figure.add_artist(Line2D(across, [level, level], color=RULE, linewidth=0.25 / POINT_MM, zorder=1))
