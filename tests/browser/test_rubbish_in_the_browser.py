"""Rubbish typed into the real forms of a real JupyterLab: answered beside the box, and nothing else moves."""

import pytest
from rubbish import RUBBISH

pytestmark = [pytest.mark.browser, pytest.mark.slow]

FORM = """
from machinelab.workbook.pages.machine_as_built import MachineAsBuiltPage
page = MachineAsBuiltPage.open()
form = page.form
form.open("lathe")
form
"""
SHEET = "page.sheet"
PANEL = """
from machinelab.workbook.pages.gearing import GearingPage
GearingPage.open().panel()
"""
TABLE = """
from machinelab.workbook.pages.coast_down import CoastDownPage
CoastDownPage.open().entry
"""
# One box of the machine form, one of a sheet for readings, one beside a slider.
BOXES = ("Swing over the bed", "Travel of the carriage", "Thread to cut (lead)")
GOOD_LOG = "\n".join(f"{second} {1000 - 40 * second}" for second in range(12))
# Typed by keys one after the other it would take a minute; a person pastes it.
LONG = 200


@pytest.fixture(scope="module")
def forms(visit):
    return visit(FORM, SHEET, PANEL, TABLE).page


def box_of(forms, name):
    return forms.get_by_label(name, exact=True).first


def row_of(box):
    """The row that a box stands in, with its answer."""
    return box.locator("xpath=ancestor::div[contains(@class, 'widget-vbox')][1]")


def put_in(forms, box, text):
    """Type as a person does; what is long is pasted."""
    box.fill("")
    if len(text) > LONG:
        box.fill(text)
    else:
        box.focus()
        forms.keyboard.insert_text(text)
    box.press("Enter")


@pytest.mark.parametrize("name", BOXES)
def test_a_box_answers_rubbish_beside_itself_and_the_last_good_picture_stays(forms, name):
    box = box_of(forms, name)
    row, good = row_of(box), box.input_value()
    pictures = forms.locator(".machinelab-panel img").evaluate_all("all => all.map(one => one.src)")
    for kind, text in RUBBISH.items():
        put_in(forms, box, text)
        row.get_by_role("alert").filter(has_text=name).wait_for()
        put_in(forms, box, good)
        row.get_by_role("alert").wait_for(state="detached")
        assert box.input_value() == good, kind
    assert forms.locator(".machinelab-panel img").evaluate_all("all => all.map(one => one.src)") == pictures
    assert forms.get_by_text("Traceback").count() == 0


def test_a_box_takes_an_inch_with_its_fraction_and_shows_both_units(forms):
    box = box_of(forms, "Swing over the bed")
    good = box.input_value()
    put_in(forms, box, "12-1/4 in")
    row_of(box).get_by_text("311.15 mm").wait_for()
    put_in(forms, box, good)


def test_a_table_answers_rubbish_and_keeps_the_last_good_readings(forms):
    box = forms.get_by_role("textbox", name="Times and speeds").first
    row = row_of(box)
    for text in (
        "abc",
        "nan inf",
        "9**9**9 1",
        "<img src=x onerror=alert(1)>",
        "1'; DROP TABLE readings; --",
    ):
        box.fill(text)
        forms.keyboard.press("Tab")
        row.get_by_role("alert").wait_for()
        box.fill("")
        box.fill(GOOD_LOG)
        forms.keyboard.press("Tab")
        row.get_by_role("alert").wait_for(state="detached")
    assert forms.locator("img[src='x']").count() == 0
