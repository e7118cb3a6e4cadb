"""A newcomer's first two days: a clone, the README's command, a machine, a log, three pages, back again."""

import json

import numpy as np
import pytest
from browser.lab import (
    FAILED_CELLS,
    IN_FRONT,
    KERNEL_IS_READY,
    RUN_PATIENCE_MS,
    Visit,
    cloned_house,
    fresh_page,
    opened_workbook,
    shut_down,
)
from simulate.coast_log import Display, Truth, write_log
from simulate.own_stops import as_typed, stops_past_mark

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START, COAST, GEARING = "00_start_here.ipynb", "05_coast_down.ipynb", "07_leadscrew_gearing.ipynb"
THREADING = "10_threading.ipynb"
SPINDLE = Truth(900.0, 4.0, 0.01, 5e-5)
# JupyterLab's questions and messages, and whatever a kernel writes in red.
IN_THE_WAY = ".jp-Dialog, .Toastify__toast, [data-mime-type='application/vnd.jupyter.stderr']"
# JupyterLab keeps only what is in view, so the page is made tall enough for a whole notebook.
TALL = {"width": 1280, "height": 16_000}


@pytest.fixture
def house(tmp_path):
    """A clone of the house at a path with spaces and umlauts."""
    return cloned_house(tmp_path / "Räder und Gewinde")


@pytest.fixture
def log_file(tmp_path):
    """What a cheap logger wrote on another continent: semicolons, decimal commas, a display that doubles."""
    time_s, speed_rpm = write_log(SPINDLE, Display(glitches=0.0), seed=21)
    coasting = np.flatnonzero((speed_rpm < 700) & (speed_rpm > 300))
    speed_rpm[coasting[[10, 40]]] *= 2
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, speed_rpm, strict=True)]
    file = tmp_path / "auslauf.csv"
    file.write_text("Zeit [s];Drehzahl [U/min]\n" + "\n".join(rows), encoding="latin-1")
    return file


def run_from_the_menu(page):
    """Do what the page's first line says, Run, then Run All Cells, and once more where JupyterLab lost it.

    The counts beside the cells may be yesterday's; a control stands there only when the page has run.
    """
    from playwright.sync_api import TimeoutError as NothingCame

    for _ in range(3):
        page.get_by_role("tab", name=START).click()
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        try:
            page.get_by_label("Machine to work on").wait_for(timeout=60_000)
        except NothingCame:
            continue
        return
    pytest.fail("The page did not run, however often it was asked.")


def the_start_page(context, lab):
    """The start page as the browser opens it by itself, run from the menu."""
    page = context.new_page()
    page.set_viewport_size(TALL)
    visit = Visit.watching(page)
    page.goto(f"{lab.address}/?token={lab.token}")
    # JupyterLab first puts back yesterday's pages, and only then brings the start page to the front.
    page.wait_for_function(IN_FRONT, arg=START)
    page.wait_for_function(KERNEL_IS_READY)
    run_from_the_menu(page)
    visit.wait_until_run()
    return visit


def from_the_start_page(visit, link, notebook):
    """Follow a link of the table of steps and run what it opens."""
    page = visit.page
    page.get_by_role("tab", name=START).click()
    page.get_by_role("link", name=link).last.click()
    page.wait_for_function(IN_FRONT, arg=notebook)
    opened(page).get_by_role("heading", level=1).wait_for()
    visit.run_all()
    # The box has been met once the last panel of the page stands.
    opened(page).get_by_role("button", name="write it in the record").last.wait_for()


def opened(page):
    """The notebook that is in front."""
    return page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")


def fill(page, label, text):
    box = opened(page).get_by_role("textbox", name=label, exact=True).first
    box.fill(text)
    box.press("Tab")


def record_it(page, quantity, place=0):
    opened(page).get_by_role("button", name="write it in the record").nth(place).click()
    opened(page).get_by_text(f"Written: {quantity}").wait_for()


def choose_file(page, panel, file):
    with page.expect_file_chooser() as chooser:
        panel.get_by_role("button", name="choose a file").click()
    chooser.value.set_files(str(file))


def row(visit, number):
    """What the table of steps says of one step, as it is read on the screen."""
    table = visit.page.locator(".jp-RenderedMarkdown table").filter(has_text="what it waits for")
    line = table.get_by_role("row").filter(has_text=number).first
    return [cell.inner_text().replace("\N{NO-BREAK SPACE}", " ") for cell in line.get_by_role("cell").all()]


