"""The end of a threading pass: the way to the shoulder, where passes come to rest, the groove needed."""

import numpy as np
from matplotlib.patches import Polygon, Rectangle

from machinelab.threads.shoulder_groove import NEARLY_ALWAYS, OFTEN
from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.figures.shop_scale import in_shop_unit
from machinelab.workbook.shoulder_machine import COUNT

BARS = 30
LEAST_SHOWN_TURNS = 0.6


class ShoulderStop(Chart):
    """Speed against turns above, resting places below, on the right the groove against the speed."""

    height_px = 460

    def lay_out(self) -> None:
        """Build the three plots."""
        self._lay_out_way()
        self._lay_out_rest()
        self._lay_out_groove()

    def _lay_out_way(self) -> None:
        self.way = self.axes(66, 330, top_px=74, bottom_px=280)
        self.way.set_xlabel("turns past the end of the thread")
        self.way.set_ylabel("speed, rpm")
        (self.path,) = self.moves_line(self.way, COMPUTED)
        self.way_touch = self.moves(self.way.axvline(0, **LIMIT))
        self.way_words = self.words(self.way, color=QUIET, ha="left", va="bottom")

    def _lay_out_rest(self) -> None:
        self.rest = self.axes(66, 330, top_px=238, bottom_px=52)
        self.rest.set_xlabel("travel of the tool's point past the thread, mm")
        self.rest.set_ylabel("passes come to rest")
        self.rest.set_yticks([])
        self.rest.set_ylim(0, 1.45)
        self.shoulder = self.moves(
            Rectangle((0, 0), 1, 1.45, facecolor="#d9d9d9", edgecolor="#8c8c8c", hatch="///", linewidth=0.8)
        )
        self.rest.add_patch(self.shoulder)
        (self.bars,) = self.moves_line(self.rest, {**COMPUTED, "linewidth": 1.2})
        self.tool = self.moves(Polygon([(0, 0)], closed=True, facecolor="#F0C419", edgecolor="#1a1a1a"))
        self.rest.add_patch(self.tool)
        self.often = self.moves(self.rest.axvline(0, color="#1a1a1a", linestyle=":", linewidth=1.4))
        self.nearly = self.moves(self.rest.axvline(0, color="#1a1a1a", linestyle="--", linewidth=1.4))
        self.touch = self.moves(self.rest.axvline(0, **LIMIT))
        self.nearly_words = self.words(self.rest, ha="right", va="top")
        self.touch_words = {
            side: self.words(self.rest, color=LIMIT["color"], ha=side, va="top") for side in ("left", "right")
        }
        self.wall_words = self.words(self.rest, ha="right", va="top")

    def _lay_out_groove(self) -> None:
        self.groove = self.axes(534, 20, top_px=74)
        self.groove.set_xlabel("spindle speed, rpm")
        self.groove.set_ylabel("groove for 99 passes in 100, mm")
        (self.counted,) = self.moves_line(self.groove, OTHER_WAY)
        (self.needed,) = self.moves_line(self.groove, COMPUTED)
        self.drawn = self.moves(self.groove.axhline(0, **LIMIT))
        (self.here,) = self.moves_line(self.groove, {**MACHINE, "clip_on": False})
        self.drawn_words = self.words(self.groove, color=LIMIT["color"], ha="right", va="bottom")
        self.counted_words = self.words(self.groove, color=OTHER_WAY["color"], ha="right", va="bottom")

    def moves_line(self, axes, look: dict) -> list:
        """An empty line that `update` fills."""
        lines = axes.plot([], [], **look)
        for line in lines:
            self.moves(line)
        return lines

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.shoulder.ShoulderView`."""
        in_shop_unit(self, result.numbers.lengths, self.rest.xaxis, self.groove.yaxis)
        least, most = self._reach(result)
        self._move_way(result, least, most)
        self._move_rest(result, least * result.lead_mm, most * result.lead_mm)
        self._move_groove(result)
        self.say(result.headline, result.details)

    def _reach(self, result) -> tuple[float, float]:
        """Turns shown: from the earliest stop to the latest, the shoulder in sight."""
        wall = result.groove_mm / result.lead_mm
        latest = max(float(np.quantile(result.past_turns, 0.999)), wall, LEAST_SHOWN_TURNS)
        earliest = min(float(np.quantile(result.past_turns, 0.001)), 0.0)
        # In steps, so that the scales stand still while a slider moves.
        return np.floor(4 * earliest - 0.5) / 4, np.ceil(2.2 * latest) / 2

    def _move_way(self, result, least: float, most: float) -> None:
        touching = (result.groove_mm - result.beside_mm) / result.lead_mm
        self.path.set_data(result.path_turns, result.path_rpm)
        self.way_touch.set_xdata([touching, touching])
        self.way.set_xlim(least, most)
        self.way.set_ylim(0, rounded_up(1.1 * result.speed_rpm))
        self.way_words.set_text("an ordinary pass")
        self.way_words.set_position((least, 0.0))

    def _move_rest(self, result, least: float, most: float) -> None:
        resting = result.past_turns * result.lead_mm
        heights, edges = np.histogram(resting, bins=np.linspace(least, most, BARS + 1))
        tall = heights / max(heights.max(), 1)
        self.bars.set_data(np.repeat(edges, 2), np.concatenate([[0.0], np.repeat(tall, 2), [0.0]]))
        often, nearly = (float(np.quantile(resting, share)) for share in (OFTEN, NEARLY_ALWAYS))
        self.often.set_xdata([often, often])
        self.nearly.set_xdata([nearly, nearly])
        self.nearly_words.set_text("95 and 99 in 100\nrest before")
        self.nearly_words.set_position((often, 1.43))
        touching = result.groove_mm - result.beside_mm
        self.touch.set_xdata([touching, touching])
        self.shoulder.set_xy((result.groove_mm, 0))
        self.shoulder.set_width(max(most - result.groove_mm, 0.0))
        self.tool.set_xy([(nearly, 0.0), (nearly + result.beside_mm, 0.34), (nearly, 0.34)])
        self.rest.set_xlim(least, most)
        # The words stand on the side that the bars leave free.
        free_side = "left" if often < touching else "right"
        for side, words in self.touch_words.items():
            words.set_text("tool\ntouches" if side == free_side else "")
            words.set_position((touching, 0.95))
        self.wall_words.set_text("shoulder")
        self.wall_words.set_position((most, 1.14))

    def _move_groove(self, result) -> None:
        needed = result.needed_mm(NEARLY_ALWAYS)
        highest = rounded_up(1.1 * max(result.often_mm[-1] * 0.7, needed, result.groove_mm))
        self.needed.set_data(result.speeds_rpm, result.often_mm)
        self.counted.set_data(result.speeds_rpm, result.counted_mm)
        self.drawn.set_ydata([result.groove_mm] * 2)
        self.here.set_data([result.speed_rpm], [needed])
        fastest = result.speeds_rpm[-1]
        self.groove.set_xlim(0, fastest)
        self.groove.set_ylim(0, highest)
        self.drawn_words.set_text(f"drawn: {result.numbers.lengths.short(result.groove_mm)}")
        self.drawn_words.set_position((fastest, result.groove_mm))
        by_hand = result.numbers.stopped_by != COUNT
        self.counted.set_visible(by_hand)
        self.counted_words.set_text("dashes: stopped by a count" if by_hand else "")
        self.counted_words.set_position((fastest, 0.0))
