"""The start page in a real JupyterLab: a machine goes out and comes in, a notebook becomes a page."""

import shutil
from pathlib import Path

import pytest
from browser.lab import browser_path, open_notebook, running_lab

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
START, GEARING = "00_start_here.ipynb", "07_leadscrew_gearing.ipynb"
PAPERS = ("A4", "Letter")


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    """The start page and one more, with the demo as the only machine."""
    folder = tmp_path_factory.mktemp("workbook")
    for name in (START, GEARING):
        shutil.copy(NOTEBOOKS / name, folder)
    shutil.copytree(NOTEBOOKS / "machines" / "demo", folder / "machines" / "demo")
    return folder


@pytest.fixture(scope="module")
def start(workbook, tmp_path_factory, browser_context_page):
    """The start page, opened and run."""
    browser_path()
    with running_lab(workbook, tmp_path_factory.mktemp("handover"), MACHINELAB_MACHINE="") as lab:
        page = browser_context_page.context.new_page()
        visit = open_notebook(page, lab, START)
        visit.run_all()
        yield visit
        page.close()


def taken_along(page, name):
    """What a link hands out when it is pressed."""
    link = page.get_by_role("link", name=name)
    link.wait_for()
    with page.expect_download() as download:
        link.click()
    assert download.value.suggested_filename == name
    return Path(download.value.path())


def test_a_machine_goes_out_as_a_zip_and_comes_in_again(start, workbook, tmp_path):
    page = start.page
    page.get_by_role("button", name="pack the chosen machine").click()
    sent = shutil.copy(taken_along(page, "demo.zip"), tmp_path / "friend.zip")
    page.get_by_label("What to call it here").fill("from-a-friend")
    page.get_by_label("What to call it here").press("Tab")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="choose the zip").click()
    chooser.value.set_files(sent)
    page.get_by_text("friend.zip, ").wait_for()
    page.get_by_role("button", name="open the machine").click()
    page.get_by_text("from-a-friend is there now").wait_for()
    assert (workbook / "machines" / "from-a-friend" / "machine.toml").is_file()
    assert page.get_by_label("Machine to work on").input_value() == "from-a-friend"


def test_a_notebook_becomes_a_page_that_asks_for_nothing_and_fits_a_phone(start, workbook, tmp_path):
    page = start.page
    page.get_by_label("Page of step").select_option("07 leadscrew gearing")
    page.get_by_role("button", name="make the page").click()
    made = shutil.copy(taken_along(page, "07_leadscrew_gearing.html"), tmp_path / "page.html")
    asked, told = [], []
    reader = page.context.browser.new_page(viewport={"width": 390, "height": 844})
    reader.on("request", lambda request: asked.append(request.url))
    reader.on("console", lambda message: told.append(message.text))
    reader.goto(made.as_uri())
    assert {address.partition(":")[0] for address in asked} <= {"file", "data"}
    assert told == []
    assert reader.evaluate("document.documentElement.scrollWidth") == 390
    assert reader.evaluate("[...document.images].every(image => image.complete && image.naturalWidth)")
    for paper in PAPERS:
        assert reader.pdf(format=paper).startswith(b"%PDF-1.")
    reader.close()
    assert start.hosts == {"127.0.0.1"}
