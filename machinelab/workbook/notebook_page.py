"""A whole notebook as one page to keep, to print or to show: run on a machine, then written as a single file.

The notebook itself is not touched: a copy is run from its first cell to its last in a kernel of its own.
"""

import os
import subprocess
import sys
from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from machinelab.errors import MachinelabError, RangeError
from machinelab.units.typed_number import in_short
from machinelab.workbook import machine as machines
from machinelab.workbook.card.files import FOLDER, write_files
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.folders import OVERRIDE, machines_folder
from machinelab.workbook.record import Record
from machinelab.workbook.steps import step, steps

KERNEL = "python3"
PATIENCE_S = 300
AMONG_TEMPORARY = "among the temporary files, because this machine's folder is not written to"


@dataclass(frozen=True)
class MadePage:
    """The page that was written, and where it lies."""

    file: Path
    html: str
    note: str = ""

    def __str__(self) -> str:
        where = f"in {self.file.parent.parent.name}/{FOLDER}"
        return f"Written: {self.file.name}, {where}{f', {self.note}' if self.note else ''}."


def make_page(
    named: str | Path,
    machine: str | Path | None = None,
    *,
    tell: Callable[[float, str], None] = lambda share, words: None,
) -> MadePage:
    """Run a notebook on a machine and write it as one page beside the machine's files.

    Parameters
    ----------
    named : str or Path
        Number of the step, such as ``05``, or the file of a notebook.
    machine : str, Path or None
        Name or folder; left out, the chosen one.
    tell : callable
        Is told before each cell how much is done and what comes next.

    Raises
    ------
    MachinelabError
        When there is no such notebook or machine, when the notebook does not run to its end, or when the
        page cannot be written; then nothing is.
    """
    making = page_in_steps(named, machine)
    while True:
        try:
            tell(*next(making))
        except StopIteration as end:
            return end.value


def page_in_steps(
    named: str | Path, machine: str | Path | None = None
) -> Generator[tuple[float, str], None, MadePage]:
    """Make a page cell by cell: before each, the share that is done and what comes next; at the end the page.

    Parameters and errors are those of `make_page`. Whoever stops half-way leaves nothing behind.
    """
    path, chosen = notebook_file(named), machines.load(machine)
    notebook = _notebook_in(path)
    yield from _run_in_steps(notebook, path, chosen)
    return _written(path, chosen, _html_of(notebook, path, chosen))


def notebook_file(named: str | Path) -> Path:
    """The notebook that a step's number or a file name stands for.

    Raises
    ------
    RangeError
        When there is none.
    """
    text = str(named).strip()
    if text.isdecimal() and len(text) <= 2:
        found = step(f"{int(text):02d}").notebook
        if not found:
            raise RangeError(f"The page of step {text} is not written yet.")
        return machines_folder().parent / found
    for path in (Path(text), machines_folder().parent / text):
        if path.suffix == ".ipynb" and path.is_file():
            return path.resolve()
    have = ", ".join(one.number for one in steps() if one.notebook)
    raise RangeError(
        f"There is no notebook {in_short(text)}. Say the number of a step ({have}) or a file that ends in "
        ".ipynb."
    )


def _notebook_in(path: Path):
    import nbformat

    try:
        return nbformat.read(path, as_version=4)
    except (OSError, ValueError, nbformat.ValidationError, nbformat.reader.NotJSONError) as trouble:
        raise MachinelabError(
            f"{path.name} cannot be read as a notebook ({in_short(str(trouble))}). Fetch a fresh copy of it."
        ) from None


def _run_in_steps(notebook, path: Path, machine: Machine) -> Generator[tuple[float, str], None, None]:
    """Run the cells one after the other in a fresh kernel, which is shut down whatever happens."""
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

    from machinelab.workbook.notebook_html import caption

    place = {"metadata": {"path": str(path.parent)}}
    client = NotebookClient(
        notebook, timeout=PATIENCE_S, kernel_name=KERNEL, resources=place, store_widget_state=False
    )
    client.reset_execution_trackers()
    doing = "starting"
    yield 0.0, f"{path.name}: starting"
    try:
        # What a kernel says of itself to a terminal is nothing that a person asked for.
        with client.setup_kernel(
            env={**os.environ, OVERRIDE: str(machine.folder)}, stderr=subprocess.DEVNULL
        ):
            for count, cell in enumerate(notebook.cells):
                if cell.cell_type == "code":
                    doing = caption(cell.source)
                    yield count / len(notebook.cells), f"{path.name}: {doing}"
                client.execute_cell(cell, count)
    except CellExecutionError as stopped:
        raise MachinelabError(
            f"{path.name} stopped at “{doing}”: {stopped.ename}: {stopped.evalue}. Open it, run it there, "
            "and put right what it says."
        ) from None
    except (CellTimeoutError, DeadKernelError) as stopped:
        raise MachinelabError(
            f"{path.name} did not come to its end at “{doing}” ({type(stopped).__name__}). Close what else "
            "is running and try again."
        ) from None


def _html_of(notebook, path: Path, machine: Machine) -> str:
    from machinelab.workbook.notebook_html import page_of

    titles = {one.notebook: f"{one.number} {one.title}" for one in steps()}
    today = date.today()
    return page_of(
        notebook,
        title=f"{titles.get(path.name, path.stem)}: {machine.name}",
        made=f"Machine: {machine.name}. Made on {today.day} {today:%B %Y}.",
    )


def _written(path: Path, machine: Machine, html: str) -> MadePage:
    """Write the page beside the machine's files; among the temporary ones where it is not written to."""
    record = Record(machine.folder)
    (file,) = write_files({f"{path.stem}.html": html.encode()}, record.folder)
    return MadePage(file, html, AMONG_TEMPORARY if record.note else "")


def main(arguments: list[str] | None = None) -> int:
    """Make a page from the command line: ``05 [machine]``, or the file of a notebook."""
    words = sys.argv[1:] if arguments is None else arguments
    if not 1 <= len(words) <= 2:
        print("Say: page 05 [machine], or page file.ipynb [machine].", file=sys.stderr)
        return 2
    try:
        made = make_page(*words, tell=lambda share, doing: print(f"{share:4.0%}  {doing}", flush=True))
    except MachinelabError as error:
        print(error, file=sys.stderr)
        return 1
    print(f"{made} It lies at {made.file}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
