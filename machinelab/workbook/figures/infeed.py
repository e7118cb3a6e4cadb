"""The cuts of a thread: each one's place in the groove, its section and how much deeper it goes."""

import numpy as np
from matplotlib.collections import PolyCollection

from machinelab.workbook.figures.base import COMPUTED, LIMIT, OTHER_WAY, QUIET, WIDTH_PX, Chart
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.figures.shop_scale import in_shop_unit

# Neighbouring cuts in two greys, so that a print in black tells them apart too.
SHADES = ("#c4c4c4", "#ececec")
BAR_SHARE = 0.38
# Pitches shown to either side of the groove: more for the deep grooves of lead screws.
WIDE, STEEP, STEEP_DEG = 0.75, 0.85, 45.0
# Share of the picture above the blank.
ABOVE = 0.1


class InfeedCuts(Chart):
    """The groove at true scale with every cut in it; sections and depths of the cuts beside it."""

    height_px = 420

    def lay_out(self) -> None:
        """Build the groove on the left, the two rows of bars on the right."""
        self._lay_out_groove()
        self.section = self._lay_out_bars("Section of each cut", "mm²", top_px=90, bottom_px=232)
        self.deeper = self._lay_out_bars(
            "Each goes deeper by (line: finest cut)", "mm", top_px=246, bottom_px=52
        )
        self.deeper.axes.set_xlabel("cut")
        self.floor = self.moves(self.deeper.axes.axhline(0, **LIMIT))

    def _lay_out_groove(self) -> None:
        self.groove = self.axes(62, 392, top_px=74)
        box = self.groove.get_position()
        self.groove_shape = box.height * self.height_px / (box.width * WIDTH_PX)
        self.groove.set_xlabel("along the axis, mm")
        self.groove.set_ylabel("depth from the blank, mm")
        self.groove.grid(False)
        self.cuts = self.moves(PolyCollection([], edgecolors="#1a1a1a", linewidths=0.7))
        self.groove.add_collection(self.cuts, autolim=False)
        (self.blank,) = self.groove.plot([], [], **COMPUTED)
        (self.pitch_line,) = self.groove.plot([], [], **OTHER_WAY)
        (self.nut_line,) = self.groove.plot([], [], **LIMIT)
        for line in (self.blank, self.pitch_line, self.nut_line):
            self.moves(line)
        self.blank_words = self.words(self.groove, color=QUIET, va="bottom")
        self.pitch_words = self.words(self.groove, color=OTHER_WAY["color"], va="bottom")
        self.nut_words = self.words(self.groove, color=LIMIT["color"], va="top")

    def _lay_out_bars(self, title: str, unit: str, *, top_px: float, bottom_px: float) -> PolyCollection:
        axes = self.axes(476, 20, top_px=top_px, bottom_px=bottom_px)
        axes.set_title(title)
        axes.set_ylabel(unit)
        axes.grid(axis="x", visible=False)
        bars = self.moves(PolyCollection([], edgecolors="#1a1a1a", linewidths=0.8))
        axes.add_collection(bars, autolim=False)
        return bars

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.infeed.InfeedView`."""
        in_shop_unit(self, result.lengths, self.groove.xaxis, self.groove.yaxis, self.deeper.axes.yaxis)
        self._move_groove(result)
        self._move_bars(result)
        self.say(result.headline, result.details)

    def _move_groove(self, result) -> None:
        depths = result.schedule.depths_mm
        # The deepest first: each shallower groove then covers what was cut before it.
        self.cuts.set_verts([result.outline(depth) for depth in depths[::-1]])
        self.cuts.set_facecolors([SHADES[place % 2] for place in range(len(depths))][::-1])
        side = result.pitch_mm * (WIDE if result.included_angle_deg > STEEP_DEG else STEEP)
        high = 2 * side * self.groove_shape
        self.groove.set_xlim(-side, side)
        self.groove.set_ylim((1 - ABOVE) * high, -ABOVE * high)
        for line, level in (
            (self.blank, 0.0),
            (self.pitch_line, result.pitch_line_mm),
            (self.nut_line, result.nut_line_mm),
        ):
            line.set_data([-side, side], [level, level])
        for words, text, level in (
            (self.blank_words, f"blank, {result.lengths.told(result.blank_mm, 2)}", 0.0),
            (self.pitch_words, "pitch line", result.pitch_line_mm),
            (self.nut_words, "crest of the nut", result.nut_line_mm),
        ):
            words.set_text(text)
            words.set_position((-side, level))

    def _move_bars(self, result) -> None:
        schedule = result.schedule
        for bars, heights in ((self.section, schedule.sections_mm2), (self.deeper, schedule.cuts_mm)):
            bars.set_verts([_bar(place, height) for place, height in enumerate(heights, start=1)])
            bars.set_facecolors([SHADES[place % 2] for place in range(len(heights))])
            bars.axes.set_xlim(0.3, len(heights) + 0.7)
            bars.axes.set_ylim(0, rounded_up(1.15 * max(*heights, 1e-6)))
        self.floor.set_ydata([result.last_cut_mm] * 2)


def _bar(place: int, height: float) -> np.ndarray:
    left, right = place - BAR_SHARE, place + BAR_SHARE
    return np.array([(left, 0.0), (left, height), (right, height), (right, 0.0)])
