"""Handing a machine over at the press of a button: one that was sent is opened, the chosen one is packed."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from ipywidgets import HTML, HBox

from machinelab.errors import MachinelabError
from machinelab.workbook import machine as machines
from machinelab.workbook.handover import Packed, pack, unpack
from machinelab.workbook.panels.file_drop import MOST_MB, file_drop
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, take_along, words
from machinelab.workbook.panels.words_box import words_box
from machinelab.workbook.record import Record

LARGEST_LINK = 5_000_000
WHAT_OPENING_DOES = (
    "A zip that was packed here or by the command. It becomes a machine of its own beside yours; a zip that "
    f"holds anything but a machine's files is refused. Above {MOST_MB} MB use the command: "
    "python3 -m machinelab unpack file.zip"
)
WHAT_PACKING_DOES = (
    "Machine file, control box, logs, readings and record go into one zip; pictures lose what the camera "
    "wrote into them. What stays at home is named."
)


class Handover(Framed):
    """A place for a zip with a machine in it, and a button that packs the machine chosen.

    Parameters
    ----------
    opened : callable
        Is given the folder of a machine that was opened, and returns what to tell the person.
    """

    def __init__(self, *, opened: Callable[[Path], str]):
        self.opened = opened
        self.file = file_drop(".zip", self._zip_chosen, label="choose the zip")
        self.name = words_box("What to call it here", example="left out: as in the zip")
        self.open = press("open the machine", self.open_sent)
        self.opening = HTML(words(WHAT_OPENING_DOES, "help"))
        self.notice = HTML(notice(""))
        self.pack = press("pack the chosen machine", self.pack_chosen)
        self.packing = HTML(words(WHAT_PACKING_DOES, "help"))
        self.pack_notice = HTML(notice(""))
        rows = [
            *(HTML("<b>Open a machine that someone sent</b>"), self.name, HBox([self.file, self.open])),
            *(self.opening, self.notice),
            *(HTML("<b>Pack a machine to send</b>"), HBox([self.pack]), self.packing, self.pack_notice),
        ]
        self.frame(*rows)

    def open_sent(self) -> None:
        """Open the zip that was chosen as a machine of its own; a refusal is told beside it."""
        if not self.file.value:
            self.notice.value = notice("There is no zip yet. Choose one first.")
            return
        sent = self.file.value[0]
        try:
            folder = _unpacked(bytes(sent["content"]), self.name.value.strip())
            told = self.opened(folder)
        except MachinelabError as error:
            self.notice.value = notice(str(error))
            return
        self.notice.value = notice("")
        self.opening.value = words(f"{folder.name} is there now. {told}", "sentence")
        self.name.value = ""
        self.file.value = ()

    def pack_chosen(self) -> None:
        """Pack the machine chosen, say where the zip lies and what was left out, and hand it out."""
        try:
            packed, where = _packed()
            content = packed.file.read_bytes()
        except MachinelabError as error:
            self.pack_notice.value = notice(str(error))
            return
        self.pack_notice.value = notice("")
        told = words(f"{packed} It lies {where}.", "sentence")
        link = take_along(packed.file.name, content) if len(content) < LARGEST_LINK else ""
        self.packing.value = f'{told}<div class="machinelab-sentence">{link}</div>'

    def _zip_chosen(self, name: str, content: bytes) -> None:
        self.notice.value = notice("")
        size = f"{max(len(content) // 1000, 1)} kB"
        self.opening.value = words(f"{name}, {size}: press “open the machine”.", "sentence")


def _unpacked(content: bytes, name: str) -> Path:
    """Write what came from the browser into a scratch file, under a name of our own, and open that."""
    with tempfile.TemporaryDirectory() as scratch:
        file = Path(scratch) / "sent.zip"
        file.write_bytes(content)
        return unpack(file, name or None)


def _packed() -> tuple[Packed, str]:
    """The zip of the chosen machine, and in words where it lies; the demo's is among temporary files."""
    folder = machines.load().folder
    record = Record(folder)
    target = record.folder / f"{folder.name}.zip" if record.note else None
    packed = pack(folder, target)
    lies_in = packed.file.parent
    if target:
        return packed, f"among the temporary files, in {lies_in.parent.name}/{lies_in.name}"
    return packed, f"beside your machines, in {lies_in.parent.name}/{lies_in.name}"
