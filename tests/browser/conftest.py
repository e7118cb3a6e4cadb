"""One JupyterLab for all browser tests; a fresh page for each."""

from uuid import uuid4

import pytest
from browser.lab import browser_page, browser_path, open_notebook, running_lab, write_notebook


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    browser_path()
    folder = tmp_path_factory.mktemp("notebooks")
    with running_lab(folder, tmp_path_factory.mktemp("lab"), MACHINELAB_MACHINE="demo") as running:
        yield running


@pytest.fixture(scope="session")
def browser_context_page():
    with browser_page(permissions=["clipboard-read", "clipboard-write"]) as page:
        yield page


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
