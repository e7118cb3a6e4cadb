"""Backlash and lead error: readings along the bed, and what a change of direction does to the carriage."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, MEASURED, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.shop_scale import in_shop_unit

DOWN = {**MEASURED, "color": "#B34700", "marker": "v"}
UP = {**MEASURED, "marker": "^"}


class PositionErrors(Chart):
    """Every reading along the bed, up and down, with their means and the slope of the screw."""

    height_px = 400

    def lay_out(self) -> None:
        """Build one plot of deviation against place."""
        self.plot = self.axes(96, 24)
        self.plot.set_xlabel("place along the bed, mm")
        self.plot.set_ylabel("measured less wanted, mm")
        self.plot.axhline(0, color=QUIET, linewidth=0.8)
        (self.up,) = self.plot.plot([], [], **UP, alpha=0.7)
        (self.down,) = self.plot.plot([], [], **DOWN, alpha=0.7)
        (self.up_mean,) = self.plot.plot([], [], **OTHER_WAY)
        (self.down_mean,) = self.plot.plot([], [], color=DOWN["color"], linestyle=(0, (6, 2, 1.5, 2)))
        (self.slope,) = self.plot.plot([], [], **COMPUTED)
        for artist in (self.up, self.down, self.up_mean, self.down_mean, self.slope):
            self.moves(artist)
        self.up_words = self.words(self.plot, color=UP["color"], va="bottom", ha="right")
        self.down_words = self.words(self.plot, color=DOWN["color"], va="top", ha="right")
        self.slope_words = self.words(self.plot, va="top")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.axis_results.AxisResult`."""
        in_shop_unit(self, result.limits.lengths, self.plot.xaxis, self.plot.yaxis)
        one = result.evaluated
        places = np.repeat(one.targets_mm, result.runs)
        self.up.set_data(places, result.up_um.ravel() / 1000)
        self.down.set_data(places, result.down_um.ravel() / 1000)
        self.up_mean.set_data(one.targets_mm, one.mean_up_um / 1000)
        self.down_mean.set_data(one.targets_mm, one.mean_down_um / 1000)
        ends = np.array([one.targets_mm[0], one.targets_mm[-1]])
        level = one.mean_um.mean() / 1000
        slope = one.lead_error_ppm.value * 1e-6
        line = level + slope * (ends - one.targets_mm.mean())
        self.slope.set_data(ends, line)
        readings = np.concatenate([result.up_um.ravel(), result.down_um.ravel(), [0.0]]) / 1000
        room = max(0.18 * np.ptp(readings), 0.005)
        self.plot.set_ylim(readings.min() - room, readings.max() + room)
        margin = 0.05 * np.ptp(ends)
        self.plot.set_xlim(ends[0] - margin, ends[1] + margin)
        self.up_words.set_text("reached with rising travel")
        self.up_words.set_position((ends[1], one.mean_up_um[-1] / 1000 + 0.3 * room))
        self.down_words.set_text("reached with falling travel")
        self.down_words.set_position((ends[1], one.mean_down_um[-1] / 1000 - 0.3 * room))
        self.slope_words.set_text(f"line: the screw, {one.lead_error_ppm.value:+.0f} ppm")
        self.slope_words.set_position((ends[0], line.min() - 0.1 * room))
        self.say(result.headline, result.details)


class TakeUp(Chart):
    """Where the carriage stands while the spindle turns forward again, and where cutting may begin."""

    height_px = 380

    def lay_out(self) -> None:
        """Build one plot of travel against turns."""
        self.plot = self.axes(78, 24)
        self.plot.set_xlabel("spindle turned forward from where the carriage was sent back to, turns")
        self.plot.set_ylabel("travel, mm")
        (self.screw,) = self.plot.plot([], [], **OTHER_WAY)
        (self.carriage,) = self.plot.plot([], [], **COMPUTED)
        self.begin = self.plot.axvline(0, **LIMIT)
        (self.follows,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.screw, self.carriage, self.begin, self.follows):
            self.moves(artist)
        self.screw_words = self.words(self.plot, color=OTHER_WAY["color"], va="top")
        self.follow_words = self.words(self.plot, va="center")
        self.begin_words = self.words(self.plot, color=LIMIT["color"], va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.backlash.TakeUpView`."""
        in_shop_unit(self, result.lengths, self.plot.yaxis)
        self.screw.set_data(result.turns, result.screw_mm)
        self.carriage.set_data(result.turns, result.carriage_mm)
        top = float(result.screw_mm[-1])
        self.plot.set_xlim(0, result.turns[-1])
        self.plot.set_ylim(-0.08 * top, 1.05 * top)
        self.begin.set_xdata([result.begin_turns, result.begin_turns])
        self.begin_words.set_text("the thread may\nbegin from here")
        self.begin_words.set_position((result.begin_turns, 0.16 * top))
        self.follows.set_data([result.take_up_turns], [0.0])
        self.follow_words.set_text("from here the carriage follows")
        self.follow_words.set_position((result.take_up_turns + 0.015 * result.turns[-1], -0.02 * top))
        self.screw_words.set_text("dashes: the screw\nline: the carriage")
        self.screw_words.set_position((0.01 * result.turns[-1], 1.03 * top))
        self.say(result.headline, result.details)
