"""Coast-down: the readings, the curve fitted through them, when the spindle stands, what is left over."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MEASURED, QUIET, Chart

MOST_POINTS_DRAWN = 1500
CURVE_POINTS = 200


class CoastDown(Chart):
    """A fitted coast-down with its residuals; the time to standstill is drawn with its interval."""

    height_px = 480

    def lay_out(self) -> None:
        """Build the speed plot and, below it on the same time scale, what the fit leaves over."""
        self.speed = self.axes(78, 24, top_px=62, bottom_px=190)
        self.speed.set_ylabel("spindle speed, rpm")
        self.speed.tick_params(labelbottom=False)
        (self.readings,) = self.speed.plot([], [], **MEASURED, alpha=0.75)
        (self.curve,) = self.speed.plot([], [], **COMPUTED)
        self.start = self.speed.axvline(0, color=QUIET, linestyle=":", linewidth=1.2)
        (self.standstill,) = self.speed.plot([], [], marker="|", markersize=14, clip_on=False, **LIMIT)
        for artist in (self.readings, self.curve, self.start, self.standstill):
            self.moves(artist)
        self.start_words = self.words(self.speed, size=9, color=QUIET, va="top")
        self.stop_words = self.words(self.speed, size=9, color=LIMIT["color"], va="bottom", ha="right")
        self.curve_words = self.words(self.speed, size=9, va="bottom")

        self.left_over = self.axes(78, 24, top_px=310, bottom_px=52)
        self.left_over.set_xlabel("time in the log, s")
        self.left_over.set_ylabel("reading\nless fit, rpm")
        self.left_over.axhline(0, **COMPUTED)
        (self.residuals,) = self.left_over.plot([], [], **MEASURED, alpha=0.75)
        self.moves(self.residuals)

    def update(self, fit) -> None:
        """Move everything to a fit with readings, curve, residuals and `stop_time_s`."""
        start_rpm = float(fit.speed_rpm(fit.start_s))
        stop = fit.stop_time_s(start_rpm)
        turns = fit.turns_to_stop(start_rpm)
        low, high = (fit.start_s + end for end in stop.interval)
        few = _thinned(len(fit.time_s))
        self.readings.set_data(fit.time_s[few], fit.speed_rpm_read[few])
        self.residuals.set_data(fit.time_s[few], fit.residuals_rpm[few])
        times = np.linspace(min(fit.time_s[0], fit.start_s), fit.start_s + stop.value, CURVE_POINTS)
        self.curve.set_data(times, fit.speed_rpm(times))
        self.start.set_xdata([fit.start_s, fit.start_s])
        self.standstill.set_data([low, fit.start_s + stop.value, high], [0, 0, 0])
        self._set_scales(fit, start_rpm, latest=max(high, fit.time_s[-1]))
        self._set_words(fit, start_rpm, stop, high)
        self.say(
            f"From {start_rpm:.0f} rpm the spindle coasts {_with_interval(stop)} s "
            f"and {_with_interval(turns)} turns.",
            f"{len(fit.time_s)} readings; the fit starts at {fit.start_s:.2f} s in the log.",
        )

    def _set_scales(self, fit, start_rpm: float, *, latest: float) -> None:
        earliest = min(fit.time_s[0], fit.start_s)
        margin = 0.03 * (latest - earliest)
        for axes in (self.speed, self.left_over):
            axes.set_xlim(earliest - margin, latest + margin)
        self.speed.set_ylim(0, 1.12 * max(start_rpm, np.nanmax(fit.speed_rpm_read)))
        widest = np.nanpercentile(np.abs(fit.residuals_rpm), 99) * 1.6 or 1.0
        self.left_over.set_ylim(-widest, widest)

    def _set_words(self, fit, start_rpm: float, stop, high: float) -> None:
        self.start_words.set_text("coast starts")
        self.start_words.set_position((fit.start_s, 1.1 * start_rpm))
        self.stop_words.set_text(f"standstill after {_with_interval(stop)} s")
        self.stop_words.set_position((high, 0.06 * start_rpm))
        half = fit.start_s + 0.35 * stop.value
        self.curve_words.set_text("fitted curve")
        self.curve_words.set_position((half, float(fit.speed_rpm(half)) * 1.04))


def _thinned(rows: int) -> slice:
    return slice(None, None, max(1, -(-rows // MOST_POINTS_DRAWN)))


def _with_interval(estimate) -> str:
    low, high = estimate.interval
    places = max(0, 1 - int(np.floor(np.log10(high - low)))) if high > low else 1
    places = min(places, 3)
    return f"{estimate.value:.{places}f} ({low:.{places}f} to {high:.{places}f})"
