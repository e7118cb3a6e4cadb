"""RPM meter: what it shows while the speed changes, its answer to a sudden change, and its error by speed."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, MEASURED, OTHER_WAY, QUIET, Chart

COUNTS_FOR_NOTHING = 0.05
CURVE_POINTS = 300


class MeterDelay(Chart):
    """The spindle's speed and what the meter shows of it, through a change and after it."""

    height_px = 370

    def lay_out(self) -> None:
        """Build one plot of speed against time."""
        self.plot = self.axes(78, 24)
        self.plot.set_xlabel("time, s")
        self.plot.set_ylabel("speed, rpm")
        (self.true,) = self.plot.plot([], [], **OTHER_WAY)
        (self.shown,) = self.plot.plot([], [], **COMPUTED)
        self.trusted = self.plot.axvline(0, **LIMIT)
        (self.worst,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.true, self.shown, self.trusted, self.worst):
            self.moves(artist)
        self.key_words = self.words(self.plot, va="bottom")
        self.trusted_words = self.words(self.plot, color=LIMIT["color"], va="bottom")
        self.worst_words = self.words(self.plot, va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.speed_meter.MeterView`."""
        self.true.set_data(result.time_s, result.true_rpm)
        self.shown.set_data(result.time_s, result.shown_rpm)
        highest = 1.15 * result.true_rpm[0]
        self.plot.set_xlim(0, result.time_s[-1])
        self.plot.set_ylim(0, highest)
        self.trusted.set_xdata([result.trusted_s, result.trusted_s])
        self.trusted_words.set_text("from here\nthe reading\nmay be noted")
        self.trusted_words.set_position((result.trusted_s, 0.03 * highest))
        self.worst.set_data([result.worst_s], [result.worst_shown_rpm])
        self.worst_words.set_text(f"shows {result.worst_rpm:.0f} rpm too much")
        self.worst_words.set_position((result.worst_s, result.worst_shown_rpm))
        self.key_words.set_text("dashes: the spindle\nline: the display")
        self.key_words.set_position((0, 0.03 * highest))
        self.say(result.headline, result.details)


class MeterStepChart(Chart):
    """Readings of a sudden change, the fitted lag, and what is left over."""

    height_px = 470

    def lay_out(self) -> None:
        """Build the readings' plot and, below it on the same time scale, what the fit leaves over."""
        self.plot = self.axes(92, 24, top_px=62, bottom_px=180)
        self.plot.set_ylabel("shown, rpm")
        self.plot.tick_params(labelbottom=False)
        (self.readings,) = self.plot.plot([], [], **MEASURED, alpha=0.7)
        (self.curve,) = self.plot.plot([], [], **COMPUTED, zorder=3)
        self.begins = self.plot.axvline(0, color=QUIET, linestyle=":", linewidth=1.2)
        (self.one_lag,) = self.plot.plot([], [], **MACHINE)
        self.left_over = self.axes(92, 24, top_px=322, bottom_px=52)
        self.left_over.set_xlabel("time in the log, s")
        self.left_over.set_ylabel("reading\nless fit, rpm")
        self.left_over.axhline(0, **COMPUTED)
        (self.residuals,) = self.left_over.plot([], [], **MEASURED, alpha=0.7)
        for artist in (self.readings, self.curve, self.begins, self.one_lag, self.residuals):
            self.moves(artist)
        self.lag_words = self.words(self.plot, va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.meter_results.StepResult`."""
        fit = result.fit
        begins, lag = fit.begins_s.value, fit.lag_s.value
        first, latest = fit.time_s[0], min(float(fit.time_s[-1]), begins + 9 * lag)
        times = np.linspace(first, latest, CURVE_POINTS)
        counted = fit.weights >= COUNTS_FOR_NOTHING
        shown = fit.shown_rpm(fit.time_s) + fit.residuals_rpm
        self.readings.set_data(fit.time_s, shown)
        self.curve.set_data(times, fit.shown_rpm(times))
        self.residuals.set_data(fit.time_s[counted], fit.residuals_rpm[counted])
        self.begins.set_xdata([begins, begins])
        after_one_lag = float(fit.shown_rpm(begins + lag))
        self.one_lag.set_data([begins + lag], [after_one_lag])
        self.lag_words.set_text(f"63 % of the change,\n{lag:.2g} s after it begins")
        self.lag_words.set_position((begins + lag, after_one_lag))
        low, high = sorted((fit.before_rpm.value, fit.after_rpm.value))
        room = 0.1 * (high - low)
        self.plot.set_ylim(low - room, high + room)
        for axes in (self.plot, self.left_over):
            axes.set_xlim(max(first, begins - 3 * lag), latest)
        widest = 1.6 * np.nanpercentile(np.abs(fit.residuals_rpm[counted]), 99) or 1.0
        self.left_over.set_ylim(-widest, widest)
        self.say(result.headline, result.details)


class MeterScaleChart(Chart):
    """Reading less true speed at every speed, the fitted line, and the error that is allowed."""

    height_px = 370

    def lay_out(self) -> None:
        """Build one plot of error against speed."""
        self.plot = self.axes(78, 24)
        self.plot.set_xlabel("true speed, rpm")
        self.plot.set_ylabel("reading less true speed, rpm")
        self.plot.axhline(0, color=QUIET, linewidth=0.8)
        (self.upper,) = self.plot.plot([], [], **LIMIT)
        (self.lower,) = self.plot.plot([], [], **LIMIT)
        (self.line,) = self.plot.plot([], [], **COMPUTED)
        (self.readings,) = self.plot.plot([], [], **MEASURED)
        for artist in (self.upper, self.lower, self.line, self.readings):
            self.moves(artist)
        self.limit_words = self.words(self.plot, color=LIMIT["color"], ha="right", va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.meter_results.ScaleResult`."""
        fastest = 1.06 * float(np.max(result.true_rpm))
        speeds = np.array([0.0, fastest])
        found, apart = result.found, result.shown_rpm - result.true_rpm
        self.line.set_data(speeds, (found.meter_scale.value - 1) * speeds + found.zero_rpm.value)
        self.readings.set_data(result.true_rpm, apart)
        limited = result.allowed_percent is not None
        for line, sign in ((self.upper, 1), (self.lower, -1)):
            line.set_visible(limited)
            if limited:
                line.set_data(speeds, sign * result.allowed_percent / 100 * speeds)
        widest = max(float(np.max(np.abs(apart))), (result.allowed_percent or 0) / 100 * fastest, 1.0)
        self.plot.set_xlim(0, fastest)
        self.plot.set_ylim(-1.3 * widest, 1.3 * widest)
        self.limit_words.set_visible(limited)
        if limited:
            self.limit_words.set_text(f"you allow ±{result.allowed_percent:g} %")
            self.limit_words.set_position((fastest, result.allowed_percent / 100 * fastest))
        self.say(result.headline, result.details)
