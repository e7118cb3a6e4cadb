"""Coast-down: the readings, the curve fitted through them, when the spindle stands, what is left over."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MEASURED, OTHER_WAY, QUIET, Chart
from machinelab.workbook.measured import with_interval

MOST_POINTS_DRAWN = 1500
CURVE_POINTS = 240
COUNTS_FOR_NOTHING = 0.05


class CoastDown(Chart):
    """A fitted coast-down with its residuals; the time to standstill is drawn with its interval."""

    height_px = 500

    def lay_out(self) -> None:
        """Build the speed plot and, below it on the same time scale, what the fit leaves over."""
        self._lay_out_speed()
        self.left_over = self.axes(92, 24, top_px=336, bottom_px=52)
        self.left_over.set_xlabel("time in the log, s")
        self.left_over.set_ylabel("reading\nless fit, rpm")
        self.left_over.axhline(0, **COMPUTED)
        (self.residuals,) = self.left_over.plot([], [], **MEASURED, alpha=0.75)
        self.moves(self.residuals)

    def _lay_out_speed(self) -> None:
        self.speed = self.axes(92, 24, top_px=62, bottom_px=186)
        self.speed.set_ylabel("spindle speed, rpm")
        self.speed.tick_params(labelbottom=False)
        (self.readings,) = self.speed.plot([], [], **MEASURED, alpha=0.6)
        (self.ignored,) = self.speed.plot([], [], color=QUIET, marker="x", linestyle="none")
        (self.curve,) = self.speed.plot([], [], **COMPUTED, zorder=3)
        (self.shown,) = self.speed.plot([], [], **OTHER_WAY)
        self.start = self.speed.axvline(0, color=QUIET, linestyle=":", linewidth=1.2)
        (self.standstill,) = self.speed.plot([], [], marker="|", markersize=14, clip_on=False, **LIMIT)
        for artist in (self.readings, self.ignored, self.curve, self.shown, self.start, self.standstill):
            self.moves(artist)
        self.start_words = self.words(self.speed, color=QUIET, va="top")
        self.stop_words = self.words(self.speed, color=LIMIT["color"], va="bottom", ha="right")
        self.key_words = self.words(self.speed, va="top", ha="right")

    def update(self, fit) -> None:
        """Move everything to a `machinelab.spindle.coastdown.CoastdownFit`."""
        start_s = fit.start_s.value if fit.start_s else fit.readings.time_s[0]
        stop, turns = fit.stop_time_s(fit.tested_rpm), fit.turns_to_stop(fit.tested_rpm)
        stands = start_s + stop.value
        self._move_readings(fit)
        times = np.linspace(fit.readings.time_s[0], stands, CURVE_POINTS)
        self.curve.set_data(times, fit.speed_rpm(times))
        self.shown.set_data(times, fit.shown_rpm(times))
        self.shown.set_visible(fit.lag_s is not None)
        self.start.set_xdata([start_s, start_s])
        low, high = (start_s + end for end in stop.interval)
        self.standstill.set_data([low, stands, high], [0, 0, 0])
        self._set_scales(fit, latest=max(high, fit.readings.time_s[-1]))
        self._set_words(fit, start_s, stop, stands)
        self.say(
            f"From {fit.tested_rpm:.0f} rpm the spindle coasts {with_interval(stop)} s "
            f"and turns {with_interval(turns)} times.",
            f"Intervals hold the truth 95 times in 100. {len(fit.readings.time_s)} readings were fitted.",
        )

    def _move_readings(self, fit) -> None:
        few = slice(None, None, max(1, -(-len(fit.readings.time_s) // MOST_POINTS_DRAWN)))
        time, speed = fit.readings.time_s[few], fit.readings.speed_rpm[few]
        wild = fit.weights[few] < COUNTS_FOR_NOTHING
        self.readings.set_data(time[~wild], speed[~wild])
        self.ignored.set_data(time[wild], speed[wild])
        self.residuals.set_data(time[~wild], fit.residuals_rpm[few][~wild])

    def _set_scales(self, fit, *, latest: float) -> None:
        earliest = fit.readings.time_s[0]
        margin = 0.03 * (latest - earliest)
        for axes in (self.speed, self.left_over):
            axes.set_xlim(earliest - margin, latest + margin)
        self.speed.set_ylim(0, 1.15 * fit.tested_rpm)
        fitted = fit.residuals_rpm[fit.weights >= COUNTS_FOR_NOTHING]
        widest = 1.6 * np.nanpercentile(np.abs(fitted), 99) or 1.0
        self.left_over.set_ylim(-widest, widest)

    def _set_words(self, fit, start_s: float, stop, stands: float) -> None:
        self.start_words.set_text("the drive lets go")
        self.start_words.set_position((start_s, 1.13 * fit.tested_rpm))
        self.stop_words.set_text(f"standstill {with_interval(stop)} s after letting go")
        self.stop_words.set_position((start_s + 0.6 * stop.value, 0.02 * fit.tested_rpm))
        lines = ["\N{WHITE CIRCLE} readings", "line: the spindle itself"]
        if fit.lag_s is not None:
            lines.append(f"dashes: what the meter shows, {fit.lag_s.value:.2g} s late")
        if len(self.ignored.get_xdata()):
            lines.append("\N{MULTIPLICATION SIGN} readings left out of the fit")
        self.key_words.set_text("\n".join(lines))
        self.key_words.set_position((self.speed.get_xlim()[1], 1.13 * fit.tested_rpm))
