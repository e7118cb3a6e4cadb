"""A live panel: controls in, a picture and a sentence out, nothing else in between."""

from collections.abc import Callable, Mapping

from ipywidgets import HTML, Layout

from machinelab.errors import MachinelabError
from machinelab.workbook.figures.base import Chart
from machinelab.workbook.panels.frame import Framed, place_for
from machinelab.workbook.panels.look import notice, words

LINE_PX = 24


class LivePanel(Framed):
    """Controls wired to a calculation and a figure.

    The three layers stay apart so that each can be tested alone: ``compute`` takes the controls'
    values by name and returns a result, the chart draws a result, ``sentence`` puts it in words.
    What a person types wrongly is answered beside the box, what the calculation refuses is answered
    below the controls; either way the last good picture stays.

    Parameters
    ----------
    controls : mapping of name to control
        The names are the keyword arguments of ``compute``.
    compute : callable
        Numbers in, result out; raises `MachinelabError` when the numbers make no sense together.
    chart : Chart
        Laid out once and moved from then on.
    sentence : callable
        Result in, plain words out: what the picture means for the machine.
    lines : int
        How many lines the longest of these sentences takes.
    """

    def __init__(
        self,
        *,
        controls: Mapping[str, object],
        compute: Callable,
        chart: Chart,
        sentence: Callable,
        lines: int = 3,
    ):
        self.controls = dict(controls)
        self.compute = compute
        self.chart = chart
        self.sentence = sentence
        self.result = None
        # Both heights are fixed, so that what stands below the panel keeps its place while it changes.
        self.picture = place_for(chart)
        self.meaning = HTML(layout=Layout(height=f"{lines * LINE_PX}px", overflow="auto"))
        self.notice = HTML(notice(""))
        rows = [control.widget for control in self.controls.values()]
        self.frame(*rows, self.notice, self.picture, self.meaning)
        for control in self.controls.values():
            control.on_change(self.refresh)
        self.refresh()

    @property
    def values(self) -> dict:
        """What the controls stand at, by name."""
        return {name: control.value for name, control in self.controls.items()}

    def refresh(self) -> None:
        """Compute and redraw; a refusal is told in words and changes nothing else."""
        try:
            result = self.compute(**self.values)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.chart.update(result)
        self.result = result
        self.notice.value = notice("")
        self.picture.value = self.chart.live_html()
        self.meaning.value = words(self.sentence(result), "sentence")
