"""Making the threading card: a button for each paper, and the files to open or to keep."""

from collections.abc import Callable
from pathlib import Path

from machinelab.workbook.card import Card
from machinelab.workbook.card.files import card_files
from machinelab.workbook.panels.paper_box import PaperBox


class CardBox(PaperBox):
    """Buttons that write the card.

    Parameters
    ----------
    card : callable
        Makes the card as the machine stands when a button is pressed.
    folder : Path
        Where the files go: the machine's folder, or a scratch folder for one that is not written to.
    note : str
        Where that is, if it needs saying.
    """

    def __init__(self, card: Callable[[], Card], *, folder: Path, note: str = ""):
        super().__init__("card", lambda paper: card_files(card(), paper), folder=folder, note=note)
