"""The reader's own guess, asked before anything is computed and kept until it stands beside the result."""

from collections.abc import Callable

from machinelab.units import Field
from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.typed import Typed


class Guess(Framed):
    """One typed box; ``value`` is None until something usable has been typed.

    Parameters
    ----------
    field : Field
        What is guessed, with its unit and ordinary range.
    text : str
        What was guessed last time.
    keep : callable
        Is given the text whenever it changes, to be kept for next time.
    """

    def __init__(self, field: Field, *, text: str = "", keep: Callable[[str], None] = lambda text: None):
        self.field = field
        self.typed = Typed(field, text)
        self.typed.on_change(lambda: keep(self.typed.text))
        self.frame(self.typed.widget)

    @property
    def value(self) -> float | None:
        """The guess as a plain number in the field's unit."""
        return None if self.typed.reading is None else self.typed.reading.number

    @property
    def shown(self) -> str:
        """The guess in words, in both units."""
        return "none" if self.typed.reading is None else self.typed.reading.shown

    def type_in(self, text: str) -> None:
        """Put a guess into the box, as a person does."""
        self.typed.type_in(text)
