"""The card's files: written whole beside the machine's record, in a folder that may be emptied."""

import os
from pathlib import Path

from machinelab.errors import RecordError
from machinelab.workbook.card import Card
from machinelab.workbook.card.page import page
from machinelab.workbook.card.sheet import pdf

FOLDER = "out"


def card_files(card: Card, paper: str) -> dict[str, bytes]:
    """The card on one paper, as PDF and as a page, by file name."""
    name = f"threading_card_{paper}"
    return {f"{name}.pdf": pdf(card, paper), f"{name}.html": page(card, paper).encode()}


def write_files(files: dict[str, bytes], folder: Path) -> tuple[Path, ...]:
    """Write files into a folder's own folder for what is made, each whole or not at all.

    Raises
    ------
    RecordError
        When the disk will not take them.
    """
    room = folder / FOLDER
    try:
        room.mkdir(exist_ok=True)
        for name, content in files.items():
            new = room / f".{name}.{os.getpid()}.new"
            new.write_bytes(content)
            new.replace(room / name)
    except OSError as trouble:
        raise RecordError(
            f"{', '.join(files)} was not written: {trouble.strerror}. Close the old one where it is open, "
            "make room, and try again."
        ) from None
    return tuple(room / name for name in files)
