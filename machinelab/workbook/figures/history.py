"""One quantity of the record over time: each measurement with its U, its limits, and any change."""

import math

import numpy as np
from matplotlib import dates
from matplotlib.patches import Rectangle

from machinelab.workbook.card.lettering import in_type
from machinelab.workbook.figures.base import BAND, LIMIT, MACHINE, MEASURED, QUIET, Chart

ROOM_SHARE = 0.25
# A limit further off than this many times what the values span would flatten them to a line.
FARTHEST_LIMIT = 5.0
SINGLE_DAYS = 30.0
# Measurements of one day are told apart by the clock, and never closer than the clock shows.
CLOCK_DAYS, LEAST_MARGIN_DAYS = 2.0, 10 / (24 * 60)
DAY, CLOCK = dates.DateFormatter("%Y-%m-%d"), dates.DateFormatter("%m-%d %H:%M")
ABOVE, BELOW = "above", "below"


class QuantityHistory(Chart):
    """Values with their U against the date, and the band within which no change is proven."""

    height_px = 400

    def lay_out(self) -> None:
        """Build one plot of the quantity against the date."""
        self.plot = self.axes(96, 56, bottom_px=58)
        self.plot.set_xlabel("date of the measurement")
        locator = dates.AutoDateLocator(minticks=3, maxticks=7)
        self.plot.xaxis.set_major_locator(locator)
        self.band = self.moves(Rectangle((0, 0), 0, 0, facecolor=BAND, edgecolor="none", zorder=0.5))
        self.plot.add_patch(self.band)
        (self.bars,) = self.plot.plot([], [], color=MEASURED["color"], linewidth=1.4)
        (self.ends,) = self.plot.plot(
            [], [], color=MEASURED["color"], linestyle="none", marker="_", markersize=9
        )
        (self.values,) = self.plot.plot([], [], **MEASURED)
        (self.last,) = self.plot.plot([], [], **MACHINE)
        self.limits = {way: self.plot.axhline(0, **LIMIT) for way in (ABOVE, BELOW)}
        # Names and units are a person's own words, never a formula.
        for text in (self._headline, self.plot.yaxis.label):
            text.set_parse_math(False)
        for artist in (self.bars, self.ends, self.values, self.last, *self.limits.values()):
            self.moves(artist)
        self.limit_words = {
            ABOVE: self.words(self.plot, color=LIMIT["color"], va="bottom", parse_math=False),
            BELOW: self.words(self.plot, color=LIMIT["color"], va="top", parse_math=False),
        }
        self.band_words = self.words(self.plot, color=QUIET, va="bottom", ha="right")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.record.history.History`."""
        # As the clock on the wall showed it, so that the days are those of the headline and the sheet.
        days = np.array([dates.date2num(one.time.replace(tzinfo=None)) for one in result.measurements])
        values = np.array([one.value for one in result.measurements])
        doubts = np.array([one.uncertainty for one in result.measurements])
        low, high = values - np.nan_to_num(doubts), values + np.nan_to_num(doubts)
        gaps = np.full(len(days), np.nan)
        self.bars.set_data(np.repeat(days, 3), np.column_stack([low, high, gaps]).ravel())
        self.ends.set_data(np.repeat(days, 2), np.column_stack([low, high]).ravel())
        self.values.set_data(days[:-1], values[:-1])
        self.last.set_data(days[-1:], values[-1:])
        self.plot.set_ylabel(in_type(f"measured, {result.unit}" if result.unit else "measured"))
        span = float(np.ptp(days))
        margin = max(0.08 * span, LEAST_MARGIN_DAYS) if len(days) > 1 else SINGLE_DAYS
        left, right = float(days.min() - margin), float(days.max() + margin)
        self.plot.set_xlim(left, right)
        self.plot.xaxis.set_major_formatter(CLOCK if right - left < CLOCK_DAYS else DAY)
        self._place_band(result, left, right)
        self._place_limits(result, float(low.min()), float(high.max()), left)
        # Below everything that is drawn, where no measurement can lie.
        self.band_words.set_position((right, self.plot.get_ylim()[0]))
        self.say(in_type(result.headline), result.details)
        # The name of the unit stands outside of what moves.
        self.renew_frame()

    def _place_band(self, result, left: float, right: float) -> None:
        shown = not math.isnan(result.change)
        least = result.least_change if shown else 0.0
        self.band.set_bounds(left, result.first.value - least, right - left, 2 * least)
        self.band_words.set_text("last one in the grey: no change since the first is proven" if shown else "")

    def _place_limits(self, result, low: float, high: float, left: float) -> None:
        if not math.isnan(result.change):
            low = min(low, result.first.value - result.least_change)
            high = max(high, result.first.value + result.least_change)
        span = high - low or max(abs(high), 1e-9)
        near = {
            way: limit
            for way, limit in ((ABOVE, result.upper), (BELOW, result.lower))
            if limit is not None and low - FARTHEST_LIMIT * span <= limit <= high + FARTHEST_LIMIT * span
        }
        low, high = min([low, *near.values()]), max([high, *near.values()])
        room = ROOM_SHARE * (high - low or span)
        self.plot.set_ylim(low - room, high + room)
        for way, limit in ((ABOVE, result.upper), (BELOW, result.lower)):
            self._place_limit(way, limit, way in near, left, result.unit)

    def _place_limit(self, way: str, limit: float | None, is_near: bool, left: float, unit: str) -> None:
        line, words = self.limits[way], self.limit_words[way]
        bottom, top = self.plot.get_ylim()
        line.set_ydata([limit if is_near else math.nan] * 2)
        if limit is None:
            words.set_text("")
            return
        said = f"limit: at {'most' if way == ABOVE else 'least'} {limit:g} {unit}".rstrip()
        outside = "" if is_near else f", {'above' if limit > top else 'below'} this picture"
        words.set_text(in_type(said + outside))
        if is_near:
            words.set_position((left, limit))
            words.set_va("bottom" if way == ABOVE else "top")
            return
        words.set_va("bottom")
        words.set_position((left, bottom if limit < bottom else top - 0.09 * (top - bottom)))
