"""Run every notebook of the workbook on the demo machine and store what a reader without a kernel sees.

What a cell tagged ``live`` shows needs a running kernel, so its outputs are left out; a static cell
beside it stands for it. Nothing is stored that changes from run to run: no times, no widget state, no
process numbers. ``python3 -m machinelab remake`` calls this file.
"""

import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import nbformat
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
WIDGET = "application/vnd.jupyter.widget-view+json"
PATIENCE_S = 180
KEPT_METADATA = {
    "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}


# What a fresh kernel would have found: no names, its own folder, machine and temporary files.
BEGIN = """\
%reset -f
import os, tempfile
os.chdir({folder!r})
os.environ.update(MACHINELAB_MACHINE={machine!r}, TMPDIR={scratch!r})
tempfile.tempdir = None
del os, tempfile
"""


class StaleOutputError(Exception):
    """A cell gives something that must not be stored."""


def every_notebook() -> list[Path]:
    """List all notebooks of the workbook, in the order of their names."""
    return sorted(NOTEBOOKS.glob("*.ipynb"))


def run(path: Path, machine: str) -> nbformat.NotebookNode:
    """Run a notebook from its own folder on one machine and give it back with its outputs."""
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=PATIENCE_S,
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent)}},
        record_timing=False,
        store_widget_state=False,
    )
    # The demo's record lies among the temporary files; a fresh place for those shows it as it begins.
    with TemporaryDirectory() as scratch:
        client.execute(env={**os.environ, "MACHINELAB_MACHINE": machine, "TMPDIR": scratch})
    return notebook


@contextmanager
def running_kernel() -> Iterator[NotebookClient]:
    """A kernel that has its libraries loaded, for many notebooks one after the other."""
    client = NotebookClient(
        nbformat.v4.new_notebook(),
        timeout=PATIENCE_S,
        kernel_name="python3",
        record_timing=False,
        store_widget_state=False,
    )
    with client.setup_kernel():
        yield client


def run_in(client: NotebookClient, path: Path, machine: str) -> nbformat.NotebookNode:
    """Run a notebook as `run` does, but in a kernel that has run others before and forgets their names."""
    notebook = nbformat.read(path, as_version=4)
    with TemporaryDirectory() as scratch:
        begin = BEGIN.format(folder=str(path.parent), machine=machine, scratch=scratch)
        notebook.cells.insert(0, nbformat.v4.new_code_cell(begin))
        client.nb = notebook
        client.reset_execution_trackers()
        for place, cell in enumerate(notebook.cells):
            client.execute_cell(cell, place)
    del notebook.cells[0]
    return notebook


def keep_what_is_static(notebook: nbformat.NotebookNode) -> None:
    """Strip what needs a kernel or changes from run to run; refuse what must not be stored at all."""
    notebook.metadata = nbformat.from_dict(KEPT_METADATA)
    for place, cell in enumerate(notebook.cells):
        tags = cell.metadata.get("tags", [])
        cell.setdefault("id", f"cell-{place:02d}")
        if cell.cell_type != "code":
            continue
        if "live" in tags:
            cell.outputs = []
        for output in cell.outputs:
            _refuse_what_cannot_be_kept(output, cell)
            output.pop("transient", None)


def remake(path: Path) -> bool:
    """Run one notebook on the demo machine and store it; say whether the file has changed."""
    notebook = run(path, "demo")
    keep_what_is_static(notebook)
    text = nbformat.writes(notebook) + "\n"
    changed = path.read_text(encoding="utf-8") != text
    path.write_text(text, encoding="utf-8", newline="\n")
    return changed


def main() -> int:
    """Remake all notebooks, or those named on the command line."""
    chosen = [Path(name).resolve() for name in sys.argv[1:]] or every_notebook()
    for path in chosen:
        print(f"{path.name}: {'stored anew' if remake(path) else 'as it was'}", flush=True)
    return 0


def _refuse_what_cannot_be_kept(output, cell) -> None:
    if output.output_type == "stream" and output.name == "stderr":
        raise StaleOutputError(f"cell {cell.id} warns: {output.text}")
    if WIDGET in output.get("data", {}):
        raise StaleOutputError(f"cell {cell.id} shows a control but is not tagged live")
    if re.search(r" at 0x[0-9a-f]{6}", str(output)):
        raise StaleOutputError(f"cell {cell.id} shows a place in memory, which changes from run to run")


if __name__ == "__main__":
    sys.exit(main())
