"""A choice between a few things, named in plain words."""

from collections.abc import Callable, Mapping, Sequence

from ipywidgets import HTML, Dropdown, Layout, VBox

from machinelab.workbook.panels.look import STYLE, words
from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH

# Words that a box of the usual width shows whole, and the width for longer ones.
SHORT_WORDS, WIDE_WIDTH = 16, "600px"


def list_of_words(label: str, options: Sequence[str] = (), *, width: str = BOX_WIDTH) -> Dropdown:
    """A named list to choose from, the first of its lines chosen."""
    return Dropdown(
        options=options,
        description=label,
        style={"description_width": LABEL_WIDTH},
        layout=Layout(width=width),
    )


class Choice:
    """One row of a panel: a list of words, each standing for a value."""

    def __init__(
        self,
        label: str,
        options: Mapping[str, object],
        *,
        chosen: str = "",
        asks: str = "",
        help_words: str = "",
    ):
        self.options = dict(options)
        longest = max(map(len, self.options))
        width = BOX_WIDTH if longest <= SHORT_WORDS else WIDE_WIDTH
        self.list = list_of_words(label, list(self.options), width=width)
        self.list.value = chosen if chosen in self.options else next(iter(self.options))
        self._listeners: list[Callable[[], None]] = []
        self.list.observe(self._list_changed, "value")
        above = [HTML(words(asks, "sentence"))] if asks else []
        below = [HTML(words(help_words, "help"))] if help_words else []
        # A choice may stand in a cell of its own, without a frame that would bring this along.
        by_keys = HTML(STYLE, layout=Layout(height="0", margin="0"))
        self.widget = VBox([*above, self.list, *below, by_keys])
        self.widget.add_class("machinelab-row")

    @property
    def value(self):
        """What the chosen words stand for."""
        return self.options[self.list.value]

    @property
    def text(self) -> str:
        """The words chosen."""
        return self.list.value

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call a function whenever another line is chosen."""
        self._listeners.append(listener)

    def choose(self, option: str) -> None:
        """Choose a line by its words."""
        self.list.value = option

    def _list_changed(self, _change) -> None:
        for listener in self._listeners:
            listener()
