"""Slender work: the diameter's error along a bar with its supports, and a tail that whips."""

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

from machinelab.work.holding import WITH_CENTRE, WITH_CHUCK
from machinelab.workbook.figures.base import BAND, COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.figures.shop_scale import in_shop_unit

SPEEDS = (50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)
SUPPORT = {"color": "#1a1a1a", "linestyle": "none", "clip_on": False}


class BarError(Chart):
    """Above: the bar and what holds it. Below: how much too thick it comes out, with what is allowed."""

    height_px = 460

    def lay_out(self) -> None:
        """Build a strip for the bar and the plot of the error under it."""
        self.strip = self.axes(84, 40, top_px=66, bottom_px=330)
        self.strip.set_ylim(-1, 1)
        self.strip.set_axis_off()
        self.plot = self.axes(84, 40, top_px=150)
        self.plot.set_xlabel("place of the tool from the chuck, mm")
        self.plot.set_ylabel("diameter too large by, mm")
        self.band = self.moves(self.plot.fill_between([0, 1], [0, 0], [0, 0], color=BAND, zorder=0.5))
        (self.error,) = self.plot.plot([], [], **COMPUTED)
        self.allowed = self.plot.axhline(0, **LIMIT)
        (self.worst,) = self.plot.plot([], [], **MACHINE)
        (self.shaft,) = self.strip.plot([], [], color=QUIET, linewidth=9, solid_capstyle="butt")
        (self.jaws,) = self.strip.plot([], [], marker="s", markersize=20, **SUPPORT)
        (self.centres,) = self.strip.plot([], [], marker="<", markersize=15, **SUPPORT)
        (self.left_centre,) = self.strip.plot([], [], marker=">", markersize=15, **SUPPORT)
        (self.steady_below,) = self.strip.plot([], [], marker="^", markersize=12, **SUPPORT)
        (self.steady_above,) = self.strip.plot([], [], marker="v", markersize=12, **SUPPORT)
        for artist in (
            *(self.error, self.allowed, self.worst, self.shaft, self.jaws, self.centres),
            *(self.left_centre, self.steady_below, self.steady_above),
        ):
            self.moves(artist)
        self.allowed_words = self.words(self.plot, va="bottom", color=LIMIT["color"])
        self.worst_words = self.words(self.plot, ha="right", va="bottom", weight="bold")
        self.band_words = self.words(self.plot, size=8.5, va="top", color=QUIET)
        self.steady_words = self.words(self.strip, size=8.5, va="center")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.slender_work.SlenderView`."""
        work, length, told = result.work, result.work.length_mm, result.work.lengths.told
        in_shop_unit(self, work.lengths, self.plot.xaxis, self.plot.yaxis)
        right = rounded_up(1.03 * length)
        for axes in (self.strip, self.plot):
            axes.set_xlim(-0.03 * right, right)
        doubt, error = work.force_doubt, result.error_mm
        top = rounded_up(1.35 * max(work.allowed_mm, min(result.worst_mm, 12 * work.allowed_mm)))
        self.plot.set_ylim(0, top)
        edges = np.concatenate([(1 + doubt) * error, ((1 - doubt) * error)[::-1]])
        self.band.set_verts([np.column_stack([np.concatenate([result.at_mm, result.at_mm[::-1]]), edges])])
        self.error.set_data(result.at_mm, error)
        self.allowed.set_ydata([work.allowed_mm] * 2)
        self.allowed_words.set_text(f"you allow {told(work.allowed_mm, 3)}")
        self.allowed_words.set_position((-0.03 * right, work.allowed_mm))
        at, worst = result.worst_at_mm, min(result.worst_mm, top)
        self.worst.set_data([at], [worst])
        self.worst_words.set_text(told(result.worst_mm, 3))
        self.worst_words.set_position((at, worst if worst < 0.9 * top else 0.88 * top))
        self.band_words.set_text(f"band: doubt of the force, {100 * doubt:.0f} %" if doubt else "")
        self.band_words.set_position((-0.02 * right, 0.98 * top))
        self._draw_supports(work, length)
        self.say(result.headline, result.details)

    def _draw_supports(self, work, length: float) -> None:
        self.shaft.set_data([0, length], [0, 0])
        chucked = work.holding in WITH_CHUCK
        self.jaws.set_data(*([[0, 0], [0.55, -0.55]] if chucked else [[], []]))
        self.centres.set_data(*([[length], [0]] if work.holding in WITH_CENTRE else [[], []]))
        self.left_centre.set_data(*([[0], [0]] if not chucked else [[], []]))
        for marker, height in ((self.steady_below, -0.5), (self.steady_above, 0.5)):
            marker.set_data(*([[work.steady_mm], [height]] if work.has_steady else [[], []]))
        place = work.lengths.told(work.steady_mm, 0)
        self.steady_words.set_text(f"steady rest, {place}" if work.has_steady else "")
        self.steady_words.set_position((work.steady_mm + 0.02 * length, -0.62))


class TailWhip(Chart):
    """At which speed a tail of bar whips, by its length, with the speeds allowed and the spindle's own."""

    height_px = 380

    def lay_out(self) -> None:
        """Build one plot with speeds on a scale of equal ratios."""
        self.plot = self.axes(84, 24)
        self.plot.set_xlabel("bar that stands out free behind the headstock, mm")
        self.plot.set_ylabel("speed, rpm")
        self.plot.set_yscale("log")
        self.plot.yaxis.set_major_locator(FixedLocator(SPEEDS))
        self.plot.yaxis.set_major_formatter(FuncFormatter(lambda speed, _: f"{speed:g}"))
        self.plot.yaxis.set_minor_formatter(NullFormatter())
        (self.whips,) = self.plot.plot([], [], **COMPUTED)
        (self.straight,) = self.plot.plot([], [], **OTHER_WAY)
        (self.bent,) = self.plot.plot([], [], **{**OTHER_WAY, "linestyle": ":"})
        self.top = self.plot.axhline(1, **LIMIT)
        (self.point,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.whips, self.straight, self.bent, self.top, self.point):
            self.moves(artist)
        self.top_words = self.words(self.plot, va="bottom", ha="left", color=LIMIT["color"])
        self.key = self.words(self.plot, va="top", ha="right")
        self.point_words = self.words(self.plot, va="bottom", ha="left", weight="bold")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.slender.TailView`."""
        in_shop_unit(self, result.lengths, self.plot.xaxis)
        self.plot.set_xlim(result.tails_mm[0], result.tails_mm[-1])
        self.plot.set_ylim(50, 100_000)
        self.whips.set_data(result.tails_mm, result.whips_rpm)
        self.straight.set_data(result.tails_mm, result.straight_share * result.whips_rpm)
        self.bent.set_data(result.tails_mm, result.bent_share * result.whips_rpm)
        self.top.set_ydata([result.speed_rpm] * 2)
        self.top_words.set_text(f"the spindle turns {result.speed_rpm:.0f} rpm")
        self.top_words.set_position((result.tails_mm[0], result.speed_rpm))
        self.key.set_text("line: it whips\ndashes: half of that, a straight bar\ndots: 0.3 of it, a bent bar")
        self.key.set_position((0.99 * result.tails_mm[-1], 85_000))
        self.point.set_data([result.tail_mm], [result.speed_rpm])
        self.point_words.set_text(result.lengths.told(result.tail_mm, 0))
        self.point_words.set_position((result.tail_mm, result.speed_rpm))
        self.say(result.headline, result.details)
