"""The measuring place for a run-down, free or braked: a log goes in, the fitted run comes out at once."""

from collections.abc import Callable

from ipywidgets import HTML

from machinelab.errors import MachinelabError
from machinelab.workbook.figures.base import Chart
from machinelab.workbook.figures.coastdown import CoastDown
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.frame import Framed, place_for
from machinelab.workbook.panels.look import notice, words


class CoastBench(Framed):
    """A box for readings, and below it the picture and the words of their fit.

    What cannot be fitted is answered in words, and the last good picture stays.

    Parameters
    ----------
    entry : Entry
        Where the log comes in.
    analyse : callable
        Log in, `CoastdownFit` out.
    tell : callable
        Fit in, lines of plain words out.
    chart : type of Chart
        The figure that draws what ``analyse`` gives.
    """

    def __init__(self, entry: Entry, *, analyse: Callable, tell: Callable, chart: type[Chart] = CoastDown):
        self.entry = entry
        self.analyse = analyse
        self.tell = tell
        self.fit = None
        self.chart = chart()
        self.picture = place_for(self.chart)
        self.meaning = HTML()
        self.notice = HTML(notice(""))
        self.frame(entry.widget, self.notice, self.picture, self.meaning)
        self._listeners: list[Callable[[], None]] = []
        entry.on_change(self.refresh)
        if entry.readings is not None:
            self.refresh()

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever another log has been fitted."""
        self._listeners.append(listener)

    def refresh(self) -> None:
        """Fit the log that stands in the entry and show what came out."""
        try:
            fit = self.analyse(self.entry.readings)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.fit = fit
        self.chart.update(fit)
        self.notice.value = notice("")
        self.picture.value = self.chart.live_html()
        self.meaning.value = "".join(words(line, "sentence") for line in self.tell(fit))
        for listener in self._listeners:
            listener()
