"""A quantity that is typed with its unit or moved with a slider; each follows the other."""

from collections.abc import Callable, Sequence

from ipywidgets import HTML, Button, HBox, IntSlider, Layout, Text, VBox

from machinelab.errors import MachinelabError
from machinelab.workbook.panels.look import notice, words

LABEL_WIDTH = "250px"
BOX_WIDTH = "400px"


class Quantity:
    """One row of a panel: a typed box with a unit, a slider beside it, both units shown back.

    The slider has no accessible name of its own and only reaches the values of its sweep; the box
    is the door for everyone and takes any value that the field allows.

    Parameters
    ----------
    label : str
        What it is, in plain words.
    field : Field
        Reads what is typed (``read``), writes it (``text``) and shows it in both units (``show``).
    sweep : sequence of numbers
        The values that the slider steps through, rising.
    own : number, optional
        The machine's own value: the start, marked in words, one press away.
    start : number, optional
        Where to start when the machine has no value of its own.
    help_words : str
        One line of help.
    """

    def __init__(self, label: str, field, *, sweep: Sequence, own=None, start=None, help_words: str = ""):
        self.field = field
        self.own = own
        self.sweep = sorted({*sweep, *([] if own is None else [own])})
        self.value = own if own is not None else (start if start is not None else self.sweep[0])
        self._listeners: list[Callable[[], None]] = []
        self._echoing = False
        self._build(label, help_words)
        self._show_value()

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever the value has changed."""
        self._listeners.append(listener)

    def type_in(self, text: str) -> None:
        """Take what a person typed; what cannot be used is answered beside the box."""
        try:
            value = self.field.read(text)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self._take(value)

    def slide_to(self, position: int) -> None:
        """Take the value at a position of the slider."""
        self._take(self.sweep[position])

    def as_built(self) -> None:
        """Go back to the machine's own value."""
        self._take(self.own)

    def _take(self, value) -> None:
        changed = value != self.value
        self.value = value
        self._show_value()
        if changed:
            for listener in self._listeners:
                listener()

    def _show_value(self) -> None:
        self._echoing = True
        self.box.value = self.field.text(self.value)
        self.slider.value = nearest_position(self.sweep, self.value)
        self._echoing = False
        self.shown_back.value = words(self.field.show(self.value), "back")
        self.notice.value = notice("")

    def _build(self, label: str, help_words: str) -> None:
        self.box = Text(
            description=label,
            continuous_update=False,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )
        last = len(self.sweep) - 1
        self.slider = IntSlider(min=0, max=last, readout=False, layout=Layout(width="190px"))
        self.shown_back = HTML(layout=Layout(width="200px"))
        self.notice = HTML()
        self.box.observe(self._box_changed, "value")
        self.slider.observe(self._slider_moved, "value")
        in_line = Layout(align_items="center")
        row = HBox([self.box, self.slider, self.shown_back], layout=in_line)
        below = HBox([*self._mark(label), HTML(words(help_words, "help"))], layout=in_line)
        self.widget = VBox([row, below, self.notice])

    def _mark(self, label: str) -> list:
        if self.own is None:
            return []
        button = Button(description="as built", tooltip=f"{label}: back to the machine as built")
        button.layout.width = "80px"
        button.on_click(self._button_pressed)
        return [button, HTML(words(f"machine as built: {self.field.show(self.own)}.", "help"))]

    def _box_changed(self, change) -> None:
        if not self._echoing:
            self.type_in(change["new"])

    def _slider_moved(self, change) -> None:
        if not self._echoing:
            self.slide_to(change["new"])

    def _button_pressed(self, _button) -> None:
        self.as_built()


def nearest_position(sweep: Sequence, value) -> int:
    """Find the slider position whose value lies nearest."""
    return min(range(len(sweep)), key=lambda position: abs(sweep[position] - value))