def files_of(folder):
    return {path.relative_to(folder).parts[0] for path in folder.rglob("*") if path.is_file()}


def test_from_the_clone_to_the_same_place_the_next_day(house, log_file, tmp_path, browser_context_page):
    homes = tmp_path / "home"
    clipboard = ["clipboard-read", "clipboard-write"]
    # A second browser cannot be driven while the other tests' one stands open.
    with fresh_page(browser_context_page.context.browser, permissions=clipboard) as blank:
        # Two whole days in one go: what counts is that each thing comes, on a busy computer too.
        blank.context.set_default_timeout(RUN_PATIENCE_MS)
        with opened_workbook(house, homes) as lab:
            visit = the_start_page(blank.context, lab)
            page = visit.page
            fill(page, "Name of a new machine", "old-lathe")
            opened(page).get_by_label("It begins as").select_option("a copy of demo")
            opened(page).get_by_role("button", name="make it").click()
            page.get_by_text("old-lathe is chosen").wait_for()
            assert row(visit, "05 coast-down")[2:4] == ["NOT DONE", ""]

            from_the_start_page(visit, "05 coast-down", COAST)
            bench = opened(page).locator(".machinelab-panel").filter(has_text="Times and speeds").first
            choose_file(page, bench, log_file)
            told = visit.picture("From 900 rpm the spindle coasts").get_attribute("alt")
            stop_s, _ = SPINDLE.stop(900)
            assert abs(float(told.split("coasts ")[1].split(" ")[0]) / stop_s - 1) < 0.02
            assert "decimal comma" in bench.inner_text()
            fill(page, "Your initials", "AB")
            record_it(page, "time to standstill")

            from_the_start_page(visit, "07 leadscrew gearing", GEARING)
            share_it(page)
            from_the_start_page(visit, "10 threading to a shoulder", THREADING)
            fill(page, "Spindle speed in the pass", "500 rpm")
            visit.picture("at 500 rpm")
            fill(page, "Speed at which you stopped", "90 rpm")
            fill(page, "Past the mark", as_typed(stops_past_mark() + 0.3))
            visit.picture("Your stops:")
            record_it(page, "groove", place=-1)
            assert_nothing_in_the_way(visit)
            shut_down(page)
        assert lab.ended_with == 0

        with opened_workbook(house, homes) as lab:
            visit = the_start_page(blank.context, lab)
            assert visit.page.get_by_label("Machine to work on").input_value() == "old-lathe"
            state, last = row(visit, "05 coast-down")[2:4]
            assert state != "NOT DONE"
            assert last.startswith("time to standstill")
            assert row(visit, "10 threading to a shoulder")[2] != "NOT DONE"
            assert_nothing_in_the_way(visit)
            shut_down(visit.page)
    assert_nothing_written_elsewhere(house, homes)


def share_it(page):
    opened(page).get_by_role("button", name="copy", exact=True).first.click()
    opened(page).get_by_role("button", name="copied", exact=True).wait_for()
    assert "Source" in page.evaluate("navigator.clipboard.readText()")


def assert_nothing_in_the_way(visit):
    assert visit.page.locator(IN_THE_WAY).count() == 0
    assert visit.page.evaluate(FAILED_CELLS) == []
    assert visit.hosts == {"127.0.0.1"}


def assert_nothing_written_elsewhere(house, homes):
    """In the clone only the person's machine is new; at home only what the libraries keep for themselves."""
    own = {path.name for path in (house / "notebooks" / "machines").iterdir()} - {"demo"}
    assert own == {"old-lathe", ".chosen"}
    jupyter = {".cache", ".config", ".ipython", ".jupyter", ".local", ".npm"}
    assert files_of(homes) <= {*jupyter, "tmp", "lab.log"}
    machine_files = {path.name for path in homes.rglob("*") if path.suffix in (".toml", ".jsonl", ".ipynb")}
    assert machine_files == set()
    record = (house / "notebooks" / "machines" / "old-lathe" / "record.jsonl").read_text(encoding="utf-8")
    assert {json.loads(line)["step"] for line in record.splitlines() if line} == {"05", "10"}
