"""Page 10 in a real JupyterLab: the speed moves the stop, own stops go in, slips are told in words."""

import shutil
from pathlib import Path

import pytest
from browser.lab import browser_path, open_notebook, running_lab
from simulate.own_stops import as_typed, stops_past_mark

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
PAGE = "10_threading.ipynb"


@pytest.fixture(scope="module")
def threading_page(browser_context_page, tmp_path_factory):
    """Page 10, opened and run on the demo machine in a copy of the workbook."""
    browser_path()
    folder = tmp_path_factory.mktemp("workbook")
    shutil.copy(NOTEBOOKS / PAGE, folder)
    shutil.copytree(NOTEBOOKS / "machines" / "demo", folder / "machines" / "demo")
    with running_lab(folder, tmp_path_factory.mktemp("lab"), MACHINELAB_MACHINE="demo") as lab:
        page = browser_context_page.context.new_page()
        # A page tall enough to show every cell, so that nothing waits to be scrolled into view.
        page.set_viewport_size({"width": 1280, "height": 16000})
        visit = open_notebook(page, lab, PAGE)
        visit.run_all()
        yield visit
        page.close()


def type_into(visit, label, text):
    box = visit.page.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Tab")


def test_speed_and_groove_move_the_picture(threading_page, tmp_path):
    type_into(threading_page, "Spindle speed in the pass", "500 rpm")
    told = threading_page.picture("at 500 rpm").get_attribute("alt")
    assert "every pass would hit the shoulder" in told
    type_into(threading_page, "Groove at the shoulder", "40 mm")
    told = threading_page.picture("drawn are 40 mm").get_attribute("alt")
    assert "hardly a pass would hit" in told
    threading_page.page.screenshot(path=tmp_path / "threading.png")


def test_own_stops_are_read_as_they_are_typed(threading_page):
    type_into(threading_page, "Past the mark", as_typed(stops_past_mark() + 0.3))
    threading_page.picture("Your stops: 0.53 s in the middle")


def test_a_slip_among_the_stops_is_told_in_words_beside_the_box(threading_page):
    type_into(threading_page, "Past the mark", "1.4\n1,5")
    threading_page.page.get_by_text("has a comma").first.wait_for()
