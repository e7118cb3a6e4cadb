"""The inspection sheet and its page: whole, honest about its sources, and no older than the tests."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from inspection import page, sheet
from inspection.check import EXACT, Comparison, printed_step
from inspection.source import KINDS, LIBRARY, SEEN, Source, by_hand

HERE = Path(__file__).parent
ROWS = sheet.read()
FEWEST_ROWS, FEWEST_BY_OTHERS = 250, 60
# These read data files or this sheet; they compare nothing with a source.
WITHOUT_FIGURES = {"test_every_check_has_a_test", Path(__file__).stem}


def test_there_are_enough_rows_in_every_room():
    shown = [row for row, _ in page.gathered(ROWS)]
    assert len(shown) >= FEWEST_ROWS
    assert sum(map(page.by_others, shown)) >= FEWEST_BY_OTHERS
    assert {row.room for row in ROWS} == set(sheet.ROOMS)
    # A room that leans on our own algebra alone is not checked from outside.
    assert all(any(page.by_others(row) for row in ROWS if row.room == room) for room in sheet.ROOMS)


def test_every_module_of_outside_checks_is_on_the_sheet():
    modules = {file.stem for file in HERE.glob("test_*.py")}
    assert modules - {row.module for row in ROWS} == WITHOUT_FIGURES


def test_every_row_names_its_source_by_the_fixed_words():
    for row in ROWS:
        assert row.what.strip(), row
        assert row.source.strip(), row
        assert row.kind in KINDS, row
        assert row.seen in SEEN, row
        if row.kind == LIBRARY:
            assert re.match(r"\w+ \d+\.\d+: ", row.source), row


def test_a_tolerance_wider_than_the_printed_digits_has_its_reason():
    for row in ROWS:
        if row.tolerance != EXACT and float(row.tolerance) > printed_step(row.published):
            assert row.reason.strip(), row


def test_every_row_has_passed():
    assert [row for row in ROWS if row.passed != "yes"] == []


def test_no_row_is_left_of_a_test_that_is_gone(request):
    """Held against the tests that this run has collected, whichever they are."""
    collected = {
        f"{item.path.stem}::{item.name}" for item in request.session.items if item.path.parent == HERE
    }
    functions = {name.partition("[")[0] for name in collected}
    left = {row.test for row in ROWS if row.test.partition("[")[0] in functions} - collected
    assert left == set()
    defined = {
        f"{file.stem}::{name}"
        for file in HERE.glob("test_*.py")
        for name in re.findall(r"^def (test_\w+)", file.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert {row.test.partition("[")[0] for row in ROWS} <= defined


def test_the_page_is_the_sheet_as_it_stands():
    assert sheet.PAGE.read_text(encoding="utf-8") == page.html(ROWS), f"run `{sheet.REMAKE}`"


def test_the_page_asks_nothing_of_a_network():
    text = sheet.PAGE.read_text(encoding="utf-8")
    assert re.findall(r"(?:src|href)=\"(?!checks\.csv\"|#)[^\"]*\"", text) == []
    assert "http" not in text


def test_a_comparison_that_does_not_hold_fails_its_test_and_is_written_so():
    compare = Comparison("units", "nowhere")
    with pytest.raises(AssertionError, match=r"25\.5 and not"):
        compare("an inch", 25.5, 25.4, by_hand("on purpose"), abs=0.05)
    assert [row.passed for row in compare.rows] == ["no"]


def test_the_worst_of_many_is_written_and_held():
    compare = Comparison("units", "nowhere")
    compare.worst("three", [1.0, 2.04, 3.0], [1.0, 2.0, 3.02], by_hand("on purpose"), abs=0.05)
    assert (compare.rows[0].published, compare.rows[0].values) == ("2", 3)
    with pytest.raises(AssertionError):
        compare.worst("three", [1.0, 2.06, 3.0], [1.0, 2.0, 3.0], by_hand("on purpose"), abs=0.05)


def test_a_row_that_changed_is_noticed_and_one_that_only_wobbles_is_not():
    compare = Comparison("units", "nowhere")
    for ours in (25.4, 25.4 + 1e-12, 25.42):
        compare("an inch", ours, 25.4, by_hand("on purpose"), abs=0.05)
    kept, wobbled, moved = compare.rows
    assert wobbled.same_as(kept)
    assert not moved.same_as(kept)


@pytest.mark.parametrize(("figure", "step"), [("25.4", 0.1), ("2840", 1), ("1.5e-05", 1e-6), ("M10", 0)])
def test_the_last_printed_digit_is_found(figure, step):
    assert printed_step(figure) == pytest.approx(step, rel=1e-5)


def test_a_source_outside_the_fixed_words_is_refused():
    with pytest.raises(ValueError, match="not a source"):
        Source("hearsay", "somebody said so", "read")


def test_a_test_whose_rows_are_not_on_the_sheet_is_told():
    compare = Comparison("units", "nowhere")
    compare("an inch", 25.4, 25.4, by_hand("on purpose"))
    assert sheet.departures("nowhere", compare.rows) == ["1 rows in this run, 0 on the sheet"]
    kept = next(row for row in ROWS if row.test.startswith("test_exact_units"))
    (told,) = sheet.departures(kept.test, [replace(kept, published="17 parsecs")])
    assert told == f"{kept.what}: published '17 parsecs' in this run, {kept.published!r} on the sheet"
