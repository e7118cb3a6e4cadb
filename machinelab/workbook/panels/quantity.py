"""A quantity that is typed with its unit or moved with a slider; each follows the other."""

from collections.abc import Callable, Sequence
from fractions import Fraction

from ipywidgets import HTML, Button, HBox, IntSlider, Layout, Text, VBox

from machinelab.errors import MachinelabError
from machinelab.units import Field, read, show
from machinelab.workbook.panels.look import mark_at, notice, words

LABEL_WIDTH = "250px"
BOX_WIDTH = "440px"
SLIDER_WIDTH = "165px"


class Quantity:
    """One row of a panel: a typed box with a unit, a slider beside it, both units shown back.

    The slider has no accessible name of its own and only reaches the values of its sweep; the box
    is the door for everyone and takes any value that the field allows.

    Parameters
    ----------
    field : Field
        What the box wants: its name in plain words, kind, range and line of help.
    sweep : sequence of numbers
        The values that the slider steps through, in the field's unit.
    own : number, optional
        The machine's own value: the start, marked in words, one press away.
    start : number, optional
        Where to start when the machine has no value of its own.
    own_words : str
        What the machine's own value is called.
    """

    def __init__(
        self,
        field: Field,
        *,
        sweep: Sequence,
        own=None,
        start=None,
        own_words: str = "machine as built",
    ):
        self.field = field
        self.own = own
        self.own_words = own_words
        self.sweep = sorted({*sweep, *([] if own is None else [own])})
        first = next(value for value in (own, start, self.sweep[0]) if value is not None)
        self.value = self.plain(first)
        self._listeners: list[Callable[[], None]] = []
        self._echoing = False
        self._build()
        self._show_value(self._shortest_text())

    def plain(self, value):
        """Turn what was read into the number that the calculation gets."""
        return float(value)

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever the value has changed."""
        self._listeners.append(listener)

    def type_in(self, text: str) -> None:
        """Take what a person typed; what cannot be used is answered beside the box."""
        try:
            reading = read(text, self.field)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self._take(reading.value, text.strip(), reading.note)

    def slide_to(self, position: int) -> None:
        """Take the value at a position of the slider."""
        self._take(self.sweep[position])

    def as_built(self) -> None:
        """Go back to the machine's own value."""
        self._take(self.own)

    def _take(self, value, text: str = "", note: str = "") -> None:
        before, self.value = self.value, self.plain(value)
        self._show_value(text or self._shortest_text(), note)
        if self.value != before:
            for listener in self._listeners:
                listener()

    def _show_value(self, text: str, note: str = "") -> None:
        self._echoing = True
        self.box.value = text
        self.slider.value = nearest_position(self.sweep, self.value)
        self._echoing = False
        self.shown_back.value = words(self.shown(self.value), "back")
        self.notice.value = words(note, "notice")

    def shown(self, value) -> str:
        """Write a value of this quantity in both units."""
        return show(value, self.field.unit, kind=self.field.kind)

    def _shortest_text(self) -> str:
        # "26 tpi" rather than "0.97692 mm", "1 mm" rather than "25.4 tpi"
        return min(self.shown(self.value).split(" · "), key=len)

    def _build(self) -> None:
        self.box = Text(
            description=self.field.name,
            continuous_update=False,
            style={"description_width": LABEL_WIDTH},
            layout=Layout(width=BOX_WIDTH),
        )
        last = len(self.sweep) - 1
        self.slider = IntSlider(min=0, max=last, readout=False, layout=Layout(width=SLIDER_WIDTH))
        self.shown_back = HTML(layout=Layout(width="185px"))
        self.notice = HTML()
        self.box.observe(self._box_changed, "value")
        self.slider.observe(self._slider_moved, "value")
        # In a narrow window what has no room goes below; a slider that shrinks could not be moved.
        in_line = Layout(align_items="center", flex_flow="row wrap")
        row = HBox([self.box, VBox([self.slider, *self._tick()]), self.shown_back], layout=in_line)
        below = HBox([*self._mark(), HTML(words(self.field.help, "help"))], layout=in_line)
        self.widget = VBox([row, below, self.notice])
        self.widget.add_class("machinelab-row")

    def _tick(self) -> list:
        """A mark below the slider where the machine's own value lies; its words stand beside the button."""
        if self.own is None:
            return []
        share = self.sweep.index(self.own) / max(len(self.sweep) - 1, 1)
        return [HTML(mark_at(share), layout=Layout(width=SLIDER_WIDTH, height="0", overflow="visible"))]

    def _mark(self) -> list:
        if self.own is None:
            return []
        tooltip = f"{self.field.name}: back to the machine as built"
        button = Button(description="as built", tooltip=tooltip, layout=Layout(width="80px"))
        button.on_click(self._button_pressed)
        return [button, HTML(words(f"{self.own_words}: {self.shown(self.own)}.", "help"))]

    def _box_changed(self, change) -> None:
        if not self._echoing:
            self.type_in(change["new"])

    def _slider_moved(self, change) -> None:
        if not self._echoing:
            self.slide_to(change["new"])

    def _button_pressed(self, _button) -> None:
        self.as_built()


class ExactQuantity(Quantity):
    """A quantity that stays exact: leads, ratios, counts and teeth are whole numbers or fractions."""

    def plain(self, value):
        """Keep the value exact, as a whole number where it is one."""
        exact = Fraction(value)
        return exact.numerator if exact.denominator == 1 else exact


def nearest_position(sweep: Sequence, value) -> int:
    """Find the slider position whose value lies nearest."""
    return min(range(len(sweep)), key=lambda position: abs(sweep[position] - value))
