"""Panels in a real JupyterLab: keys, typing, errors, copying, files, stopping."""

import re
import time

import pytest
from browser.lab import TEXT_BELOW

pytestmark = [pytest.mark.browser, pytest.mark.slow]

GEARING = """
from fractions import Fraction
from machinelab.workbook.panels.gearing import Gearing, gearing_panel
machine = Gearing(Fraction(127, 40), 200, 8, Fraction(5, 2), 2700, 1000, 1000, 133.0)
gearing_panel(machine, lead_mm=Fraction(1))
"""
SHARE = """
from machinelab.workbook.panels.share_box import ShareBox
from machinelab.workbook.share import Post
ShareBox(Post("stops in 3.3 s"), name="05 coast-down")
"""
ENTRY = """
from machinelab.workbook.panels.entry import Entry
from machinelab.workbook.speed_log import read
Entry("Speed log", reader=read, describe=lambda log: f"{len(log)} readings.", example="0 1000", accept=".csv")
"""
LONG = """
import time
from machinelab.workbook.panels.progress import LongTask
def steps():
    for n in range(1000):
        time.sleep(0.01)
        yield n / 1000, f"step {n}"
LongTask("count to a thousand", steps, lambda result: None)
"""


@pytest.fixture(scope="module")
def gearing_page(visit):
    return visit(GEARING)


@pytest.fixture
def gearing(gearing_page):
    for button in gearing_page.page.get_by_role("button", name="as built").all():
        button.click()
    gearing_page.picture("1 mm · 25.4 tpi")
    return gearing_page


def test_arrow_keys_on_the_slider_change_the_picture(gearing):
    before = gearing.picture("1 mm").get_attribute("src")
    gearing.page.locator(".noUi-handle").first.focus()
    gearing.page.keyboard.press("ArrowRight")
    after = gearing.picture("24 tpi")
    assert after.get_attribute("src") != before


def test_in_a_narrow_window_the_picture_shrinks_as_a_whole_and_the_slider_does_not(gearing):
    page = gearing.page
    wide = page.viewport_size
    page.set_viewport_size({"width": 760, "height": wide["height"]})
    try:
        picture = gearing.picture("1 mm")
        page.wait_for_function("window.innerWidth === 760")
        inside = page.locator(".machinelab-panel").filter(has=picture).last.bounding_box()
        shown = picture.bounding_box()
        place = page.locator(".widget-html").filter(has=picture).last.bounding_box()
        slider = page.locator(".noUi-target").first.bounding_box()
    finally:
        page.set_viewport_size(wide)
    assert shown["x"] + shown["width"] <= inside["x"] + inside["width"]
    drawn = [int(picture.get_attribute(side)) for side in ("width", "height")]
    assert shown["width"] < drawn[0]
    assert shown["width"] / shown["height"] == pytest.approx(drawn[0] / drawn[1], rel=0.01)
    # A slider with no room beside its box goes below it, as long as before.
    assert slider["width"] > 120
    assert slider["x"] + slider["width"] <= inside["x"] + inside["width"]
    # Nothing but a line's edge of white stays below it.
    assert place["height"] - shown["height"] < 10


def test_the_typed_box_has_a_name_and_changes_the_picture(gearing, tmp_path):
    box = gearing.page.get_by_role("textbox", name="Thread to cut (lead)")
    box.fill("26 tpi")
    box.press("Enter")
    gearing.picture("26 tpi")
    gearing.page.screenshot(path=tmp_path / "gearing.png")


def test_a_typing_mistake_is_answered_and_the_picture_stays(gearing):
    before = gearing.picture("1 mm").get_attribute("src")
    box = gearing.page.get_by_role("textbox", name="Thread to cut (lead)")
    box.fill("8")
    box.press("Enter")
    gearing.page.get_by_text("8 mm or 8 tpi").wait_for()
    assert gearing.picture("1 mm").get_attribute("src") == before


def test_the_button_goes_back_to_the_machine_as_built(gearing):
    box = gearing.page.get_by_role("textbox", name="Thread to cut (lead)")
    box.fill("26 tpi")
    box.press("Enter")
    gearing.picture("26 tpi")
    gearing.page.get_by_role("button", name="as built").first.click()
    gearing.picture("1 mm")


def test_text_below_keeps_its_place_while_the_picture_changes(gearing):
    below = gearing.page.get_by_role("paragraph").filter(has_text=TEXT_BELOW)
    places = {below.bounding_box()["y"]}
    gearing.page.locator(".noUi-handle").first.focus()
    for lead in ("24 tpi", "1.25 mm", "20 tpi"):
        gearing.page.keyboard.press("ArrowRight")
        gearing.picture(lead)
        places.add(below.bounding_box()["y"])
    assert len(places) == 1


def test_a_held_key_does_not_queue_up_pictures(gearing):
    slider = gearing.page.locator(".noUi-handle").nth(1)
    slider.focus()
    for _ in range(40):
        gearing.page.keyboard.press("ArrowLeft")
    released = time.monotonic()
    last = int(slider.get_attribute("aria-valuenow").split(".")[0])
    words = f"Largest number {_bound(last)}"
    gearing.picture(words)
    assert time.monotonic() - released < 1.5


def test_the_copy_button_puts_the_text_on_the_clipboard_and_a_link_saves_the_page(visit):
    page = visit(SHARE).page
    page.get_by_role("button", name="copy", exact=True).first.click()
    page.get_by_role("button", name="copied", exact=True).wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == "[b]stops in 3.3 s[/b]"
    with page.expect_download() as saved:
        page.get_by_role("link", name="05-coast-down.html").click()
    assert "<h1>stops in 3.3 s</h1>" in saved.value.path().read_text(encoding="utf-8")


def test_a_log_file_is_dropped_and_read(visit, tmp_path):
    log = tmp_path / "run.csv"
    log.write_text("time s;speed rpm\n" + "\n".join(f"{n * 0.5};{1000 - 20 * n}" for n in range(30)))
    page = visit(ENTRY).page
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="choose a file").click()
    chooser.value.set_files(log)
    page.get_by_text("30 readings.").wait_for()


def test_long_work_shows_how_far_it_is_and_stops_when_asked(visit):
    page = visit(LONG).page
    page.get_by_role("button", name="count to a thousand").click()
    page.get_by_text(re.compile(r"^step \d")).first.wait_for()
    page.get_by_role("button", name="stop").click()
    page.get_by_text("nothing was kept").wait_for(timeout=5000)


def test_nothing_is_asked_from_outside_this_machine(gearing):
    gearing.page.wait_for_timeout(2000)
    assert gearing.hosts == {"127.0.0.1"}


def _bound(position):
    from machinelab.workbook.panels.gearing import BOUNDS

    return sorted({*BOUNDS, 1000})[position]
