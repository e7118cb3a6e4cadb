"""What stands around every panel: its frame, its buttons, and the place that a picture keeps on the page."""

from collections.abc import Callable

from ipywidgets import HTML, Button, Layout, VBox, Widget

from machinelab.workbook.figures.base import WIDTH_PX, Chart
from machinelab.workbook.panels.look import STYLE, words

NO_PICTURE_YET = "The picture comes here as soon as there is something to draw."


class Framed:
    """Anything that a cell shows as a panel: its rows stand in ``widget``, in the look of the workbook."""

    widget: VBox

    def frame(self, *rows: Widget) -> None:
        """Put the rows into the frame."""
        self.widget = VBox([HTML(STYLE), *rows])
        self.widget.add_class("machinelab-panel")

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.widget._repr_mimebundle_(include=include, exclude=exclude)


def press(label: str, act: Callable[[], None], *, tooltip: str = "", width: str = "auto") -> Button:
    """A button as wide as its words, and what it does."""
    button = Button(description=label, tooltip=tooltip, layout=Layout(width=width, align_self="flex-start"))
    button.on_click(lambda _button: act())
    return button


def place_for(chart: Chart) -> HTML:
    """Where a chart is shown; shaped as its picture, so that what stands below keeps its place."""
    return HTML(no_picture(chart), layout=Layout(width=f"{WIDTH_PX}px", flex="0 0 auto", overflow="hidden"))


def no_picture(chart: Chart) -> str:
    """Words in a place of the picture's own shape."""
    shape = f"aspect-ratio: {WIDTH_PX} / {chart.height_px}"
    return f'<div style="{shape}">{words(NO_PICTURE_YET, "help")}</div>'
