"""Today's job: speed against diameter with tool and machine; feed against depth, and what a sag does."""

import math

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

from machinelab.workbook.figures.base import BAND, COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.figures.shop_scale import in_shop_unit
from machinelab.workbook.job import DRILLING, PARTING
from machinelab.workbook.job_plan import JobPlan, feeds_shown

DIAMETERS = (2, 5, 10, 20, 50, 100, 200, 500)
SPEEDS = (20, 50, 100, 200, 500, 1000, 2000, 5000)
FEEDS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5)
SLOWEST_RPM, FASTEST_RPM = 15.0, 6000.0
NARROWEST_MM = 2.0
SPEED_POINTS = 90
MOST_SAG = 0.4
HEAVY = 2.2
DEEP_WORDS = {DRILLING: "drill diameter", PARTING: "width of the blade"}


class JobSpeeds(Chart):
    """The tool's band of speeds against diameter, with the machine's own limits and the job's point."""

    height_px = 440

    def lay_out(self) -> None:
        """Build one plot on scales of equal ratios, on which a cutting speed is a straight line."""
        self.plot = self.axes(66, 24, top_px=74)
        _ratios(self.plot.xaxis, self.plot.set_xscale, DIAMETERS)
        _ratios(self.plot.yaxis, self.plot.set_yscale, SPEEDS)
        self.plot.set_ylim(SLOWEST_RPM, FASTEST_RPM)
        self.plot.set_xlabel("diameter that is cut, mm")
        self.plot.set_ylabel("spindle speed, rpm")
        self.band = self.moves(self.plot.fill_between([1, 2], [1, 1], [2, 2], color=BAND, zorder=0.5))
        (self.typical,) = self.plot.plot([], [], **COMPUTED)
        (self.edge_low,) = self.plot.plot([], [], color=QUIET, linestyle="-", linewidth=0.8)
        (self.edge_high,) = self.plot.plot([], [], color=QUIET, linestyle="-", linewidth=0.8)
        (self.for_hours,) = self.plot.plot([], [], **OTHER_WAY, linewidth=HEAVY)
        (self.short_time,) = self.plot.plot([], [], color=OTHER_WAY["color"], linestyle=":", linewidth=1.4)
        self.ends = [self.moves(self.plot.axhline(1, **LIMIT)) for _ in range(2)]
        self.swing = self.moves(self.plot.axvline(1, **LIMIT))
        (self.point,) = self.plot.plot([], [], clip_on=False, **MACHINE)
        lines = (
            self.typical,
            self.edge_low,
            self.edge_high,
            self.for_hours,
            self.short_time,
            self.point,
        )
        for artist in lines:
            self.moves(artist)
        self.top_words = self.words(self.plot, ha="left", va="bottom", color=LIMIT["color"])
        self.low_words = self.words(self.plot, ha="left", va="top", color=LIMIT["color"])
        self.swing_words = self.words(
            self.plot, size=8.5, ha="right", va="top", rotation=90, color=LIMIT["color"]
        )
        self.band_words = self.words(self.plot, size=8.5, ha="right", va="bottom", color=QUIET)
        self.torque_words = self.words(self.plot, size=8.5, ha="right", va="top", color=OTHER_WAY["color"])
        self.point_words = self.words(self.plot, ha="left", va="bottom", weight="bold")

    def update(self, result: JobPlan) -> None:
        """Move everything to a job's plan."""
        machine = result.machine
        in_shop_unit(self, machine.lengths, self.plot.xaxis)
        widest = rounded_up(1.3 * max(machine.swing_mm, float(result.job.diameter_mm)))
        self.plot.set_xlim(NARROWEST_MM, widest)
        across = np.array([NARROWEST_MM, widest])
        low, typical, high = result.wanted_rpm(across)
        self.band.set_verts([np.column_stack([[*across, *across[::-1]], [*low, *high[::-1]]])])
        for line, speeds in ((self.edge_low, low), (self.typical, typical), (self.edge_high, high)):
            line.set_data(across, speeds)
        self._move_torque(result, widest)
        for line, speed in zip(self.ends, (machine.top_rpm, machine.lowest_rpm), strict=True):
            line.set_ydata([speed, speed])
        self.swing.set_xdata([machine.swing_mm] * 2)
        self.top_words.set_text(f"{machine.top_why}: {machine.top_rpm:.0f} rpm")
        self.top_words.set_position((NARROWEST_MM, machine.top_rpm))
        self.low_words.set_text(f"slowest steady speed: {machine.lowest_rpm:.0f} rpm")
        self.low_words.set_position((NARROWEST_MM, machine.lowest_rpm))
        self.swing_words.set_text("swing")
        self.swing_words.set_position((machine.swing_mm, FASTEST_RPM))
        self.band_words.set_text(
            f"the tool: {machine.lengths.rim.told(result.wanted.low_m_min).split()[0]} to "
            f"{machine.lengths.rim.told(result.wanted.high_m_min)}"
        )
        self.band_words.set_position((0.985 * widest, 17.0))
        self.point.set_data([float(result.job.diameter_mm)], [result.speed_rpm])
        self.point_words.set_text(f"{result.speed_rpm:.0f} rpm")
        self.point_words.set_position((1.04 * float(result.job.diameter_mm), 1.03 * result.speed_rpm))
        self.say(result.headline, result.details)

    def _move_torque(self, result: JobPlan, widest: float) -> None:
        machine = result.machine
        speeds = np.geomspace(SLOWEST_RPM, machine.top_rpm, SPEED_POINTS)
        known = result.torque_known
        for line in (self.for_hours, self.short_time):
            line.set_visible(known)
        self.torque_words.set_text("")
        if not known:
            return
        hours = result.job.most_diameter_mm(machine.for_hours_nm(speeds))
        short = result.job.most_diameter_mm(machine.for_a_short_time_nm(speeds))
        self.for_hours.set_data(hours, speeds)
        self.short_time.set_data(short, speeds)
        foot = float(hours[0])
        if NARROWEST_MM < foot < widest:
            self.torque_words.set_text("right of it this cut is too heavy\nfor hours; dotted: at any time")
            self.torque_words.set_ha("right" if foot > 20 else "left")
            self.torque_words.set_position((foot, 40.0))


