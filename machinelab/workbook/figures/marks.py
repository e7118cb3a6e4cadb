"""Marks in the finish: where each part of the machine would print them, and how probable each is."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, QUIET, Chart
from machinelab.workbook.figures.shop_scale import in_shop_unit
from machinelab.workbook.mark_results import percent

ROWS = 7
SHORT = 46


class MarkPlaces(Chart):
    """For every part the distance at which its marks are seen, on one scale, with what was measured."""

    height_px = 460
    most = 18

    def lay_out(self) -> None:
        """Build one logarithmic scale with a line for each part."""
        self.plot = self.axes(316, 24, bottom_px=50)
        self.plot.set_xlabel("distance from mark to mark as seen along the bar, mm")
        self.plot.set_xscale("log")
        self.plot.set_xlim(0.01, 100)
        self.plot.set_ylim(self.most - 0.5, -0.5)
        self.plot.set_yticks([])
        self.plot.xaxis.set_major_formatter(lambda value, _place: f"{value:g}")
        self.spots = [
            self.moves(self.plot.plot([], [], marker="D", markersize=5, **COMPUTED)[0])
            for _ in range(self.most)
        ]
        self.names = [
            self.moves(self.plot.text(0.0095, row, "", size=9, ha="right", va="center", clip_on=False))
            for row in range(self.most)
        ]
        self.feed = self.moves(self.plot.axvline(1, color=QUIET, linestyle=":"))
        self.measured = self.moves(self.plot.axvline(1, **LIMIT))
        self.feed_words = self.words(self.plot, color=QUIET, va="bottom", ha="right")
        self.measured_words = self.words(self.plot, color=LIMIT["color"], va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.marks.MarkView`."""
        in_shop_unit(self, result.lengths, self.plot.xaxis)
        for row, (spot, name) in enumerate(zip(self.spots, self.names, strict=True)):
            there = row < len(result.names)
            name.set_text(_short(result.names[row]) if there else "")
            shown = there and np.isfinite(result.seen_mm[row])
            spot.set_data([result.seen_mm[row]] if shown else [], [row] if shown else [])
        self.feed.set_xdata([result.feed_mm, result.feed_mm])
        self.feed_words.set_text("feed ")
        self.feed_words.set_position((result.feed_mm, self.most - 0.7))
        self.measured.set_visible(result.measured_mm is not None)
        self.measured_words.set_text("" if result.measured_mm is None else " measured")
        if result.measured_mm is not None:
            self.measured.set_xdata([result.measured_mm, result.measured_mm])
            self.measured_words.set_position((result.measured_mm, self.most - 0.7))
        self.say(result.headline, result.details)


class MarkSuspects(Chart):
    """The most probable parts with their probabilities as bars."""

    height_px = 340

    def lay_out(self) -> None:
        """Build one plot with a bar for each suspect."""
        self.plot = self.axes(300, 70)
        self.plot.set_xlabel("how likely, from 0 to 1")
        self.plot.set_xlim(0, 1)
        self.plot.set_ylim(ROWS - 0.5, -0.5)
        self.plot.set_yticks([])
        self.plot.axvline(0.75, **LIMIT)
        self.plot.text(0.745, ROWS - 0.62, "decided above", size=8, ha="right", color=LIMIT["color"])
        self.bars = [
            self.moves(bar)
            for bar in self.plot.barh(range(ROWS), [0] * ROWS, color="#9db8cc", edgecolor="#1a1a1a")
        ]
        self.names = [
            self.moves(self.plot.text(-0.015, row, "", size=9, ha="right", va="center", clip_on=False))
            for row in range(ROWS)
        ]
        self.shares = [self.words(self.plot, va="center") for _ in range(ROWS)]

    def update(self, result) -> None:
        """Move everything to a result with ``suspects`` as pairs of name and probability."""
        pairs = [*result.suspects[:ROWS], *[("", 0.0)] * (ROWS - len(result.suspects[:ROWS]))]
        for row, (name, share) in enumerate(pairs):
            self.bars[row].set_width(share)
            self.names[row].set_text(_short(name))
            self.shares[row].set_text(percent(share) if name else "")
            self.shares[row].set_position((share, row))
        self.say(result.headline, result.details)


def _short(name: str) -> str:
    return name if len(name) <= SHORT else name[: SHORT - 1] + "…"
