"""Every notebook as a stranger meets it: freshly cloned, untrusted, first only looked at, then run."""

import pytest
from browser.lab import open_notebook
from notebooks.remake import every_notebook

pytestmark = [pytest.mark.browser, pytest.mark.slow]

# JupyterLab keeps only what is in view, so the page is made tall enough for a whole notebook.
TALL_PX = 14_000
STORED_PICTURES = """() => [...document.querySelectorAll('.jp-OutputArea img')]
  .map(img => ({words: img.alt, shown: img.complete && img.naturalWidth > 0}))"""
EMPTY_LIVE_CELLS = """() => window.jupyterapp.shell.currentWidget.content.widgets
  .filter(cell => (cell.model.getMetadata('tags') ?? []).includes('live'))
  .filter(cell => !cell.node.querySelector('.jupyter-widgets'))
  .map(cell => cell.model.id)"""
BROKEN = "Error displaying widget"


@pytest.fixture
def page(browser_context_page):
    page = browser_context_page.context.new_page()
    page.set_viewport_size({"width": 1250, "height": TALL_PX})
    yield page
    page.close()


@pytest.mark.parametrize("path", every_notebook(), ids=lambda path: path.stem)
def test_a_notebook_shows_its_pictures_unrun_and_its_controls_when_run(path, lab, page):
    visit = open_notebook(page, lab, path.name)
    expected = path.read_text(encoding="utf-8").count('"image/png"')
    # Cells are drawn one after another in idle moments, so a busy machine needs to be waited for.
    page.wait_for_function(f"({STORED_PICTURES})().filter(picture => picture.shown).length >= {expected}")
    stored = page.evaluate(STORED_PICTURES)
    assert len(stored) == expected
    assert all(picture["shown"] and len(picture["words"]) > 20 for picture in stored)
    visit.run_all()
    page.wait_for_function(f"({EMPTY_LIVE_CELLS})().length === 0")
    assert page.get_by_text(BROKEN).count() == 0
    assert visit.hosts == {"127.0.0.1"}
