"""Page 05 in a real JupyterLab: a log goes in, picture and words follow, rubbish is told in words."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from browser.lab import browser_path, open_notebook, running_lab
from simulate.coast_log import Display, Truth, write_log

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
PAGE = "05_coast_down.ipynb"
SPINDLE = Truth(900.0, 4.0, 0.01, 5e-5)


@pytest.fixture(scope="module")
def coast_page(browser_context_page, tmp_path_factory):
    """Page 05, opened and run on the demo machine in a copy of the workbook."""
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


def bench(visit):
    return visit.page.locator(".machinelab-panel").filter(has_text="Times and speeds").first


def choose_file(visit, path):
    with visit.page.expect_file_chooser() as chooser:
        bench(visit).get_by_role("button", name="choose a file").click()
    chooser.value.set_files(str(path))


def test_an_awkward_file_is_read_fitted_and_judged(coast_page, tmp_path):
    time_s, speed_rpm = write_log(SPINDLE, Display(glitches=0.0), seed=21)
    coasting = np.flatnonzero((speed_rpm < 700) & (speed_rpm > 300))
    speed_rpm[coasting[[10, 40]]] *= 2
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, speed_rpm, strict=True)]
    file = tmp_path / "auslauf.csv"
    file.write_text("Zeit [s];Drehzahl [U/min]\n" + "\n".join(rows), encoding="latin-1")
    choose_file(coast_page, file)
    picture = coast_page.picture("From 900 rpm the spindle coasts")
    stop_s, _ = SPINDLE.stop(900)
    told = picture.get_attribute("alt")
    assert abs(float(told.split("coasts ")[1].split(" ")[0]) / stop_s - 1) < 0.02
    assert "decimal comma" in bench(coast_page).inner_text()


def test_a_picture_offered_as_a_log_is_told_in_words_and_the_last_picture_stays(coast_page, tmp_path):
    before = bench(coast_page).locator("img").get_attribute("alt")
    file = tmp_path / "IMG_001.png"
    file.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(500))
    choose_file(coast_page, file)
    bench(coast_page).get_by_text("IMG_001.png is a picture").wait_for()
    assert bench(coast_page).locator("img").get_attribute("alt") == before


def test_the_speed_box_moves_the_run_on_picture(coast_page):
    panel = coast_page.page.locator(".machinelab-panel").filter(has_text="Lead of the thread").first
    box = panel.get_by_label("Speed when the drive lets go", exact=True)
    box.fill("300 rpm")
    box.press("Enter")
    coast_page.picture("From 300 rpm it coasts")
    box.fill("300 furlongs")
    box.press("Enter")
    panel.get_by_text("Please look:").first.wait_for()


def test_a_line_is_written_into_the_record_on_the_press_of_a_button(coast_page):
    # The first of two on this page: the run-down's own, then the one of the inertia.
    page = coast_page.page
    page.get_by_label("Your initials", exact=True).first.fill("AB")
    page.get_by_role("button", name="write it in the record").first.click()
    page.get_by_text("Written: time to standstill").wait_for()


def test_another_disc_is_another_inertia_and_it_goes_into_the_record(coast_page):
    page = coast_page.page
    panel = page.locator(".machinelab-panel").filter(has_text="Mass of the disc").first
    before = panel.locator("img").get_attribute("alt")
    box = panel.get_by_label("Mass of the disc", exact=True)
    box.fill("7 kg")
    box.press("Enter")
    panel.locator(f"img:not([alt={json.dumps(before, ensure_ascii=False)}])").wait_for()
    page.get_by_role("button", name="write it in the record").nth(1).click()
    page.get_by_text("Written: moment of inertia").wait_for()


def test_nothing_was_asked_of_any_other_computer(coast_page):
    assert coast_page.hosts == {"127.0.0.1"}
