"""Page 02's readings and questions: a guard band around every limit, and not known counts as no."""

from pathlib import Path

import pytest

from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.electrical_readings import NOT_READ, ElectricalPage

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"


@pytest.fixture
def page():
    return ElectricalPage(load(DEMO))


def fill(sheet, value, doubt):
    sheet.rows["value"].type_in(value)
    sheet.rows["doubt"].type_in(doubt)
    return sheet.result.word


@pytest.mark.parametrize(
    ("name", "value", "doubt", "word"),
    [
        ("bond", "0.085 ohm", "0.010 ohm", "MET"),
        ("bond", "0.095 ohm", "0.010 ohm", "NOT PROVEN"),
        ("bond", "0.115 ohm", "0.010 ohm", "NOT MET"),
        ("bond", "0.00 ohm", "0.2 ohm", "NOT PROVEN"),
        ("insulation", "50 Mohm", "3 Mohm", "MET"),
        ("insulation", "0.1 Mohm", "0.05 Mohm", "NOT MET"),
        ("left", "52 V", "1 V", "MET"),
        ("left", "59.5 V", "1 V", "NOT PROVEN"),
    ],
)
def test_a_reading_is_judged_with_its_whole_uncertainty_inside_the_limit(page, name, value, doubt, word):
    """The four bond cases are those of the verdict rule; the others follow from the limits' own sources."""
    assert fill(page.sheets[name], value, doubt) == word
    assert word in page.read.to_string(max_colwidth=None)


def test_without_a_reading_there_is_no_table_and_a_bare_number_is_asked_for_its_unit(page):
    assert page.read is NOT_READ
    page.bond.rows["value"].type_in("0.05")
    assert page.bond.result is None
    assert "no unit" in page.bond.rows["value"].notice.value


def test_not_known_counts_as_no_until_it_is_answered(page):
    assert "as live" in page.still_open.text
    page.answers["isolation"]["i1"].choose("yes")
    assert "as live" not in page.still_open.text
    assert "open points i2, i3" in page.still_open.text
    page.answers["isolation"]["i1"].choose("no")
    assert "as live" in page.still_open.text


def test_every_answer_changes_what_is_open(page):
    for check_list in page.answers:
        sheet = page.questions(check_list)
        for choice in page.answers[check_list].values():
            before = page.still_open.text
            choice.choose("yes")
            assert page.still_open.text != before
        assert sheet.told.value.count("0 of") == 1
    assert page.still_open.text.count("open points none") == 3


def test_it_works_without_a_machine():
    assert "as live" in ElectricalPage(empty()).still_open.text
