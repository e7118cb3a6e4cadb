"""The start page and the form in a real JupyterLab: choosing, making, typing, saving, going on."""

import shutil
from pathlib import Path

import pytest
from browser.lab import browser_path, open_notebook, running_lab

from machinelab.workbook.machine.file import read_machine

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
START, FORM = "00_start_here.ipynb", "01_machine_as_built.ipynb"


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    """A copy of the notebooks that matter here, with the demo as the only machine."""
    folder = tmp_path_factory.mktemp("workbook")
    for name in (START, FORM):
        shutil.copy(NOTEBOOKS / name, folder)
    shutil.copytree(NOTEBOOKS / "machines" / "demo", folder / "machines" / "demo")
    return folder


@pytest.fixture(scope="module")
def own_lab(workbook, tmp_path_factory):
    browser_path()
    with running_lab(workbook, tmp_path_factory.mktemp("own_lab"), MACHINELAB_MACHINE="") as running:
        yield running


@pytest.fixture
def opened(own_lab, browser_context_page):
    """Give a function that opens and runs one of the notebooks in a page of its own."""
    pages = []

    def run(name):
        page = browser_context_page.context.new_page()
        pages.append(page)
        visit = open_notebook(page, own_lab, name)
        visit.run_all()
        return visit

    yield run
    for page in pages:
        page.close()


def fill(page, label, text):
    box = page.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Enter")


def test_a_new_machine_is_made_chosen_and_the_table_of_steps_follows(opened, workbook):
    page = opened(START).page
    table = page.locator(".jp-RenderedMarkdown").filter(has_text="what it waits for")
    assert "Lines of the encoder" not in table.inner_text()
    fill(page, "Name of a new machine", "Old Lathe")
    page.get_by_role("button", name="make it").click()
    page.get_by_text("will not do for a folder").wait_for()
    fill(page, "Name of a new machine", "old-lathe")
    page.get_by_role("button", name="make it").click()
    page.get_by_text("old-lathe is chosen").wait_for()
    table.filter(has_text="Lines of the encoder").wait_for()
    assert (workbook / "machines" / ".chosen").read_text().strip() == "old-lathe"
    page.get_by_label("Machine to work on").select_option("demo")
    page.get_by_text("demo is chosen").wait_for()
    table.filter(has_text="bicycle workshop").wait_for()
    assert "Lines of the encoder" not in table.inner_text()


def test_the_form_is_filled_with_the_keyboard_and_a_copy_keeps_it(opened, workbook):
    visit = opened(FORM)
    page = visit.page
    page.get_by_label("Part of the machine").select_option("Leadscrew")
    lead = page.get_by_label("Lead of the leadscrew", exact=True)
    lead.fill("8")
    lead.press("Tab")
    assert page.evaluate("document.activeElement.tagName") == "SELECT"
    page.get_by_text("Type 8 mm or 8 tpi").first.wait_for()
    fill(page, "Lead of the leadscrew", "4 mm")
    visit.picture("leadscrew 4 mm · 6.35 tpi")
    fill(page, "Name of a new machine", "my-lathe")
    page.get_by_role("button", name="make my own copy").click()
    page.get_by_text("is now 4 mm · 6.35 tpi").wait_for()
    assert read_machine(workbook / "machines" / "my-lathe").leadscrew.lead_mm == 4
    fill(page, "Outside diameter of the leadscrew", "1 in")
    page.get_by_role("button", name="save", exact=True).click()
    page.get_by_text("is now 25.4 mm · 1.0000 in").wait_for()
    assert read_machine(workbook / "machines" / "my-lathe").leadscrew.diameter_mm == 25.4
    assert read_machine(workbook / "machines" / "demo").leadscrew.diameter_mm == 22
    assert visit.hosts == {"127.0.0.1"}
