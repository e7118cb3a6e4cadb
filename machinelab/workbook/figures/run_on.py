"""How far and how long the spindle runs on from each speed, as measured, with its interval."""

import numpy as np

from machinelab.workbook.figures.base import BAND, COMPUTED, LIMIT, MACHINE, QUIET, Chart


class RunOn(Chart):
    """Time and turns to standstill against the speed at which the drive lets go."""

    height_px = 380

    def lay_out(self) -> None:
        """Build two plots over the same speeds: seconds on the left, turns on the right."""
        self.sides = {
            "seconds": self._side(self.axes(72, 432), "time to standstill, s"),
            "turns": self._side(self.axes(468, 24), "turns to standstill"),
        }

    def _side(self, axes, label):
        axes.set_xlabel("speed when the drive lets go, rpm")
        axes.set_ylabel(label)
        (band_low,) = axes.plot([], [], color=QUIET, linewidth=0.8, linestyle=":")
        (band_high,) = axes.plot([], [], color=QUIET, linewidth=0.8, linestyle=":")
        (curve,) = axes.plot([], [], **COMPUTED)
        (point,) = axes.plot([], [], clip_on=False, **MACHINE)
        limit = axes.axhline(0, **LIMIT)
        tested = axes.axvspan(0, 1, color=BAND, zorder=0.4)
        for artist in (tested, band_low, band_high, curve, limit, point):
            self.moves(artist)
        limit_words = {
            side: self.words(axes, color=LIMIT["color"], va="bottom", ha=side) for side in ("left", "right")
        }
        tested_words = self.words(axes, color=QUIET, va="top", ha="right")
        return axes, band_low, band_high, curve, point, limit, limit_words, tested, tested_words

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.coastdown.RunOnChoice`."""
        for name, estimates in (("seconds", result.times), ("turns", result.turns)):
            self._move_side(self.sides[name], result, estimates, result.limits.get(name))
        self.say(result.headline, result.details)

    def _move_side(self, side, result, estimates, limit) -> None:
        axes, band_low, band_high, curve, point, line, limit_words, tested, tested_words = side
        low, high = estimates.interval
        band_low.set_data(result.speeds_rpm, low)
        band_high.set_data(result.speeds_rpm, high)
        curve.set_data(result.speeds_rpm, estimates.value)
        point.set_data([result.speed_rpm], [np.interp(result.speed_rpm, result.speeds_rpm, estimates.value)])
        top = 1.12 * float(high[-1])
        axes.set_xlim(0, result.speeds_rpm[-1])
        axes.set_ylim(0, top)
        # Beyond the tested speed the law is only extended.
        tested.set_x(result.tested_rpm)
        tested.set_width(max(result.speeds_rpm[-1] - result.tested_rpm, 0))
        tested_words.set_text("not tested" if result.speeds_rpm[-1] > 1.02 * result.tested_rpm else "")
        tested_words.set_position((result.speeds_rpm[-1], 0.99 * top))
        shown = limit is not None and limit < top
        line.set_visible(shown)
        line.set_ydata([limit if shown else 0] * 2)
        # The limit is written on at the end where the curve is far from it.
        far_above = shown and estimates.value[len(estimates.value) // 2] > limit
        for ha, words in limit_words.items():
            words.set_text(f"you want at most {limit:g}" if shown and (ha == "right") == far_above else "")
            words.set_position((result.speeds_rpm[-1] if ha == "right" else 0, limit or 0))
