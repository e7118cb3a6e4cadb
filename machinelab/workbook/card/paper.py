"""Sheets of paper drawn without a browser: text placed in millimetres, rules, stripes, and the PDF."""

import io
from collections.abc import Iterable
from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.workbook.card.lettering import FAMILY, POINT_MM, in_type, line_mm, wrapped

# What fits on both papers and on the printers of both.
WIDE_MM, HIGH_MM = 190.0, 260.0
PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
PAD_MM = 1.6
STRIPE, RULE = "#e6e6e6", "#000000"
PREVIEW_PX = 800


@dataclass(frozen=True)
class Words:
    """One line of text and where it stands, in millimetres from the left and the top of the printed area."""

    text: str
    left_mm: float
    base_mm: float
    size: float
    bold: bool = False


@dataclass(frozen=True)
class Block:
    """Lines that stand together, counted from their own top, and how high they are."""

    words: tuple[Words, ...]
    high_mm: float


class Sheet:
    """One sheet of paper, written on from its printed area's top.

    Parameters
    ----------
    paper : str
        ``A4`` or ``Letter``.
    dots_per_inch : float
        How fine it is shown as a picture.
    """

    def __init__(self, paper: str, dots_per_inch: float = 100.0):
        from matplotlib.figure import Figure

        self.paper_mm = wide, high = paper_size_mm(paper)
        size = (wide / 25.4, high / 25.4)
        self.figure = Figure(figsize=size, dpi=dots_per_inch, facecolor="white")
        self.left_mm, self.top_mm = (wide - WIDE_MM) / 2, (high - HIGH_MM) / 2

    def put(self, block: Block, below_mm: float) -> None:
        """Write a block, its top so far below the top of the printed area."""
        wide, high = self.paper_mm
        for one in block.words:
            self.figure.text(
                (self.left_mm + one.left_mm) / wide,
                1 - (self.top_mm + below_mm + one.base_mm) / high,
                one.text,
                size=one.size,
                weight="bold" if one.bold else "normal",
                family=FAMILY,
                va="baseline",
                color="black",
                # What was typed is never read as a formula.
                parse_math=False,
            )

    def stripe(self, below_mm: float, high_mm: float) -> None:
        """Lay a grey stripe across."""
        from matplotlib.patches import Rectangle

        wide, high = self.paper_mm
        corner = (self.left_mm / wide, 1 - (self.top_mm + below_mm + high_mm) / high)
        band = Rectangle(corner, WIDE_MM / wide, high_mm / high, facecolor=STRIPE, edgecolor="none", zorder=0)
        self.figure.add_artist(band)

    def rule(self, below_mm: float) -> None:
        """Draw a line across."""
        from matplotlib.lines import Line2D

        wide, high = self.paper_mm
        across = [self.left_mm / wide, (self.left_mm + WIDE_MM) / wide]
        level = 1 - (self.top_mm + below_mm) / high
        line = Line2D(across, [level, level], color=RULE, linewidth=0.25 / POINT_MM, zorder=1)
        self.figure.add_artist(line)


def paper_size_mm(paper: str) -> tuple[float, float]:
    """Width and height of a paper.

    Raises
    ------
    RangeError
        If there is no such paper.
    """
    if paper not in PAPERS_MM:
        raise RangeError(f"There is no paper {paper!r} here; there are: {', '.join(PAPERS_MM)}.")
    return PAPERS_MM[paper]


def lines_of(
    text: str,
    left_mm: float,
    wide_mm: float,
    top_mm: float,
    *,
    size: float,
    bold: bool = False,
    most: int = 99,
) -> list[Words]:
    """A text broken into lines below one another."""
    return [
        Words(line, left_mm, top_mm + (count + 0.8) * line_mm(size), size, bold)
        for count, line in enumerate(wrapped(text, wide_mm, size, bold=bold, most=most))
    ]


def pdf_of(figures: Iterable, title: str) -> bytes:
    """Sheets as a PDF file: no name and no date of its own in it, letters that can be copied."""
    import matplotlib
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    stream = io.BytesIO()
    about = {"Title": in_type(title), "Creator": None, "Producer": None, "CreationDate": None}
    with matplotlib.rc_context({"pdf.fonttype": 42}), PdfPages(stream, metadata=about) as file:
        for figure in figures:
            FigureCanvasPdf(figure)
            file.savefig(figure)
    return stream.getvalue()


def preview_dots_per_inch(paper: str) -> float:
    """How fine a sheet is drawn to be looked at on the page."""
    return PREVIEW_PX / (paper_size_mm(paper)[0] / 25.4)
