"""Every box of every page, found by walking through what the live cells show on the demo machine.

A box that takes a number refuses the same rubbish everywhere, beside the box and in words. A box is one for
words only where its label stands on the short list here; a new box that is on no list must refuse.
"""

import re
from functools import cache
from html import escape

import pytest
from ipywidgets import HTML, Button, Dropdown, FileUpload, IntSlider, Text, Textarea
from notebooks.live_cells import NOTEBOOKS, shown_by, walk
from rubbish import RUBBISH

from machinelab.workbook.machine import fields
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity

# Each page works a whole machine out when it is opened.
pytestmark = pytest.mark.slow

# What is typed in words and never read as a number.
WORDS = {
    *("Notes", "Your initials", "Why", "Name of a new machine", "What to call it here"),
    "Look for a word or a sign",
    *(line.label for line in fields() if line.field is None and not line.choices),
}
LONGEST_ANSWER = 700
# A page's own pictures are drawn from results; they stand in their cells and not in a panel.
NOT_TYPED_INTO = (".share_box",)


@cache
def shown(notebook):
    return [one for one in shown_by(notebook) if not one.cell.endswith(NOT_TYPED_INTO)]


@pytest.fixture(scope="module", autouse=True)
def _demo_machine():
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MACHINELAB_MACHINE", "demo")
        yield


@pytest.fixture(params=NOTEBOOKS)
def notebook(request):
    return request.param


def boxes_for(notebook, kind):
    return [(one, box) for one in shown(notebook) for box in one.widgets if type(box) is kind]


def is_for_words(box):
    """Whether a box takes words; beside every target of the machine form stands one for its reason."""
    return box.description in WORDS or box.description.startswith("Why: ")


def told(row):
    """All that a row says in words."""
    return "".join(part.value for part in walk(row) if type(part) is HTML)


def test_every_box_for_a_number_refuses_rubbish_beside_itself(notebook):
    for one, box in boxes_for(notebook, Text):
        if is_for_words(box):
            continue
        row, before = one.row_of(box), box.value
        for name, rubbish in RUBBISH.items():
            box.value = rubbish
            said = told(row)
            assert 'role="alert"' in said, f"{one.cell}, {box.description}: {name} was taken"
            assert escape(box.description) in said
            assert not re.search(r"<(?!/?(?:div|b|span)\b)", said), f"{name} is shown unescaped"
            assert len(said) < 2 * LONGEST_ANSWER
        box.value = before
        assert 'role="alert"' not in told(row)


def test_every_box_for_a_length_takes_a_mixed_fraction_of_an_inch(notebook):
    for one, box in boxes_for(notebook, Text):
        if not re.fullmatch(r"for instance [\d.]+ mm", box.placeholder):
            continue
        before = box.value
        box.value = "1-1/4 in"
        said = told(one.row_of(box))
        assert re.search("31.75 mm|1-1/4 in is too (large|small)", said), f"{one.cell}, {box.description}"
        box.value = before


def test_every_box_for_words_takes_any_words_and_ends_in_no_error_of_python(notebook):
    for _, box in boxes_for(notebook, Text):
        if is_for_words(box):
            before = box.value
            for rubbish in RUBBISH.values():
                box.value = rubbish
            box.value = before


def test_every_box_for_a_table_refuses_rubbish_and_keeps_the_last_good_readings(notebook):
    for one, box in boxes_for(notebook, Textarea):
        row = one.row_of(box)
        before = box.value
        for name, rubbish in RUBBISH.items():
            box.value = rubbish
            assert 'role="alert"' in told(row), f"{one.cell}, {box.description}: {name} was taken"
        box.value = before


def test_rubbish_in_a_live_panel_leaves_the_last_good_picture(notebook):
    for one in shown(notebook):
        if not isinstance(one.piece, LivePanel):
            continue
        panel = one.piece
        seen, values = (panel.picture.value, panel.meaning.value), panel.values
        for control in panel.controls.values():
            if not isinstance(control, Quantity):
                continue
            for rubbish in ("", *RUBBISH.values()):
                control.box.value = rubbish
                assert "Please look" in control.notice.value
                assert (panel.picture.value, panel.meaning.value) == seen
                assert panel.values == values
            control.type_in(control.shown(control.value))
            assert "Please look" not in control.notice.value


def named_by_its_row(one, slider):
    """A slider is given the name of the box beside it by the page, in rows that are marked for that."""
    rows = [box for box in one.widgets if "machinelab-row" in box._dom_classes and slider in walk(box)]
    return rows and any(getattr(part, "description", "") for part in walk(rows[0]))


def test_every_control_has_a_name_in_words(notebook):
    for kind in (Text, Textarea, Dropdown, Button, FileUpload, IntSlider):
        for one, control in boxes_for(notebook, kind):
            assert control.description or named_by_its_row(one, control), f"{one.cell}: a {kind.__name__}"


def test_every_picture_has_words_that_stand_for_it(notebook):
    for one, page in boxes_for(notebook, HTML):
        for picture in re.findall(r"<img [^>]*>", page.value):
            words = re.search(r'alt="([^"]*)"', picture)
            assert words, one.cell
            assert re.search(r"\d", words[1]), f"{one.cell}: the words name no value: {words[1]}"
