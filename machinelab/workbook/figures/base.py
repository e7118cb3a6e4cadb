"""A figure that is laid out once, then only moved: the same code for the page and for the slider.

A `Chart` draws the frame of each plot (axes, grid, fixed words) one time and keeps that as a plate, drawn
anew only when its own scales change. What depends on the numbers is registered with `moves` and drawn over
the plates, so a new picture costs a few milliseconds instead of a new layout. Figures are made directly,
not through pyplot, so nothing is shown twice and nothing is left behind in a global list.
"""

import base64
import html
import io
import re
import textwrap
from abc import ABC, abstractmethod
from dataclasses import dataclass
from pathlib import Path

import matplotlib.style
import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import offset_copy
from PIL import Image

from machinelab.workbook.figures.kept_text import KeptTextCanvas, length_px
from machinelab.workbook.share.private import without_private

STYLE = Path(__file__).with_name("machinelab.mplstyle")
DOTS_PER_INCH = 100
WIDTH_PX = 800
WHITE = 0xFFFFFFFF
HEADLINE_COLUMNS = range(104, 60, -4)
HEADLINE_MARGIN_PX = 20
# A line does not end between a figure and its unit.
FIGURE_AND_WORD = re.compile(r"(?<=\d) ")
NUDGE_PX = 5
NUDGES = {"left": 1, "right": -1, "bottom": 1, "top": -1}

# The colours that carry one meaning through the whole workbook; each also has a dash or a marker.
COMPUTED = {"color": "#1a1a1a", "linestyle": "-"}
OTHER_WAY = {"color": "#0072B2", "linestyle": "--"}
LIMIT = {"color": "#B34700", "linestyle": (0, (6, 2, 1.5, 2)), "linewidth": 1.3}
MEASURED = {"color": "#0072B2", "linestyle": "none", "marker": "o", "markerfacecolor": "none"}
MACHINE = {
    "color": "#1a1a1a",
    "linestyle": "none",
    "marker": "D",
    "markersize": 8,
    "markerfacecolor": "#F0C419",
    "zorder": 5,
}
QUIET = "#4d4d4d"
BAND = "#ececec"
WORDS_ON_PLOT = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}


@dataclass(frozen=True)
class Picture:
    """A finished picture with the words that stand for it where it cannot be seen."""

    png: bytes
    alt: str
    width_px: int
    height_px: int

    def html(self) -> str:
        """Give the picture as one HTML element that needs no file and no address."""
        return image_tag(self.png, self.alt, self.width_px, self.height_px)

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        # HTML carries the alt text; the bare PNG serves viewers that show no HTML.
        encoded = base64.b64encode(self.png).decode("ascii")
        return {"text/html": self.html(), "image/png": encoded, "text/plain": f"Picture: {self.alt}"}


