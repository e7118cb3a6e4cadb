"""One JupyterLab for all browser tests that only look at the demo machine; a fresh page for each."""

import shutil
from uuid import uuid4

import pytest
from browser.lab import HOUSE, browser_page, browser_path, open_notebook, running_lab, write_notebook

NOTEBOOKS = HOUSE / "notebooks"


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    """A JupyterLab on a copy of the notebooks with the demo as the only machine."""
    browser_path()
    folder = tmp_path_factory.mktemp("notebooks")
    for path in NOTEBOOKS.glob("*.ipynb"):
        shutil.copy(path, folder)
    shutil.copytree(NOTEBOOKS / "machines" / "demo", folder / "machines" / "demo")
    with running_lab(folder, tmp_path_factory.mktemp("lab"), MACHINELAB_MACHINE="demo") as running:
        yield running


@pytest.fixture(scope="session")
def browser_context_page():
    with browser_page(permissions=["clipboard-read", "clipboard-write"]) as page:
        yield page


@pytest.fixture(scope="module")
def ran(lab, browser_context_page):
    """Give a function that opens a notebook of the workbook, runs it and returns the visit."""
    pages = []

    def run(name):
        page = browser_context_page.context.new_page()
        pages.append(page)
        # A page tall enough to show every cell, so that nothing waits to be scrolled into view.
        page.set_viewport_size({"width": 1280, "height": 16_000})
        visit = open_notebook(page, lab, name)
        visit.run_all()
        return visit

    yield run
    for page in pages:
        page.close()


@pytest.fixture(scope="module")
def visit(lab, browser_context_page):
    """Give a function that runs cells in a fresh notebook and returns the open page."""
    pages = []

    def run(*sources):
        name = f"scratch_{uuid4().hex[:8]}.ipynb"
        write_notebook(lab.folder / name, sources)
        page = browser_context_page.context.new_page()
        pages.append(page)
        opened = open_notebook(page, lab, name)
        opened.run_all()
        return opened

    yield run
    for page in pages:
        page.close()
