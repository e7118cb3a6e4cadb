"""Pages and panels can be used without a mouse, without colours and without seeing the pictures.

An automated checker looks at every exported page and at the panels in a real JupyterLab; it sees names,
roles, contrast and alt text. What it cannot see, that every control is reached and works by keys alone, is
walked through here.
"""

import pytest
from browser.accessibility import exported_pages, look_at, look_at_exported

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PIECES = """
from fractions import Fraction
from machinelab.workbook.panels.gearing import Gearing, gearing_panel
machine = Gearing(Fraction(127, 40), 200, 8, Fraction(5, 2), 2700, 9999, 9999, 133.0)
gearing_panel(machine, lead_mm=Fraction(1))
"""
START = """
from machinelab.workbook.pages.start import StartPage
start = StartPage.open()
start.choice
"""
SHARING = """
from machinelab.workbook.pages.coast_down import CoastDownPage
page = CoastDownPage.open()
page.share_box
"""
FORM = """
from machinelab.workbook.pages.machine_as_built import MachineAsBuiltPage
MachineAsBuiltPage.open().form
"""
RECORD = """
from machinelab.workbook.pages.record import RecordPage
RecordPage.open().correction_box
"""
BOX = """
from machinelab.workbook.pages.control_box import ControlBoxPage
box = ControlBoxPage.open()
box.first_box
"""
CELLS = (
    *(PIECES, START, "start.handover", "start.page_button", SHARING),
    *("page.guess", "page.bench", "page.record_box", FORM, RECORD, BOX, "box.ladder_panel", "box.sheet"),
)
# Everything of a panel that a person can act on.
CONTROLS = (
    ".machinelab-panel :is(input:not([type=file]), select, textarea, button, a[href], .noUi-handle)"
    ":not([disabled])"
)
NUMBER_THEM = f"""() => {{
  const seen = [...document.querySelectorAll({CONTROLS!r})].filter(one => one.offsetParent !== null);
  seen.forEach((one, place) => one.dataset.place = place);
  return seen.map(one => one.getAttribute('aria-label') || one.textContent || one.previousSibling?.textContent
    || one.closest('.widget-inline-hbox')?.textContent || one.outerHTML);
}}"""
WHERE = "() => document.activeElement?.dataset?.place ?? ''"


@pytest.fixture(scope="module")
def panels(visit):
    """One notebook with a panel of every kind that the workbook has."""
    return visit(*CELLS).page


@pytest.fixture(scope="module")
def exported(browser_context_page):
    page = browser_context_page.context.new_page()
    yield list(look_at_exported(page))
    page.close()


def test_no_exported_page_has_a_grave_finding(exported):
    assert len(exported) > 17
    assert [grave for found in exported for grave in found.grave] == []


def test_the_checker_really_looks(exported, browser_context_page):
    assert all(found.rules_passed > 5 for found in exported)
    page = browser_context_page.context.new_page()
    page.set_content('<html><body><img src="data:,"><p style="color:#ccc">pale</p></body></html>')
    rules = {finding["id"] for finding in look_at(page, "a bad page").findings}
    page.close()
    assert {"image-alt", "color-contrast"} <= rules


def test_no_panel_in_the_workbook_has_a_grave_finding(panels):
    found = look_at(panels, "panels", within=".machinelab-panel")
    assert found.grave == []
    assert found.rules_passed > 10


def test_a_slider_tells_its_row_and_its_value_in_words(panels):
    slider = panels.get_by_role("slider", name="Thread to cut (lead)")
    assert slider.get_attribute("aria-valuetext") == "1 mm · 25.4 tpi"
    slider.focus()
    panels.keyboard.press("ArrowRight")
    panels.locator("[role=slider][aria-valuetext='1.0583 mm · 24 tpi']").wait_for()


def test_every_control_is_reached_by_the_tab_key(panels):
    names = panels.evaluate(NUMBER_THEM)
    assert len(names) > 60
    panels.locator("[data-place='0']").focus()
    reached = {"0"}
    for _ in range(2 * len(names)):
        panels.keyboard.press("Tab")
        reached.add(panels.evaluate(WHERE))
    assert [name for place, name in enumerate(names) if str(place) not in reached] == []


@pytest.mark.parametrize("key", ["Enter", "Space"])
def test_a_button_is_pressed_by_keys_alone(panels, key):
    box = panels.get_by_label("Thread to cut (lead)", exact=True).first
    box.fill("26 tpi")
    box.press("Enter")
    panels.locator("img[alt*='26 tpi']").first.wait_for()
    box.press("Tab")
    panels.keyboard.press("Tab")
    panels.locator("button:focus", has_text="as built").wait_for()
    panels.keyboard.press(key)
    panels.locator("img[alt*='1 mm · 25.4 tpi']").first.wait_for()


def test_a_list_is_chosen_from_by_keys_alone(panels):
    listed = panels.get_by_label("Brake", exact=True).first
    options = [
        said.replace("\N{NO-BREAK SPACE}", " ") for said in listed.locator("option").all_text_contents()
    ]
    listed.focus()
    for _ in options:
        panels.keyboard.press("ArrowUp")
    for option in options[1:]:
        panels.keyboard.press("ArrowDown")
        assert listed.input_value() == option


def test_every_kind_of_page_is_among_those_that_are_checked():
    names = {name.split()[0] for name, _ in exported_pages()}
    assert names == {"forum", "commissioning", "threading", "notebook"}
