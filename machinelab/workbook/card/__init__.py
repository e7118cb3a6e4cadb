"""The threading card: one sheet to hang on the machine, with what each of its threads wants.

A card is made from plain rows, so that it draws whatever they come from; `card_of` makes the rows of a
machine. It goes out as a PDF (A4 or Letter) and as a page that carries everything along.
"""

from dataclasses import dataclass

from machinelab.workbook.card.row import CardRow

__all__ = ["CAUTIONS", "HOW_TO_READ", "Card", "CardRow"]

# Five of the workbook's cautions in as few words as a card at arm's length allows.
CAUTIONS = (
    "Key out of the chuck before your hand leaves it.",
    "Guard down before the spindle turns.",
    "Screw-on chuck clamped, or no reverse and no hard brake.",
    "Reverse only from standstill. Look at the chuck: the meter lags.",
    "The stop button is no guard and no isolation: plug out before hands go in.",
)
HOW_TO_READ = (
    "Enter: steps of the leadscrew for one encoder edge. Depths on the radius, from the touch on the blank; "
    "+ 1 is a spring pass. The half nut stays closed to the last pass. Wires or the nut decide, not the dial."
)


@dataclass(frozen=True)
class Card:
    """A threading card.

    Parameters
    ----------
    machine : str
        Name of the machine.
    date : str
        Day on which it was made.
    record : str
        Which line of the record, and which state of the machine file, it goes back to.
    rows : tuple of CardRow
        One for each thread.
    """

    machine: str
    date: str
    record: str
    rows: tuple[CardRow, ...]

    @property
    def title(self) -> str:
        """The heading."""
        return f"Threading card: {self.machine}"

    @property
    def made(self) -> str:
        """When it was made, and from what."""
        return f"{self.date} · {self.record}"
