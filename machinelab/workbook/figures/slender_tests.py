"""What was measured on slender work: a bar that was pushed, and a bar that was turned."""

import numpy as np

from machinelab.workbook.figures.base import BAND, COMPUTED, LIMIT, MEASURED, OTHER_WAY, Chart
from machinelab.workbook.figures.shop_scale import in_shop_unit


class PushTest(Chart):
    """How much the end of a bar gives for each newton, by overhang: the bar alone and with its chuck."""

    height_px = 380

    def lay_out(self) -> None:
        """Build one plot of give against overhang."""
        self.plot = self.axes(84, 24)
        self.plot.set_xlabel("from the jaws to push and dial, mm")
        (self.alone,) = self.plot.plot([], [], **OTHER_WAY)
        (self.together,) = self.plot.plot([], [], **COMPUTED)
        (self.readings,) = self.plot.plot([], [], **MEASURED)
        for artist in (self.alone, self.together, self.readings):
            self.moves(artist)
        self.key = self.words(self.plot, va="top")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.slender_tests.PushResult`."""
        out, small = result.out_mm, result.lengths.small
        in_shop_unit(self, result.lengths, self.plot.xaxis)
        self.plot.set_ylabel(f"moved for each newton, {small.unit}")
        read = result.moved_mm / result.push_n / small.size
        self.alone.set_data(out, result.stiff_mm_n / small.size)
        self.together.set_data(out, result.fitted_mm_n / small.size)
        self.readings.set_data(result.overhang_mm, read)
        top = 1.15 * max(read.max(), result.fitted_mm_n.max() / small.size)
        self.plot.set_xlim(0, out[-1])
        self.plot.set_ylim(0, top)
        self.key.set_text("circles: read\nline: bar and chuck\ndashes: the bar alone")
        self.key.set_position((0, 0.98 * top))
        self.say(result.headline, result.details)


class TurnedDiameters(Chart):
    """Diameters along a turned bar, beside the error that was predicted and what is allowed."""

    height_px = 380

    def lay_out(self) -> None:
        """Build one plot of error against place."""
        self.plot = self.axes(92, 24)
        self.plot.set_xlabel("from the chuck, mm")
        self.plot.set_ylabel("diameter too large by, mm")
        self.band = self.moves(self.plot.fill_between([0, 1], [0, 0], [0, 0], color=BAND, zorder=0.5))
        (self.predicted,) = self.plot.plot([], [], **COMPUTED)
        (self.fitted,) = self.plot.plot([], [], **OTHER_WAY)
        (self.readings,) = self.plot.plot([], [], **MEASURED)
        self.allowed = self.plot.axhline(0, **LIMIT)
        for artist in (self.predicted, self.fitted, self.readings, self.allowed):
            self.moves(artist)
        self.allowed_words = self.words(self.plot, va="bottom", color=LIMIT["color"])
        self.key = self.words(self.plot, va="top")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.slender_tests.TurnedBar`."""
        lengths = result.work.lengths
        in_shop_unit(self, lengths, self.plot.xaxis, self.plot.yaxis)
        along, predicted, doubt = result.along_mm, result.predicted_mm, result.work.force_doubt
        edges = np.concatenate([(1 + doubt) * predicted, ((1 - doubt) * predicted)[::-1]])
        self.band.set_verts([np.column_stack([np.concatenate([along, along[::-1]]), edges])])
        self.predicted.set_data(along, predicted)
        self.fitted.set_data(along, predicted * result.force_n.value / result.work.force_n)
        self.readings.set_data(result.at_mm, result.measured_mm)
        self.allowed.set_ydata([result.work.allowed_mm] * 2)
        highest = max((1 + doubt) * predicted.max(), result.measured_mm.max(), result.work.allowed_mm)
        low, top = min(0.0, 1.2 * result.measured_mm.min()), 1.45 * highest
        self.plot.set_xlim(0, along[-1])
        self.plot.set_ylim(low, top)
        self.allowed_words.set_text(f"you allow {lengths.told(result.work.allowed_mm, 3)}")
        self.allowed_words.set_position((0, result.work.allowed_mm))
        self.key.set_text("circles: measured\nline and band: predicted\ndashes: through the readings")
        self.key.set_position((0, 0.98 * top))
        self.say(result.headline, result.details)
