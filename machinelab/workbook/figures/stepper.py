"""The stepper: torque against spindle speed in a thread, and for every thread the speeds to keep out of."""

from itertools import zip_longest

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

from machinelab.workbook.figures.base import (
    BAND,
    COMPUTED,
    LIMIT,
    MACHINE,
    OTHER_WAY,
    QUIET,
    Chart,
)
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.torque_words import torque_words

MOST_BANDS = 5
ROOM_ABOVE = 1.35
# Two bands nearer than this share of the axis are written on once.
CROWDED_SHARE = 0.03
WORDS_BEGIN_SHARE, WORDS_END_SHARE = 0.08, 0.98
# Where the curve has passed a level this far along the axis, the level is written on at its other end.
PASSED_SHARE = 0.45
SLOWEST_RPM, FASTEST_RPM = 5.0, 4000.0
SPEED_TICKS = (5, 10, 20, 50, 100, 200, 500, 1000, 2000)
HEAVY = 2.2
# The words on the curve stand so much of the axis above it, because the diamond may lie below them.
CLEAR_OF_THE_POINT = 0.02


class StepperTorque(Chart):
    """What torque the stepper has at each spindle speed, what the cut asks, and what ends the speed."""

    height_px = 430

    def lay_out(self) -> None:
        """Build one plot with the curves, the load, the bands and the limit."""
        self.plot = self.axes(66, 24, top_px=74)
        self.plot.set_xlabel("spindle speed in this thread, rpm")
        self.plot.set_ylabel("torque at the stepper's shaft, N m")
        self.spans = [self.moves(self.plot.axvspan(0, 1, color=BAND, zorder=0.5)) for _ in range(MOST_BANDS)]
        self.span_words = [
            self.words(self.plot, size=8.5, ha="center", va="top", rotation=90, color=QUIET)
            for _ in range(MOST_BANDS)
        ]
        (self.bound,) = self.plot.plot([], [], **OTHER_WAY)
        (self.curve,) = self.plot.plot([], [], **COMPUTED, linewidth=HEAVY)
        (self.load,) = self.plot.plot([], [], color=QUIET, linestyle=":", linewidth=1.4)
        self.wanted = self.plot.axhline(0, **LIMIT)
        self.end = self.plot.axvline(0, **LIMIT)
        (self.point,) = self.plot.plot([], [], clip_on=False, **MACHINE)
        for artist in (self.bound, self.curve, self.load, self.wanted, self.end, self.point):
            self.moves(artist)
        self.load_words = self.words(self.plot, va="bottom", color=QUIET)
        self.wanted_words = self.words(self.plot, va="bottom", color=LIMIT["color"])
        self.end_words = {
            side: self.words(self.plot, ha=side, va="top", color=LIMIT["color"]) for side in ("left", "right")
        }
        self.curve_words = self.words(self.plot, ha="left", va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.stepper.StepperView`."""
        speeds, right_rpm = result.speeds_rpm, float(result.speeds_rpm[-1])
        self.curve.set_data(speeds, result.available_nm)
        self.bound.set_data(speeds, result.bound_nm)
        self.load.set_data([0, right_rpm], [result.load_nm] * 2)
        self.wanted.set_ydata([result.wanted_nm] * 2)
        self.point.set_data([result.speed_rpm], [result.here_nm])
        top_nm = rounded_up(ROOM_ABOVE * max(float(np.max(result.bound_nm)), result.wanted_nm, 0.01))
        self.plot.set_xlim(0, right_rpm)
        self.plot.set_ylim(0, top_nm)
        self._write_level(
            self.load_words,
            f"asked by the heaviest pass: {torque_words(result.load_nm)}",
            result,
            result.load_nm,
        )
        wanted = f"{result.numbers.torque_margin:g} times that, wanted in hand"
        self._write_level(self.wanted_words, wanted, result, result.wanted_nm)
        self.curve_words.set_text("torque left; dashed: the textbook's bound")
        self.curve_words.set_position(
            (WORDS_BEGIN_SHARE * right_rpm, float(result.bound_nm[0]) + CLEAR_OF_THE_POINT * top_nm)
        )
        self._move_bands(result.bands, right_rpm, top_nm)
        self._move_end(result.highest, right_rpm, top_nm)
        self.say(result.headline, result.details)

    def _write_level(self, words, text: str, result, level_nm: float) -> None:
        """Write on a level where the curve is far from it."""
        right_rpm = float(result.speeds_rpm[-1])
        passed = result.available_nm[int(PASSED_SHARE * len(result.speeds_rpm))] < result.wanted_nm
        words.set_text(text)
        words.set_horizontalalignment("right" if passed else "left")
        words.set_position(((WORDS_END_SHARE if passed else WORDS_BEGIN_SHARE) * right_rpm, level_nm))

    def _move_bands(self, bands, right_rpm: float, top_nm: float) -> None:
        written = -right_rpm
        for span, words, one in zip_longest(self.spans, self.span_words, bands[:MOST_BANDS]):
            shown = one is not None and one.band.lowest_rpm < right_rpm
            span.set_visible(shown)
            words.set_text("")
            if not shown:
                continue
            low, high = one.band.lowest_rpm, min(one.band.highest_rpm, right_rpm)
            span.set_x(low)
            span.set_width(high - low)
            middle = (low + high) / 2
            if abs(middle - written) > CROWDED_SHARE * right_rpm:
                words.set_text(one.why)
                words.set_position((middle, 0.55 * top_nm))
                written = middle

    def _move_end(self, highest, right_rpm: float, top_nm: float) -> None:
        known = bool(highest.limit)
        self.end.set_visible(known)
        self.end.set_xdata([highest.speed_rpm] * 2)
        roomy = "right" if highest.speed_rpm > right_rpm / 2 else "left"
        for side, words in self.end_words.items():
            words.set_text(f"{highest.limit}: {highest.speed_rpm:.0f} rpm" if known and side == roomy else "")
            words.set_position((highest.speed_rpm, 0.97 * top_nm))


class StepperBands(Chart):
    """Each thread: the speeds that are open to it, the bands to keep out of, and where it is cut."""

    height_px = 330

    def lay_out(self) -> None:
        """Build one row for each thread on a scale that holds slow and fast."""
        self.plot = self.axes(130, 250, top_px=74)
        self.plot.set_xscale("log")
        self.plot.set_xlim(SLOWEST_RPM, FASTEST_RPM)
        self.plot.xaxis.set_major_locator(FixedLocator(SPEED_TICKS))
        self.plot.xaxis.set_major_formatter(FuncFormatter(lambda rpm, _: f"{rpm:g}"))
        self.plot.xaxis.set_minor_formatter(NullFormatter())
        self.plot.grid(axis="y", visible=False)
        self.plot.set_xlabel("spindle speed, rpm: line open, block keep out, diamond chosen")
        (self.open,) = self.plot.plot([], [], **COMPUTED)
        (self.ends,) = self.plot.plot(
            [], [], color=LIMIT["color"], linestyle="none", marker="|", markersize=16, zorder=4
        )
        (self.blocks,) = self.plot.plot([], [], color="#a6a6a6", linewidth=11, solid_capstyle="butt")
        (self.points,) = self.plot.plot([], [], clip_on=False, **MACHINE)
        for artist in (self.open, self.ends, self.blocks, self.points):
            self.moves(artist)
        self.remarks: list = []

    def update(self, result) -> None:
        """Show ``result.views``, a `machinelab.workbook.panels.stepper.StepperView` for each thread."""
        rows = np.arange(len(result.views))
        ends = [view.highest.speed_rpm for view in result.views]
        self.open.set_data(*_strokes([(SLOWEST_RPM, end, row) for end, row in zip(ends, rows, strict=True)]))
        self.ends.set_data(ends, rows)
        self.blocks.set_data(
            *_strokes(
                [
                    (max(one.band.lowest_rpm, SLOWEST_RPM), min(one.band.highest_rpm, FASTEST_RPM), row)
                    for view, row in zip(result.views, rows, strict=True)
                    for one in view.bands
                    if one.band.highest_rpm > SLOWEST_RPM
                ]
            )
        )
        self.points.set_data([view.speed_rpm for view in result.views], rows)
        self.plot.set_ylim(len(rows) - 0.5, -0.5)
        self.plot.set_yticks(rows, [view.work.name for view in result.views])
        for remark in self.remarks:
            remark.remove()
        beside = {"transform": self.plot.get_yaxis_transform(), "size": 9, "va": "center"}
        self.remarks = [
            self.plot.text(1.015, row, _remark(view), **beside)
            for view, row in zip(result.views, rows, strict=True)
        ]
        self.renew_frame()
        told = "; ".join(
            f"{view.work.name}: up to {view.highest}, keep out of {', '.join(map(str, view.bands)) or 'none'}"
            for view in result.views
        )
        self.say(result.headline, f"Row by row: {told}.")


def _remark(view) -> str:
    limit = view.highest.limit
    return f"up to {view.highest.speed_rpm:.0f} rpm:\n{limit}" if limit else "no limit known"


def _strokes(strokes):
    """Level strokes as one line that lifts its pen between them."""
    x = [value for low, high, _ in strokes for value in (low, high, np.nan)]
    y = [value for *_, row in strokes for value in (row, row, np.nan)]
    return x, y
