"""From the README's command to the first picture of use, in a real JupyterLab and a browser."""

import time

import pytest
from browser.lab import (
    IN_FRONT,
    KERNEL_IS_READY,
    Visit,
    browser_page,
    browser_path,
    cloned_house,
    opened_workbook,
)

pytestmark = [pytest.mark.bench, pytest.mark.browser]

LONGEST_S = 60
COAST = "05_coast_down.ipynb"


@pytest.fixture
def house(tmp_path):
    browser_path()
    return cloned_house(tmp_path / "machinelab")


def test_a_picture_of_use_stands_within_a_minute_of_the_command(house, tmp_path, figures):
    with browser_page() as page:
        page.set_viewport_size({"width": 1280, "height": 16_000})
        began = time.monotonic()
        with opened_workbook(house, tmp_path / "home") as lab:
            answers_s = time.monotonic() - began
            page.goto(f"{lab.address}/?token={lab.token}")
            page.get_by_role("table").filter(has_text="what it waits for").wait_for()
            steps_s = time.monotonic() - began
            page.get_by_role("link", name="05 coast-down").last.click()
            page.wait_for_function(IN_FRONT, arg=COAST)
            page.wait_for_function(KERNEL_IS_READY)
            visit = Visit(page)
            visit.run_all()
            visit.picture("the spindle coasts")
            page.locator(".machinelab-panel img").first.wait_for()
            fitted_s = time.monotonic() - began
            lab.stop()
    wanted = f"under {LONGEST_S} s"
    figures.add("command to JupyterLab's answer", answers_s, "s")
    figures.add("command to the table of steps", steps_s, "s", wanted=wanted)
    figures.add("command to the fitted run-down of page 05", fitted_s, "s", wanted=wanted)
    assert fitted_s < LONGEST_S
