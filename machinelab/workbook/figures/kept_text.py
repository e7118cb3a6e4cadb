"""Words that are drawn once and laid down again: most of the time of a picture goes into its letters.

A panel shows the same words in picture after picture, at another place at most. Here the ink of a piece of
text is kept and laid down wherever the text stands, on whole pixels.
"""

from functools import lru_cache

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.font_manager import FontProperties

# Enough for the words of some panels; the figures in them change from picture to picture and are let go.
KEPT = 512
MARGIN_PX = 4
# A parser of formulas keeps what it has parsed; one for all, since figures along axes are formulas to it.
FORMULAS = RendererAgg(1, 1, 100).mathtext_parser


class KeptTextRenderer(RendererAgg):
    """Agg, but the ink of every piece of text is kept."""

    def __init__(self, width: int, height: int, dpi: float):
        super().__init__(width, height, dpi)
        self.mathtext_parser = FORMULAS

    def draw_text(self, gc, x, y, s, prop, angle, ismath=False, mtext=None):
        """Lay down the ink of a piece of text; text that is clipped is drawn as ever."""
        if gc.get_clip_rectangle() is not None:
            super().draw_text(gc, x, y, s, prop, angle, ismath, mtext)
            return
        left, top, ink = _ink_of(s, prop.copy(), angle, self.dpi, ismath)
        *colour, opacity = gc.get_rgb()
        if gc.get_forced_alpha():
            opacity = gc.get_alpha()
        _lay_down(np.asarray(self.buffer_rgba()), round(x) + left, round(y) + top, ink, (*colour, opacity))


class KeptTextCanvas(FigureCanvasAgg):
    """A canvas of fixed size whose words are kept."""

    def __init__(self, figure):
        super().__init__(figure)
        self._keeps = KeptTextRenderer(*self.get_width_height(), figure.dpi)

    def get_width_height(self, *, physical=False) -> tuple[int, int]:
        """Give the whole pixels of the figure, which a size in inches may miss by the last digit."""
        return tuple(int(pixels) for pixels in self.figure.bbox.size.round())

    def get_renderer(self) -> KeptTextRenderer:
        """Give the one renderer of this canvas."""
        self.renderer = self._keeps
        return self._keeps


def length_px(text: str, font: FontProperties, dpi: float) -> float:
    """How long a line of text will be, letter by letter: good to a pixel or two, and known at once."""
    kept = font.copy()
    return sum(_advance_px(letter, kept, dpi) for letter in text)


@lru_cache(maxsize=KEPT)
def _advance_px(letter: str, font: FontProperties, dpi: float) -> float:
    """How far the letter moves the next one on; between two others, since a blank alone has no ink."""
    alone = KeptTextRenderer(1, 1, dpi)
    with_it, without = (
        alone.get_text_width_height_descent(text, font, ismath=False)[0] for text in (f"n{letter}n", "nn")
    )
    return with_it - without


@lru_cache(maxsize=KEPT)
def _ink_of(
    text: str, font: FontProperties, angle: float, dpi: float, ismath: bool
) -> tuple[int, int, np.ndarray]:
    """How far right of and below its own point the ink of a text begins, and the ink, from 0 to 255."""
    width, height, descent = KeptTextRenderer(1, 1, dpi).get_text_width_height_descent(text, font, ismath)
    right, up = np.exp(1j * np.radians([angle, angle + 90]))
    corners = np.add.outer([0.0, width * right], [-descent * up, (height - descent) * up])
    left, top = (int(max(np.max(far), 0)) + MARGIN_PX for far in (-corners.real, corners.imag))
    wide, high = (int(max(np.max(far), 0)) + MARGIN_PX for far in (corners.real, -corners.imag))
    alone = RendererAgg(left + wide, top + high, dpi)
    alone.mathtext_parser = FORMULAS
    alone.draw_text(alone.new_gc(), left, top, text, font, angle, ismath)
    return -left, -top, np.asarray(alone.buffer_rgba())[..., 3].copy()


def _lay_down(paper: np.ndarray, left: int, top: int, ink: np.ndarray, rgba) -> None:
    """Put ink of a colour on paper, as far as it lies on the paper."""
    height, width = paper.shape[:2]
    rows = slice(*np.clip([top, top + ink.shape[0]], 0, height))
    columns = slice(*np.clip([left, left + ink.shape[1]], 0, width))
    under = paper[rows, columns]
    if not under.size:
        return
    cover = ink[rows.start - top : rows.stop - top, columns.start - left : columns.stop - left, None]
    *colour, opacity = rgba
    wet = 255 * np.array([*colour, 1.0])
    under[:] = np.rint(under + (wet - under) * (cover * (opacity / 255)))
