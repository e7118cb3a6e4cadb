"""Page 05 in a real JupyterLab: a log goes in, picture and words follow, rubbish is told in words."""

import json

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PAGE = "05_coast_down.ipynb"


@pytest.fixture(scope="module")
def coast_page(ran):
    """Page 05, opened and run on the demo machine."""
    return ran(PAGE)


def bench(visit):
    return visit.page.locator(".machinelab-panel").filter(has_text="Times and speeds").first


def choose_file(visit, path):
    with visit.page.expect_file_chooser() as chooser:
        bench(visit).get_by_role("button", name="choose a file").click()
    chooser.value.set_files(str(path))


def test_a_picture_offered_as_a_log_is_told_in_words_and_the_last_picture_stays(coast_page, tmp_path):
    before = bench(coast_page).locator("img").get_attribute("alt")
    file = tmp_path / "IMG_001.png"
    file.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(500))
    choose_file(coast_page, file)
    bench(coast_page).get_by_text("IMG_001.png is a picture").wait_for()
    assert bench(coast_page).locator("img").get_attribute("alt") == before


def test_the_speed_box_moves_the_run_on_picture(coast_page):
    page = coast_page.page
    panel = page.locator(".machinelab-panel").filter(
        has=page.get_by_role("textbox", name="Lead of the thread", exact=True)
    )
    box = panel.get_by_role("textbox", name="Speed when the drive lets go", exact=True)
    box.fill("300 rpm")
    box.press("Enter")
    coast_page.picture("From 300 rpm it coasts")
    box.fill("300 furlongs")
    box.press("Enter")
    panel.get_by_text("Please look:").first.wait_for()


def test_another_disc_is_another_inertia_and_it_goes_into_the_record(coast_page):
    page = coast_page.page
    panel = page.locator(".machinelab-panel").filter(has_text="Mass of the disc").first
    before = panel.locator("img").get_attribute("alt")
    box = panel.get_by_role("textbox", name="Mass of the disc", exact=True)
    box.fill("7 kg")
    box.press("Enter")
    panel.locator(f"img:not([alt={json.dumps(before, ensure_ascii=False)}])").wait_for()
    page.get_by_role("button", name="write it in the record").nth(1).click()
    page.get_by_text("Written: moment of inertia").wait_for()
