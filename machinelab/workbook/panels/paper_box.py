"""Making a sheet of paper: a button for each size, and the files to open or to keep."""

from collections.abc import Callable, Mapping
from pathlib import Path

from ipywidgets import HTML, Button, HBox

from machinelab.errors import MachinelabError
from machinelab.workbook.card.files import FOLDER, write_files
from machinelab.workbook.card.paper import PAPERS_MM
from machinelab.workbook.panels.frame import Framed, press
from machinelab.workbook.panels.look import notice, take_along, words


class PaperBox(Framed):
    """A button for A4 and one for Letter; what was written is named and can be taken along at once.

    Parameters
    ----------
    called : str
        What is made: ``card``, ``report``.
    files : callable
        Paper in, files by name out, as things stand when a button is pressed.
    folder : Path
        Where the files go: the machine's folder, or a scratch folder for one that is not written to.
    note : str
        Where that is, if it needs saying.
    """

    def __init__(
        self, called: str, files: Callable[[str], Mapping[str, bytes]], *, folder: Path, note: str = ""
    ):
        self.called, self.files, self.folder = called, files, folder
        self.buttons = {paper: self._button(paper) for paper in PAPERS_MM}
        usual = (
            f"Each button writes the {called} twice: as a PDF to print, and as a page that opens anywhere."
        )
        self.answer = HTML(words(note or usual, "help"))
        self.notice = HTML(notice(""))
        row = HBox(list(self.buttons.values()))
        self.frame(row, self.answer, self.notice)

    def write(self, paper: str) -> None:
        """Write the files for one paper; what stands in the way is told in words."""
        self.notice.value = notice("")
        self.answer.value = words(f"Making the {self.called} ...", "sentence")
        try:
            files = self.files(paper)
            written = write_files(files, self.folder)
        except MachinelabError as error:
            self.answer.value = ""
            self.notice.value = notice(str(error))
            return
        links = ", ".join(take_along(name, content) for name, content in files.items())
        said = words(f"Written into {written[0].parent.parent.name}/{FOLDER}:", "sentence")
        self.answer.value = f'{said}<div class="machinelab-sentence">{links}</div>'

    def _button(self, paper: str) -> Button:
        return press(f"make the {self.called}, {paper}", lambda: self.write(paper))
