"""Page 02: the demo's box with its breaches, the tests at the box, and kind words without a description."""

from pathlib import Path

import pytest

from machinelab.controls.search import Search
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.figures.ladder import Ladder
from machinelab.workbook.known_boxes import STRAIGHT_ON
from machinelab.workbook.machine import empty, load
from machinelab.workbook.pages.control_box import NO_BOX, NO_BOX_YET, ControlBoxPage
from machinelab.workbook.panel_bench import AS_IT_SHOULD, NOT_AS_IT_SHOULD, verdict_word
from machinelab.workbook.panel_file import parse_panel
from machinelab.workbook.panels.ladder import view_rest, view_way
from machinelab.workbook.panels.ways import fault_task

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
# What stands in it on purpose: a slow relay, a feed past the latch, a selector that does too much.
PLANTED = {"R2t", "R2c", "R9", "R4", "R7", "R5", "R5b", "R2b", "R6", "R11"}


@pytest.fixture(scope="module")
def page():
    return ControlBoxPage(load(DEMO))


@pytest.fixture
def own(tmp_path):
    """A box of one's own, a copy of the demo's that can be changed."""
    for name in ("machine.toml", "panel.toml"):
        (tmp_path / name).write_text((DEMO / name).read_text())
    return tmp_path


def changed(folder, old, new):
    text = (folder / "panel.toml").read_text()
    assert old in text
    (folder / "panel.toml").write_text(text.replace(old, new))
    return ControlBoxPage(load(folder))


def test_the_demos_box_breaks_what_was_planted_in_it_and_nothing_else(page):
    assert set(page.found.breaches) == PLANTED
    assert isinstance(page.ladder, Picture)
    assert "**10 rules are broken**" in page.summary.text
    assert page.verdicts.loc["R1", "found"] == "no breach found"
    assert page.verdicts.loc["R5c", "found"].startswith("not asked: no [sensor.rpm]")


def test_every_word_of_the_page_is_free_of_a_verdict_that_it_cannot_give(page):
    words = " ".join([page.summary.text, page.share_text.text, page.decision.text, page.verdicts.to_string()])
    assert "safe" not in words.lower()
    assert "It certifies nothing" in page.summary.text


def test_a_zener_at_the_slow_relay_cures_the_late_stop(own):
    page = changed(own, "dropout_ms = [100, 200]", "dropout_ms = [10, 20]")
    assert set(page.found.breaches) == PLANTED - {"R2t"}


def test_the_feed_taken_over_the_latch_is_only_half_a_cure(own):
    """With the button held while power returns the latch falls in, and the feed that stands at on starts."""
    page = changed(own, 'on = "PLUG and KEY and FEED"', 'on = "KL_a and FEED"')
    assert not {"R2c", "R9"} & set(page.found.breaches)
    assert {"R3", "R4", "R8"} <= set(page.found.breaches)
    changed(own, "[relay.KL]", 'F_0 = {of = "feed", closed = ["off"]}\n[relay.KL]')
    cured = changed(own, "(GREEN and D_0)", "(GREEN and D_0 and F_0)")
    assert set(cured.found.breaches) == PLANTED - {"R2c", "R9", "R4"}


def test_each_way_can_be_chosen_and_is_told_in_full(page):
    ways = page.ways
    shown = set()
    for name in ways.told:
        ways.choice.choose(name)
        assert name.split(":")[0] in ways.text.value
        shown.add(ways.text.value)
    assert len(shown) == len(PLANTED)


def test_the_ladder_shows_every_contact_and_what_is_fed_at_each_step(page):
    panel = page.ladder_panel
    pictures, words = set(), set()
    for name in panel.controls["broken"].options:
        panel.controls["broken"].choose(name)
        for step in (0, panel.controls["step"].slider.max):
            panel.controls["step"].slider.value = step
            pictures.add(panel.picture.value)
            words.add(panel.meaning.value)
    assert len(pictures) > len(PLANTED)
    assert sum("step 0" in one for one in words) == len(PLANTED)
    names = {cell.name for cell in panel.chart.cells}
    assert names == frozenset().union(*(rung.names for rung in page.box.rungs))


def test_a_closed_contact_lies_in_its_line_and_an_open_one_is_lifted(page):
    broken = page.found.broken["R2t"]
    view = view_way(page.search, broken, 99)
    chart = Ladder(page.box)
    chart.update(view)
    assert {fed.name for fed in view.rungs if fed.active} == {"KB", "drive", "lathe fwd"}
    for cell, blade in zip(chart.cells, chart.blades.get_segments(), strict=True):
        assert (blade[0][1] == blade[1][1]) == (cell.name in view.closed)


