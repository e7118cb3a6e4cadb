"""Words whose ink is kept look as if they were drawn each time, wherever they stand."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties

from machinelab.workbook.figures import kept_text
from machinelab.workbook.figures.kept_text import KeptTextCanvas, KeptTextRenderer, length_px

# Colour, turn and opacity of every kind of words that the figures hold, formulas among them.
LOOKS = {
    "plain": {},
    "coloured": {"color": "#B34700", "weight": "bold"},
    "upright": {"rotation": 90, "ha": "center", "va": "top"},
    "slanting": {"rotation": 30},
    "pale": {"alpha": 0.4},
    "see-through": {"color": (0.0, 0.4, 0.7, 0.5)},
    "on a ground": {"bbox": {"facecolor": "white", "edgecolor": "none"}},
    "formula": {"s": r"$\mathdefault{10^{-2}}$"},
}


WORDS = "26 tpi, 0.98 mm"


def drawn(canvas_class, *texts, ground="white") -> np.ndarray:
    """A figure of 240 by 120 pixels with some texts, each at its place with its look."""
    figure = Figure(figsize=(2.4, 1.2), dpi=100, facecolor=ground)
    canvas = canvas_class(figure)
    for x_px, y_px, look in texts:
        figure.text(x_px / 240, y_px / 120, **{"s": WORDS, **look})
    canvas.draw()
    return np.asarray(canvas.buffer_rgba()).astype(int)


@pytest.mark.parametrize("ground", ["white", "#d9d9d9"])
@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_kept_words_look_as_words_that_are_drawn(look, ground):
    # Level words begin on a whole pixel here, which is where kept words stand.
    level = {**look, "rotation": 0, "ha": "left", "va": "baseline"}
    ours, theirs = (
        drawn(canvas, (60, 40, level), ground=ground) for canvas in (KeptTextCanvas, FigureCanvasAgg)
    )
    assert np.abs(theirs - theirs[0, 0]).max() > 50
    assert np.abs(ours - theirs).max() <= 2


@pytest.mark.parametrize("angle", [0, 30, 90, 180, 270])
def test_kept_words_look_as_words_that_are_drawn_at_every_angle(angle):
    papers = []
    for renderer in (KeptTextRenderer(240, 240, 100), RendererAgg(240, 240, 100)):
        paper = np.asarray(renderer.buffer_rgba())
        paper[:] = 255
        renderer.draw_text(renderer.new_gc(), 120, 120, WORDS, FontProperties(size=12), angle)
        papers.append(paper.astype(int))
    assert papers[1].min() < 50
    assert np.abs(papers[0] - papers[1]).max() <= 2


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_words_between_pixels_move_by_less_than_one(look):
    ours, theirs = (drawn(canvas, (60.4, 40.3, look)) for canvas in (KeptTextCanvas, FigureCanvasAgg))
    for across in (0, 1):
        middle = [
            np.average(np.arange(ink.size), weights=ink)
            for ink in ((255 - one[..., :3]).sum(axis=2).sum(axis=across) for one in (ours, theirs))
        ]
        assert middle[0] == pytest.approx(middle[1], abs=0.75)


@pytest.mark.parametrize("place", [(-40, 40), (190, 40), (60, -6), (60, 114), (-300, 40), (60, 500)])
def test_words_that_leave_the_paper_are_cut_at_its_edge(place):
    ours, theirs = (drawn(canvas, (*place, {})) for canvas in (KeptTextCanvas, FigureCanvasAgg))
    assert np.abs(ours - theirs).max() <= 2


def test_words_that_have_been_drawn_once_are_only_laid_down_again():
    kept_text._ink_of.cache_clear()
    for x_px in (10, 30, 50):
        drawn(KeptTextCanvas, (x_px, 40, {"s": "again"}), (x_px, 80, {"s": "again", "color": "#0072B2"}))
    assert kept_text._ink_of.cache_info().misses == 1
    drawn(KeptTextCanvas, (10, 40, {"s": "again", "size": 20}))
    assert kept_text._ink_of.cache_info().misses == 2


def test_a_font_that_is_changed_after_drawing_is_drawn_anew():
    figure = Figure(figsize=(2.4, 1.2), dpi=100)
    canvas = KeptTextCanvas(figure)
    words = figure.text(0.1, 0.4, WORDS)
    pictures = []
    for weight in ("normal", "bold", "normal"):
        words.set_fontweight(weight)
        canvas.draw()
        pictures.append(np.array(canvas.buffer_rgba()))
    assert (pictures[0] != pictures[1]).any()
    np.testing.assert_array_equal(pictures[0], pictures[2])


def test_words_that_are_cut_to_a_frame_stay_cut():
    pictures = []
    for canvas_class in (KeptTextCanvas, FigureCanvasAgg):
        figure = Figure(figsize=(2.4, 1.2), dpi=100)
        canvas = canvas_class(figure)
        axes = figure.add_axes([0.25, 0.25, 0.5, 0.5])
        axes.set_axis_off()
        axes.text(0.8, 0.4, WORDS, clip_on=True)
        canvas.draw()
        pictures.append(np.asarray(canvas.buffer_rgba()))
    np.testing.assert_array_equal(*pictures)
    assert (pictures[0][:, 181:] == 255).all()


@pytest.mark.parametrize("weight", ["normal", "bold"])
@pytest.mark.parametrize(
    "line", ["From 1400 rpm: still after 3.96 s", "26 tpi cycle at 75 rpm", "AVAVA ToTaL", "µm · 1½ in"]
)
def test_the_length_of_a_line_is_known_and_never_taken_for_too_short(line, weight):
    """Letters that are moved together, such as A and V, make a line shorter than its letters."""
    font = FontProperties(size=12, weight=weight)
    drawn_px, _, _ = RendererAgg(1, 1, 100).get_text_width_height_descent(line, font, ismath=False)
    assert drawn_px - 1.5 < length_px(line, font, 100) < 1.1 * drawn_px


def test_a_line_of_nothing_has_no_length():
    assert length_px("", FontProperties(size=12), 100) == 0
