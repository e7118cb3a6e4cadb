"""A person's own stops: one after another, and the spread that passes are drawn from."""

import numpy as np

from machinelab.workbook.figures.base import BAND, COMPUTED, MEASURED, OTHER_WAY, QUIET, Chart

BINS = 36
SHOWN = (0.005, 0.995)


class OwnStopsChart(Chart):
    """Reaction of each stop in its order on the left, the spread that follows on the right."""

    height_px = 330

    def lay_out(self) -> None:
        """Build both plots."""
        self.order = self.axes(72, 280, top_px=70)
        self.order.set_xlabel("stop, in the order in which they were made")
        self.order.set_ylabel("reaction, s")
        self.order.xaxis.get_major_locator().set_params(integer=True)
        self.band = self.moves(self.order.axhspan(0, 1, color=BAND, zorder=0))
        self.middle = self.moves(self.order.axhline(0, **COMPUTED))
        self.file = self.moves(self.order.axhline(0, **OTHER_WAY))
        (self.stops,) = self.order.plot([], [], **MEASURED)
        self.moves(self.stops)
        self.band_words = self.words(self.order, color=QUIET, va="top")
        self.file_words = self.words(self.order, color=OTHER_WAY["color"], ha="right", va="top")
        self.spread = self.axes(572, 24, top_px=70)
        self.spread.set_xlabel("share of the passes drawn")
        self.spread.set_xticks([])
        self.spread.set_xlim(0, 1.15)
        (self.drawn,) = self.spread.plot([], [], **COMPUTED)
        (self.marks,) = self.spread.plot([], [], **{**MEASURED, "marker": "_", "markersize": 12})
        self.moves(self.drawn)
        self.moves(self.marks)

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.own_stops.StopsShown`."""
        stops, drawn = np.array(result.stops.reactions_s), result.drawn_s
        low, high = np.quantile(drawn, SHOWN)
        bottom, top = min(low, stops.min(), 0.0), 1.1 * max(high, stops.max(), result.file_s)
        count = len(stops)
        self.stops.set_data(np.arange(1, count + 1), stops)
        inner = np.quantile(drawn, (0.05, 0.95))
        self.band.set_bounds(0, inner[0], 1, inner[1] - inner[0])
        self.middle.set_ydata([result.stops.median_s] * 2)
        self.file.set_ydata([result.file_s] * 2)
        self.order.set_xlim(0.5, count + 0.5)
        self.band_words.set_text("grey: nine passes in ten")
        self.band_words.set_position((0.5, top))
        self.file_words.set_text("dashes: machine file")
        self.file_words.set_position((count + 0.5, result.file_s))
        heights, edges = np.histogram(drawn, bins=np.linspace(bottom, top, BINS + 1))
        tall = heights / max(heights.max(), 1)
        self.drawn.set_data(np.concatenate([[0.0], np.repeat(tall, 2), [0.0]]), np.repeat(edges, 2))
        self.marks.set_data(np.full(count, 0.04), stops)
        for axes in (self.order, self.spread):
            axes.set_ylim(bottom, top)
        self.say(result.headline, result.details)