def test_not_is_drawn_at_the_contacts_and_means_the_same():
    box = parse_panel(STRAIGHT_ON.replace('"S1 and D"', '"not (not S1 or not D)"'))
    search = Search(box).from_rest()
    chart = Ladder(box)
    chart.update(view_rest(search))
    assert [cell.inverted for cell in chart.cells][:2] == [False, False]
    assert "Everything at rest" in chart.alt


def test_the_record_says_what_was_checked_and_is_not_met_while_a_hazard_stands(page):
    line = page.record_line()
    assert line["verdict"] == "NOT MET"
    assert line["conditions"]["broken"].split(", ") == list(page.found.breaches)
    assert "21 264 states" in line["conditions"]["looked at"]


@pytest.mark.parametrize(
    ("answers", "hazards", "finished", "word"),
    [
        ([AS_IT_SHOULD] * 3, 0, True, "MET"),
        ([AS_IT_SHOULD] * 3, 0, False, "NOT PROVEN"),
        ([AS_IT_SHOULD, NOT_AS_IT_SHOULD], 0, True, "NOT MET"),
        ([AS_IT_SHOULD] * 3, 1, True, "NOT MET"),
        ([AS_IT_SHOULD, "not done"], 0, True, "NOT DONE"),
        ([], 0, True, "NOT DONE"),
    ],
)
def test_the_word_takes_desk_check_and_bench_tests_together(answers, hazards, finished, word):
    assert verdict_word(answers, hazards, finished) == word


def test_an_answer_is_kept_for_the_next_time_and_counted(own):
    page = ControlBoxPage(load(own))
    sheet = page.sheet
    page.answers["RED of red knob"].choose(AS_IT_SHOULD)
    assert "1 of 6 tests done" in sheet.told.value
    assert ControlBoxPage(load(own)).answers["RED of red knob"].value == AS_IT_SHOULD


def test_single_faults_are_tried_with_a_bar_and_land_in_the_table(page):
    task = fault_task(page.box, page.take_faults, workers=1)
    task.run_to_end()
    assert task.bar.value == 1
    assert "R1" in page.faults_told.loc["KB_d welded", "lost with it"]
    assert "R2" in page.faults_told.loc["RED welded", "lost with it"]
    assert "BROKEN" in page.faults_judged.text


def test_the_way_of_a_fault_names_the_moment_at_which_it_begins(page):
    fault_task(page.box, page.take_faults, workers=1).run_to_end()
    ways = page.fault_ways
    ways.choice.choose("RED welded: R2")
    assert "(fault: RED welded)" in ways.text.value
    assert "red knob out -&gt; in" in ways.text.value


def test_what_faults_do_is_kept_for_exactly_the_description_that_was_searched(own):
    page = ControlBoxPage(load(own))
    fault_task(page.box, page.take_faults, workers=1).run_to_end()
    again = ControlBoxPage(load(own))
    assert [(one.fault, one.lost) for one in again.faults] == [(one.fault, one.lost) for one in page.faults]
    (kept,) = (own / "out").iterdir()
    kept.write_text(kept.read_text()[:300])
    assert ControlBoxPage(load(own)).faults == ()
    assert changed(own, "pickup_ms = [10, 20]", "pickup_ms = [10, 25]").faults == ()


def test_a_machine_without_a_description_says_so_everywhere():
    page = ControlBoxPage(empty())
    assert page.wired is NO_BOX
    for part in (
        "verdicts",
        "summary",
        "first_way",
        "ways",
        "at_rest",
        "fault_search",
        "faults_told",
    ):
        assert getattr(page, part) is NO_BOX_YET, part
    assert page.ladder is page.ladder_panel is NO_BOX_YET
    assert page.sheet is page.judged is page.decision is page.faults_judged is NO_BOX_YET
    assert page.compared(3.0) is NO_BOX_YET
    assert page.record_line() is None
    assert page.post() is None


def test_a_description_with_mistakes_is_told_with_its_lines(own):
    page = changed(own, 'coil = "KL_a and (D_F or D_R)"', 'coil = "KL_a & (D_F or D_B)"')
    text = page._repr_markdown_()
    number = (own / "panel.toml").read_text().split("\n").index('coil = "KL_a & (D_F or D_B)"') + 1
    assert f"line {number}, relay.KB.coil" in text
    assert "Write the word" in text
    assert page.verdicts is NO_BOX_YET


@pytest.mark.parametrize("text", ["[switch", "a = 1\na = 2", "[" * 5_000, "x = " + "9" * 5_000, "\x00"])
def test_a_file_that_is_no_description_ends_in_words(text):
    from machinelab.errors import PanelError

    with pytest.raises(PanelError):
        parse_panel(text)
