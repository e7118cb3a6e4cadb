"""The test bar itself: what bending alone fakes, beside the taper that is to be judged."""

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, Chart
from machinelab.workbook.figures.shop_scale import in_shop_unit


class CollarBar(Chart):
    """Faked taper against the place of the far collar, with the taper that the owner allows."""

    height_px = 360

    def lay_out(self) -> None:
        """Build one plot of taper against distance."""
        self.plot = self.axes(84, 24)
        self.plot.set_xlabel("far collar from the chuck, mm")
        (self.bent,) = self.plot.plot([], [], **COMPUTED)
        (self.allowed,) = self.plot.plot([], [], **LIMIT)
        (self.quarter,) = self.plot.plot([], [], **{**LIMIT, "linestyle": ":"})
        (self.here,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.bent, self.allowed, self.quarter, self.here):
            self.moves(artist)
        self.allowed_words = self.words(self.plot, color=LIMIT["color"], va="bottom", ha="right")
        self.bent_words = self.words(self.plot, va="top", ha="left")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.alignment.CollarView`."""
        in_shop_unit(self, result.lengths, self.plot.xaxis)
        small = result.lengths.small
        self.plot.set_ylabel(f"difference of diameters, {small.unit}")
        allowed = result.allowed_along_mm / small.size
        self.bent.set_data(result.distances_mm, result.bent_mm / small.size)
        self.allowed.set_data(result.distances_mm, allowed)
        self.quarter.set_data(result.distances_mm, allowed / 4)
        top = 1.4 * float(allowed[-1])
        self.plot.set_xlim(result.distances_mm[0], result.distances_mm[-1])
        self.plot.set_ylim(0, top)
        self.here.set_data([result.distance_mm], [min(result.own_mm / small.size, top)])
        self.allowed_words.set_text("you allow; dots: a quarter of it")
        self.allowed_words.set_position((result.distances_mm[-1], float(allowed[-1])))
        self.bent_words.set_text("line: bending alone")
        self.bent_words.set_position((result.distances_mm[2], 0.98 * top))
        self.say(result.headline, result.details)