class Chart(ABC):
    """A figure of fixed size: `update` moves its lines, `picture` gives the result.

    A figure of the workbook is a subclass that builds its axes in ``__init__``, hands every artist
    that depends on the numbers to `moves`, and fills them in ``update(result)``, which also
    sets the headline (the conclusion, in words) and ``alt``.
    """

    height_px = 380

    def __init__(self):
        with matplotlib.style.context(STYLE):
            size = (WIDTH_PX / DOTS_PER_INCH, self.height_px / DOTS_PER_INCH)
            self.figure = Figure(figsize=size, dpi=DOTS_PER_INCH)
            self.canvas = KeptTextCanvas(self.figure)
            self.alt = ""
            self._moving: list[Artist] = []
            self._plates: dict = {}
            self._background = None
            self._headline = self.moves(self._words_at_top(8, size=12, weight="bold"))
            self.lay_out()

    @abstractmethod
    def lay_out(self) -> None:
        """Build axes and artists once; the style is in force here."""

    @abstractmethod
    def update(self, result) -> None:
        """Move the artists to a new result."""

    @classmethod
    def draw(cls, result) -> Picture:
        """Draw a finished picture of one result."""
        chart = cls()
        chart.update(result)
        return chart.picture()

    def moves(self, artist: Artist) -> Artist:
        """Register an artist that `update` changes, and return it."""
        artist.set_animated(True)
        self._moving.append(artist)
        return artist

    def axes(self, left_px: float, right_px: float, *, top_px: float = 62, bottom_px: float = 52):
        """Place axes by their margins in pixels, so that words never depend on an automatic layout."""
        width, height = WIDTH_PX, self.height_px
        box = [left_px / width, bottom_px / height, 1 - (left_px + right_px) / width]
        return self.figure.add_axes([*box, 1 - (top_px + bottom_px) / height])

    def words(self, axes, size: float = 9, ha: str = "left", va: str = "baseline", **how) -> Text:
        """Make an empty moving text that stands a little off its point, on a ground of its own."""
        off_px = (NUDGE_PX * NUDGES.get(ha, 0), NUDGE_PX * NUDGES.get(va, 0))
        beside = offset_copy(axes.transData, self.figure, *off_px, units="dots")
        text = axes.text(0, 0, "", size=size, ha=ha, va=va, transform=beside, bbox=WORDS_ON_PLOT, **how)
        return self.moves(text)

    def say(self, headline: str, alt: str) -> None:
        """Set the conclusion above the figure and the words that stand for the whole picture.

        A picture is handed on as it is, so that what is private is left out before it is drawn.
        """
        headline, alt = without_private(headline), without_private(alt)
        font = self._headline.get_fontproperties()
        unbroken = FIGURE_AND_WORD.sub("\N{NO-BREAK SPACE}", headline)
        for columns in HEADLINE_COLUMNS:
            lines = textwrap.wrap(unbroken, columns)
            widest = max((length_px(line, font, DOTS_PER_INCH) for line in lines), default=0.0)
            if widest < WIDTH_PX - HEADLINE_MARGIN_PX:
                break
        self._headline.set_text("\n".join(lines))
        self.alt = f"{headline} {alt}".strip()

    def renew_frame(self) -> None:
        """Forget the kept plates, because fixed words or ticks have changed."""
        self._plates = {}

    def picture(self) -> Picture:
        """Give the picture in few colours, for keeping: small in a notebook or a forum post."""
        return Picture(_in_few_colours(self._image()), self.alt, WIDTH_PX, self.height_px)

    def live_html(self) -> str:
        """Give the picture as fast as it can be had, for a panel that a person is moving."""
        stream = io.BytesIO()
        self._image().save(stream, "png", compress_level=1)
        return image_tag(stream.getvalue(), self.alt, WIDTH_PX, self.height_px)

    def _image(self) -> Image.Image:
        self._renew_plates()
        np.asarray(self.canvas.buffer_rgba())[:] = self._background
        for artist in sorted(self._moving, key=Artist.get_zorder):
            self.figure.draw_artist(artist)
        return rgb_image(self.canvas)

    def _renew_plates(self) -> None:
        """Draw the plots whose scales have changed, and lay all plates over one another."""
        scales = {axes: (*axes.get_xlim(), *axes.get_ylim()) for axes in self.figure.axes}
        changed = [axes for axes, scale in scales.items() if self._plates.get(axes, (None,))[0] != scale]
        if not changed:
            return
        with matplotlib.style.context(STYLE):
            for axes in changed:
                self._plates[axes] = (scales[axes], *self._plate(axes))
        # Ink on white paper: where plates meet, the darker one shows.
        self._background = self._ink()
        for _, box, ink in self._plates.values():
            np.minimum(self._background[box], ink, out=self._background[box])

    def _plate(self, axes) -> tuple:
        """A plot drawn alone: where its ink lies, and the ink."""
        drawn = self._ink(axes)
        inked = drawn.view(np.uint32)[..., 0] != WHITE
        rows, columns = (np.flatnonzero(inked.any(axis=across)) for across in (1, 0))
        if not rows.size:
            return (slice(0), slice(0)), drawn[:0, :0]
        box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
        return box, drawn[box].copy()

    def _ink(self, *artists: Artist) -> np.ndarray:
        """The bare figure with some artists on it."""
        self.canvas.get_renderer().clear()
        plots = self.figure.axes
        bare = (one for one in self.figure.get_children() if one not in plots and not one.get_animated())
        for artist in (*bare, *artists):
            self.figure.draw_artist(artist)
        return np.array(self.canvas.buffer_rgba())

    def _words_at_top(self, below_top_px: float, **how) -> Text:
        return self.figure.text(0.012, 1 - below_top_px / self.height_px, "", va="top", **how)


def png(figure: Figure) -> bytes:
    """Draw any figure as a small PNG without names or dates in it."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return _in_few_colours(rgb_image(canvas))


def show(figure: Figure, *, alt: str) -> Picture:
    """Turn any figure into a picture with its words."""
    width, height = (figure.get_size_inches() * figure.dpi).round().astype(int)
    return Picture(png(figure), alt, int(width), int(height))


def rgb_image(canvas: FigureCanvasAgg) -> Image.Image:
    """Copy what the canvas holds into an image without transparency."""
    return Image.frombuffer("RGBA", canvas.get_width_height(), canvas.buffer_rgba()).convert("RGB")


def _in_few_colours(image: Image.Image) -> bytes:
    # The octree keeps small patches of a colour, such as one marker; the median cut merges them.
    stream = io.BytesIO()
    few = image.quantize(128, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.save(stream, "png", optimize=True)
    return stream.getvalue()


def image_tag(data: bytes, alt: str, width_px: int, height_px: int) -> str:
    """Write an image element whose size is known before it is decoded, so the page does not jump."""
    encoded = base64.b64encode(data).decode("ascii")
    size = f'width="{width_px}" height="{height_px}"'
    words = html.escape(alt, quote=True)
    return f'<img {size} alt="{words}" src="data:image/png;base64,{encoded}">'
