"""Every notebook on every kind of machine: the demo, a quite different one, and one not known at all."""

import hashlib
import shutil
from pathlib import Path

import pytest
from notebooks.remake import NOTEBOOKS, every_notebook, run_in, running_kernel

pytestmark = pytest.mark.slow

MACHINES = Path(__file__).resolve().parents[1] / "machines"
UNCHANGING = "text/plain"

notebooks = pytest.mark.parametrize("path", every_notebook(), ids=lambda path: path.stem)


def fingerprints(folder):
    files = sorted(file for file in folder.rglob("*") if file.is_file())
    return {file.relative_to(folder): hashlib.sha256(file.read_bytes()).hexdigest() for file in files}


def text_of(notebook):
    """Give the words that every static cell shows, by cell."""
    return {
        cell.id: [output.data[UNCHANGING] for output in cell.outputs if UNCHANGING in output.get("data", {})]
        for cell in notebook.cells
        if cell.cell_type == "code" and "live" not in cell.metadata.get("tags", [])
    }


def all_words(notebook):
    return "\n".join(str(output) for cell in notebook.cells for output in cell.get("outputs", []))


@pytest.fixture(params=["metric", "empty"])
def machine(request, tmp_path):
    folder = tmp_path / request.param
    shutil.copytree(MACHINES / request.param, folder)
    return folder


@pytest.fixture(scope="module")
def kernel():
    """One kernel for all: that each notebook runs on a fresh one is shown by the run of the notebooks."""
    with running_kernel() as client:
        yield client


@notebooks
def test_a_notebook_runs_to_its_end_and_changes_nothing(path, machine, kernel):
    before = fingerprints(machine)
    notebook = run_in(kernel, path, str(machine))
    assert fingerprints(machine) == before
    assert "Traceback" not in all_words(notebook)
    assert "stderr" not in all_words(notebook)


@notebooks
def test_the_demo_shows_what_is_stored_and_nothing_is_written_into_the_tree(path, kernel):
    import nbformat

    before = fingerprints(NOTEBOOKS)
    fresh = run_in(kernel, path, "demo")
    assert fingerprints(NOTEBOOKS) == before
    assert text_of(fresh) == text_of(nbformat.read(path, as_version=4))
