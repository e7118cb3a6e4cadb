"""The test bar itself: what bending alone fakes, beside the taper that is to be judged."""

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, Chart


class CollarBar(Chart):
    """Faked taper against the place of the far collar, with the taper that the owner allows."""

    height_px = 360

    def lay_out(self) -> None:
        """Build one plot of taper against distance."""
        self.plot = self.axes(84, 24)
        self.plot.set_xlabel("far collar from the chuck, mm")
        self.plot.set_ylabel("difference of diameters, µm")
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
        self.bent.set_data(result.distances_mm, 1000 * result.bent_mm)
        self.allowed.set_data(result.distances_mm, 1000 * result.allowed_along_mm)
        self.quarter.set_data(result.distances_mm, 250 * result.allowed_along_mm)
        top = 1400 * float(result.allowed_along_mm[-1])
        self.plot.set_xlim(result.distances_mm[0], result.distances_mm[-1])
        self.plot.set_ylim(0, top)
        self.here.set_data([result.distance_mm], [min(1000 * result.own_mm, top)])
        self.allowed_words.set_text("you allow; dots: a quarter of it")
        self.allowed_words.set_position((result.distances_mm[-1], 1000 * float(result.allowed_along_mm[-1])))
        self.bent_words.set_text("line: bending alone")
        self.bent_words.set_position((result.distances_mm[2], 0.98 * top))
        self.say(result.headline, result.details)
