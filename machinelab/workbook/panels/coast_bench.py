"""The measuring place for a run-down, free or braked: a log goes in, the fitted run comes out at once."""

from collections.abc import Callable

from ipywidgets import HTML, Layout, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook.figures.base import WIDTH_PX, Chart
from machinelab.workbook.figures.coastdown import CoastDown
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.panels.look import STYLE, notice, words


class CoastBench:
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
        size = Layout(width=f"{WIDTH_PX}px", height=f"{self.chart.height_px + 4}px", overflow="hidden")
        self.picture = HTML(layout=size)
        self.meaning = HTML()
        self.notice = HTML(notice(""))
        self.widget = VBox([HTML(STYLE), entry.widget, self.notice, self.picture, self.meaning])
        self.widget.add_class("machinelab-panel")
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

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.widget._repr_mimebundle_(include=include, exclude=exclude)
