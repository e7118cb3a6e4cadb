"""A measured braked run: readings, fit, and what the design had promised."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MEASURED, OTHER_WAY, QUIET, Chart

CURVE_POINTS = 300
COUNTS_FOR_NOTHING = 0.05
BEFORE_S = 0.6
AFTER_SHARE = 0.12


class BrakedRun(Chart):
    """Speed against time around the stop, with what is left over below."""

    height_px = 480

    def lay_out(self) -> None:
        """Build the speed plot and, below it on the same time scale, what the fit leaves over."""
        self.speed = self.axes(92, 24, top_px=66, bottom_px=180)
        self.speed.set_ylabel("spindle speed, rpm")
        self.speed.tick_params(labelbottom=False)
        (self.designed,) = self.speed.plot([], [], **OTHER_WAY)
        (self.readings,) = self.speed.plot([], [], **MEASURED, alpha=0.55)
        (self.ignored,) = self.speed.plot([], [], color=QUIET, marker="x", linestyle="none")
        (self.curve,) = self.speed.plot([], [], **COMPUTED, zorder=3)
        self.let_go = self.speed.axvline(0, color=QUIET, linestyle=":", linewidth=1.2)
        self.closes = self.speed.axvline(0, **LIMIT)
        self.left_over = self.axes(92, 24, top_px=330, bottom_px=52)
        self.left_over.set_xlabel("time since the drive let go, s")
        self.left_over.set_ylabel("reading\nless fit, rpm")
        self.left_over.axhline(0, **COMPUTED)
        (self.residuals,) = self.left_over.plot([], [], **MEASURED, alpha=0.7)
        moving = (self.designed, self.readings, self.ignored, self.curve, self.let_go, self.closes)
        for artist in (*moving, self.residuals):
            self.moves(artist)
        self.let_go_words = self.words(self.speed, color=QUIET, ha="right", va="top")
        self.closes_words = self.words(self.speed, color=LIMIT["color"], va="top")
        self.key_words = self.words(self.speed, ha="right", va="top")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.pages.resistor_brake.BrakedResult`."""
        fit = result.fit
        start, delay = float(fit.start_s.value), float(fit.contact_delay_s.value)
        stop_s = float(fit.stop_time_s(fit.tested_rpm).value)
        times = np.linspace(-BEFORE_S, (1 + AFTER_SHARE) * stop_s, CURVE_POINTS)
        time_s, wild = fit.readings.time_s - start, fit.weights < COUNTS_FOR_NOTHING
        self.readings.set_data(time_s[~wild], fit.readings.speed_rpm[~wild])
        self.ignored.set_data(time_s[wild], fit.readings.speed_rpm[wild])
        self.residuals.set_data(time_s[~wild], fit.residuals_rpm[~wild])
        self.curve.set_data(times, fit.shown_rpm(times + start))
        self.designed.set_data(times, result.designed_rpm(times))
        self.let_go.set_xdata([0, 0])
        self.closes.set_xdata([delay, delay])
        self._set_scales(fit, times[-1], wild)
        self._set_words(result, times[-1], delay, bool(np.any(wild)))
        self.say(result.headline, result.details)

    def _set_scales(self, fit, latest: float, wild) -> None:
        for axes in (self.speed, self.left_over):
            axes.set_xlim(-BEFORE_S, latest)
        self.speed.set_ylim(0, 1.15 * fit.tested_rpm)
        widest = 1.6 * np.nanpercentile(np.abs(fit.residuals_rpm[~wild]), 99) or 1.0
        self.left_over.set_ylim(-widest, widest)

    def _set_words(self, result, latest: float, delay: float, some_left_out: bool) -> None:
        top = 1.13 * result.fit.tested_rpm
        self.let_go_words.set_text("the drive\nlets go")
        self.let_go_words.set_position((0, 0.62 * top))
        self.closes_words.set_text(f"the brake comes in\n{delay:.2g} s later")
        self.closes_words.set_position((delay, top))
        lines = ["\N{WHITE CIRCLE} readings", "line: fitted", "dashes: as designed"]
        lines += ["\N{MULTIPLICATION SIGN} readings left out"] if some_left_out else []
        self.key_words.set_text("\n".join(lines))
        self.key_words.set_position((latest, top))
