"""Alignment from above with its signs, and a run-out round the turn."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, MEASURED, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.shop_scale import in_shop_unit

WAVE_POINTS = 181


class AxisFromAbove(Chart):
    """Headstock, axis, tool and tailstock seen from above; the errors drawn a thousand times too large."""

    height_px = 360

    def lay_out(self) -> None:
        """Draw what does not move: headstock, ways, the tool's path."""
        self.plot = self.axes(24, 24, bottom_px=44)
        self.plot.set_xlim(-130, 520)
        self.plot.set_ylim(-115, 95)
        self.plot.set_yticks([])
        self.plot.set_xlabel("distance from the chuck, mm; sideways errors drawn a thousand times too large")
        self.plot.grid(visible=False)
        for low, high in ((-130, -62), (400, 480)):
            self.plot.axvspan(low, high, ymin=0.37, ymax=0.72, facecolor="#ececec", edgecolor=QUIET)
        self.plot.text(-96, 0, "head-\nstock", ha="center", va="center", size=9)
        self.plot.text(440, -50, "tailstock", ha="center", va="center", size=9)
        self.plot.plot([-60, 500], [0, 0], color=QUIET, linestyle=":", linewidth=1)
        self.plot.plot([0, 380], [-70, -70], **OTHER_WAY)
        self.plot.text(0, -80, "path of the tool, at your side of the lathe", size=9, va="top")
        self.plot.text(-125, 88, "back of the lathe", size=9, va="top", color=QUIET)
        (self.axis,) = self.plot.plot([], [], **COMPUTED, linewidth=2.4)
        (self.centre,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.axis, self.centre):
            self.moves(artist)
        self.axis_words = self.words(self.plot, va="bottom")
        self.centre_words = self.words(self.plot, va="bottom", ha="center")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.alignment_results.AlignmentResult`."""
        skew, offset, lengths = result.causes.headstock_mm_m, result.causes.tailstock_mm, result.lengths
        in_shop_unit(self, lengths, self.plot.xaxis)
        along = np.array([0.0, 380.0])
        # A skew of a mm/m drawn a thousand times too large is a millimetre for each millimetre.
        slope = 0.0 if skew is None else np.clip(skew.value, -0.25, 0.25)
        self.axis.set_data(along, slope * along)
        self.axis.set_alpha(0.25 if skew is None else 1.0)
        told = "not told yet" if skew is None else lengths.lean.signed(skew.value)
        self.axis_words.set_text(f"axis: {told}")
        self.axis_words.set_position((120, max(slope * 120, 0) + 4))
        away = 0.0 if offset is None else float(np.clip(1000 * offset.value, -80, 80))
        self.centre.set_data([396], [away])
        self.centre.set_alpha(0.25 if offset is None else 1.0)
        words = "not told yet" if offset is None else lengths.signed(offset.value, 3)
        self.centre_words.set_text(f"centre: {words}")
        self.centre_words.set_position((430, max(away, 38) + 4))
        self.say(result.headline, result.details)


class RunoutRound(Chart):
    """Readings round the turn, the wave of the eccentricity, all waves together, and where to tap."""

    height_px = 370

    def lay_out(self) -> None:
        """Build one plot of reading against angle."""
        self.plot = self.axes(96, 24)
        self.plot.set_xlabel("angle of the spindle, degrees")
        self.plot.set_ylabel("dial, mm")
        self.plot.set_xlim(0, 360)
        self.plot.set_xticks(range(0, 361, 45))
        (self.readings,) = self.plot.plot([], [], **MEASURED)
        (self.first,) = self.plot.plot([], [], **OTHER_WAY)
        (self.all,) = self.plot.plot([], [], **COMPUTED)
        self.tap = self.plot.axvline(0, **LIMIT)
        for artist in (self.readings, self.first, self.all, self.tap):
            self.moves(artist)
        self.tap_words = self.words(self.plot, color=LIMIT["color"], va="bottom")
        self.key = self.words(self.plot, va="top", ha="right")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.alignment_results.RunoutResult`."""
        one = result.found
        in_shop_unit(self, result.lengths, self.plot.yaxis)
        angle = np.linspace(0, 360, WAVE_POINTS)
        first = one.mean_mm + one.eccentricity_mm.value * np.cos(np.radians(angle - one.high_deg))
        self.readings.set_data(result.angle_deg % 360, result.reading_mm)
        self.first.set_data(angle, first)
        self.all.set_data(angle, _all_waves(result, angle))
        room = 0.35 * max(np.ptp(result.reading_mm), 0.002)
        low, high = float(result.reading_mm.min() - room), float(result.reading_mm.max() + room)
        self.plot.set_ylim(low, high)
        self.tap.set_xdata([one.high_deg, one.high_deg])
        on_left = one.high_deg > 250
        self.tap_words.set_text("tap here")
        self.tap_words.set_ha("right" if on_left else "left")
        self.tap_words.set_position((one.high_deg, low + 0.05 * (high - low)))
        self.key.set_text("dashes: off centre alone\nline: with oval and three corners")
        self.key.set_position((358, high - 0.02 * (high - low)))
        self.say(result.headline, result.details)


def _all_waves(result, angle_deg: np.ndarray) -> np.ndarray:
    """The fitted sum of waves, for drawing."""
    turned, fitted = np.radians(result.angle_deg), np.radians(angle_deg)
    orders = np.arange(1, len(result.found.lobes_mm) + 2)

    def design(angle):
        waves = np.outer(angle, orders)
        return np.column_stack([np.ones_like(angle), np.cos(waves), np.sin(waves)])

    parts, *_ = np.linalg.lstsq(design(turned), result.reading_mm, rcond=None)
    return design(fitted) @ parts
