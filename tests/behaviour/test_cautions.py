"""The cautions stand where the danger is, in words, with what they rest on."""

import html
import math
import re
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pytest

from machinelab.errors import RangeError
from machinelab.workbook.cautions import (
    ALWAYS,
    LAST_WORD,
    POP_OUT,
    SHEET,
    SHOWN,
    STEPS,
    TRACE,
    all_cautions,
    cautions,
    show_cautions,
)
from machinelab.workbook.machine import load
from machinelab.workbook.pages.record import RecordPage
from machinelab.workbook.report import page as report_page


def numbers(step):
    return {one.number for one in cautions(step)}


def test_there_are_25_and_each_is_shown_somewhere():
    assert [one.number for one in all_cautions()] == list(range(1, 26))
    for one in all_cautions():
        assert one.steps
        assert set(one.steps) <= set(STEPS)
        assert one.shown
        assert set(one.shown) <= set(SHOWN)


def test_each_says_what_it_rests_on_and_claims_no_standard_that_was_not_read():
    for one in all_cautions():
        assert re.search(
            r"excerpt read on a third-party page|no source|[Dd]erived here|computed here|Fact of", one.basis
        )
        assert not re.search(r"\bsafe\b", one.words, re.IGNORECASE)


RUNNING = ["03", "04", "05", "06", "09", "10", "12", "13", "14", "15"]


@pytest.mark.parametrize("step", RUNNING)
def test_wherever_the_spindle_turns_clothes_key_hand_and_stop_button_are_named(step):
    assert {1, 2, 11, 14} <= numbers(step)


@pytest.mark.parametrize("step", ["02", "03", "04", "06"])
def test_wherever_wires_are_touched_mains_capacitors_and_isolation_are_named(step):
    assert {4, 5, 11, 12, 25} <= numbers(step)


@pytest.mark.parametrize(
    ("step", "wanted"),
    [
        ("02", {3, 6, 13, 15, 17, 19, 23}),
        ("05", {8, 15, 20, 21}),
        ("06", {3, 6, 8, 17, 20, 22}),
        ("07", {12}),
        ("10", {3, 7, 9, 16, 17, 24}),
        ("14", {7, 9, 10, 24}),
        ("16", {2, 5, 11, 13, 16, 21, 23}),
    ],
)
def test_each_danger_stands_at_its_own_step(step, wanted):
    assert wanted <= numbers(step)


@pytest.mark.parametrize("step", STEPS)
def test_every_step_has_a_caution_and_the_last_word(step):
    shown = show_cautions(step)
    for text in (str(shown), shown._repr_markdown_(), shown._repr_html_()):
        assert LAST_WORD in text
        assert "CAUTION" in text
    assert len(shown) > 0


def test_the_page_says_the_same_words_as_the_text_black_on_white():
    class Words(HTMLParser):
        found = ""

        def handle_data(self, data):
            self.found += data

    shown = show_cautions("06")
    page = Words()
    page.feed(shown._repr_html_())
    for one in shown:
        assert one.words in page.found
        assert one.basis in page.found
    assert re.findall(r"color:(#\w+)", shown._repr_html_()) == ["#000"]


def test_what_pops_out_comes_first():
    ways = ["pop-out" in one.shown for one in show_cautions("06")._most_pressing_first()]
    assert ways == sorted(ways, reverse=True)


def test_the_critical_speed_named_for_a_bar_is_that_of_a_cantilever():
    # First bending frequency of a cantilever: beta L = 1.875104 (Thomson, Theory of Vibration; from memory).
    # Steel 206 GPa and 7850 kg/m3.
    diameter_m, out_m = 0.012, 0.6
    hertz = 1.875104**2 / (2 * math.pi) * math.sqrt(206e9 / 7850) * diameter_m / 4 / out_m**2
    words = all_cautions()[8].words
    assert f"{round(60 * hertz, -1):.0f} rpm" in words
    assert "12 mm" in words
    assert "0.6 m" in words


@pytest.mark.parametrize("step", ["17", "5", "", 40, "coast"])
def test_a_step_that_is_not_there_is_said(step):
    with pytest.raises(RangeError, match="00 to 16"):
        cautions(step)


def test_a_step_may_be_given_as_a_number():
    assert cautions(5) == cautions("05")
    assert show_cautions(5).step == "05"


NOTEBOOKS = sorted((Path(__file__).resolve().parents[2] / "notebooks").glob("[0-9][0-9]_*.ipynb"))


def stored(path, cell_id=None):
    """What a reader without a kernel sees of a notebook, or of one of its cells."""
    cells = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    return " ".join(
        str(output.get("data", {}).get("text/markdown", ""))
        for cell in cells
        if cell_id in (None, cell.id)
        for output in cell.outputs
    )


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_each_notebook_shows_its_cautions_at_its_head(path):
    """A page shows those of its step; a caution for the trace or the sheet alone stands there as well."""
    shown = stored(path)
    for one in cautions(path.stem[:2]):
        if {POP_OUT, ALWAYS} & set(one.shown):
            assert one.words in shown, one.number
    text = path.read_text(encoding="utf-8")
    if "## Measure" in text:
        assert text.index("What can hurt at this step") < text.index("## Measure")


def test_the_cautions_of_the_trace_stand_beside_the_ways_of_the_control_box():
    path = next(path for path in NOTEBOOKS if path.stem.startswith("02"))
    shown = stored(path, "trace-cautions")
    wanted = [one for one in cautions("02") if TRACE in one.shown]
    assert wanted
    for one in wanted:
        assert one.words in shown, one.number


def test_the_cautions_of_the_sheet_are_printed_on_the_report():
    printed = report_page.page(RecordPage(load(NOTEBOOKS[0].parent / "machines" / "demo")).report())
    for one in all_cautions():
        if SHEET in one.shown:
            assert html.escape(one.words) in printed, one.number