class JobFeeds(Chart):
    """Left: how deep the drive carries each feed, and where the finish ends. Right: what a sag does to it."""

    height_px = 420

    def lay_out(self) -> None:
        """Build the map of feed and depth, and the plot of feed against sag."""
        self.map = self.axes(62, 330, top_px=92)
        self.map.set_title("How deep the drive carries each feed")
        _ratios(self.map.xaxis, self.map.set_xscale, FEEDS)
        self.map.set_xlabel("feed, mm a turn")
        self.map.set_ylabel("depth of cut, mm")
        (self.for_hours,) = self.map.plot([], [], **COMPUTED, linewidth=HEAVY)
        (self.short_time,) = self.map.plot([], [], **OTHER_WAY)
        self.rubs = self.moves(self.map.axvspan(0.01, 0.02, color=BAND, zorder=0.5))
        self.finish = self.moves(self.map.axvline(1, **LIMIT))
        (self.point,) = self.map.plot([], [], clip_on=False, **MACHINE)
        self.hours_words = self.words(self.map, size=8.5, ha="left", va="bottom")
        self.rubs_words = self.words(self.map, size=8.5, ha="right", va="top", rotation=90, color=QUIET)
        self.finish_words = self.words(
            self.map, size=8.5, ha="left", va="top", rotation=90, color=LIMIT["color"]
        )
        self.nothing = self.map.text(0.5, 0.5, "", transform=self.map.transAxes, ha="center", color=QUIET)

        self.sag = self.axes(540, 24, top_px=92)
        self.sag.set_title("Feed while the spindle sags")
        self.sag.set_xlabel("speed lost in the cut, %")
        self.sag.set_ylabel("feed, mm a turn")
        self.sag.set_xlim(0, 100 * MOST_SAG)
        (self.own_knob,) = self.sag.plot([], [], **OTHER_WAY)
        self.follows = self.sag.axhline(1, **COMPUTED)
        self.reckoned = self.sag.axvline(1, **LIMIT)
        self.knob_words = self.words(self.sag, size=8.5, ha="left", va="top", color=OTHER_WAY["color"])
        self.follows_words = self.words(self.sag, size=8.5, ha="right", va="top")
        self.reckoned_words = self.words(
            self.sag, size=8.5, ha="right", va="bottom", rotation=90, color=LIMIT["color"]
        )
        lines = (
            self.for_hours,
            self.short_time,
            self.point,
            self.nothing,
            self.own_knob,
            self.follows,
            self.reckoned,
        )
        for artist in lines:
            self.moves(artist)

    def update(self, result: JobPlan) -> None:
        """Move everything to a job's plan."""
        in_shop_unit(self, result.machine.lengths, self.map.xaxis, self.map.yaxis, self.sag.yaxis)
        self._move_map(result)
        self._move_sag(result)
        self.say(result.feed_headline, f"{result.feed_told} {result.finish_told}")

    def _move_map(self, result: JobPlan) -> None:
        job, feeds = result.job, feeds_shown(result.job)
        hours = np.asarray(job.most_deep(result.for_hours_nm, feeds), dtype=float)
        short = np.asarray(job.most_deep(result.for_a_short_time_nm, feeds), dtype=float)
        known = bool(np.all(np.isfinite(hours)))
        right = float(feeds[-1])
        own = float(job.diameter_mm if job.operation == DRILLING else job.depth_mm)
        at_job = float(np.interp(float(job.feed_mm), feeds, hours)) if known else own
        top = rounded_up(1.6 * max(own, at_job))
        self.map.set_xlim(feeds[0], right)
        self.map.set_ylim(0, top)
        lengths = result.machine.lengths
        label = f"{DEEP_WORDS.get(job.operation, 'depth of cut')}, {lengths.unit}"
        if self.map.get_ylabel() != label:
            self.map.set_ylabel(label)
            self.renew_frame()
        for line, depths in ((self.for_hours, hours), (self.short_time, short)):
            line.set_data(feeds, depths)
            line.set_visible(known)
        self.nothing.set_text("" if known else "not known for this work on this machine")
        self.hours_words.set_text("for hours; dashed: short time" if known else "")
        self.hours_words.set_position((float(feeds[0]), 0.02 * top))
        self.point.set_data([float(job.feed_mm)], [own])
        self.point.set_visible(known)
        self.rubs.set_x(float(feeds[0]))
        self.rubs.set_width(job.rubs_below_mm - float(feeds[0]))
        self.rubs_words.set_text("rubs")
        self.rubs_words.set_position((job.rubs_below_mm, top))
        self.finish.set_visible(job.leaves_a_finish)
        self.finish.set_xdata([result.finish_feed_mm] * 2)
        self.finish_words.set_text(
            f"coarsest for Ra {lengths.fine(job.roughness_um)} {lengths.fine_unit}"
            if job.leaves_a_finish
            else ""
        )
        self.finish_words.set_position((result.finish_feed_mm, top))

    def _move_sag(self, result: JobPlan) -> None:
        lost = np.linspace(0, MOST_SAG, 60)
        feed = float(result.job.feed_mm)
        own = result.sagged_feed_mm(lost)
        self.own_knob.set_data(100 * lost, own)
        self.follows.set_ydata([feed, feed])
        self.sag.set_ylim(0.8 * feed, 1.1 * float(own[-1]))
        self.knob_words.set_text("with its own knob")
        self.knob_words.set_position((1.0, 1.08 * float(own[-1])))
        self.follows_words.set_text("following the spindle")
        self.follows_words.set_position((100 * MOST_SAG, feed))
        share = result.reckoned_sag_share
        shown = not math.isnan(share) and share <= MOST_SAG
        self.reckoned.set_visible(shown)
        self.reckoned_words.set_text("drive left to itself" if shown else "")
        if shown:
            self.reckoned.set_xdata([100 * share] * 2)
            self.reckoned_words.set_position((100 * share, 0.82 * feed))


def _ratios(axis, set_scale, ticks) -> None:
    """A scale of equal ratios with plain numbers on it."""
    set_scale("log")
    axis.set_major_locator(FixedLocator(ticks))
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axis.set_minor_formatter(NullFormatter())
