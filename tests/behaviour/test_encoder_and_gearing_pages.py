"""Pages 04 and 07: what they say of the demo, of a quite different machine, and of one not known at all."""

import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import load
from machinelab.workbook.machine.file import parse
from machinelab.workbook.pages.encoder import EncoderPage
from machinelab.workbook.pages.gearing import GearingPage
from machinelab.workbook.pages.gearing_results import ThreadRatio, lead_trial
from machinelab.workbook.pages.page import WAITING

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": HOUSE / "notebooks/machines/demo",
    "metric": HOUSE / "tests/machines/metric",
    "empty": HOUSE / "tests/machines/empty",
}
GEARING_CELLS = (
    "working",
    "table",
    "picture",
    "choice",
    "what_if",
    "panel",
    "mind",
    "measured",
    "verdict",
    "agreement",
    "compared",
    "decision",
)
ENCODER_CELLS = (
    "counts",
    "rate",
    "choice",
    "picture",
    "panel",
    "limits_table",
    "index",
    "drive",
    "tested",
    "verdict",
    "compared",
    "decision",
)
TURNS = {"turns": "100 turns", "forward": "270000", "back": "0", "radius_mm": "60 mm", "doubt_mm": "0.02 mm"}
TRAVEL = {"turns": "100 turns", "travel_mm": "100.003 mm", "doubt_mm": "0.008 mm"}


def own_copy(name, tmp_path):
    folder = tmp_path / name
    shutil.copytree(MACHINES[name], folder)
    (folder / "readings.toml").unlink(missing_ok=True)
    return load(folder)


@pytest.fixture
def gearing(tmp_path):
    return GearingPage(own_copy("demo", tmp_path))


@pytest.fixture
def encoder(tmp_path):
    return EncoderPage(own_copy("demo", tmp_path))


def fill(page, readings):
    for name, text in readings.items():
        page.sheet.rows[name].type_in(text)


@pytest.mark.parametrize("name", ["demo", "metric"])
def test_every_cell_of_page_07_has_an_answer(name, tmp_path):
    page = GearingPage(own_copy(name, tmp_path))
    for cell in GEARING_CELLS:
        assert getattr(page, cell)() is not WAITING, cell
    assert isinstance(page.picture(), Picture)


@pytest.mark.parametrize("name", ["demo", "metric"])
def test_every_cell_of_page_04_has_an_answer(name, tmp_path):
    page = EncoderPage(own_copy(name, tmp_path))
    for cell in ENCODER_CELLS:
        assert getattr(page, cell)() is not WAITING, cell
    assert isinstance(page.picture(), Picture)


@pytest.mark.parametrize(("kind", "cells"), [(GearingPage, GEARING_CELLS), (EncoderPage, ENCODER_CELLS)])
def test_with_an_empty_machine_every_cell_waits_and_the_head_says_for_what(kind, cells, tmp_path):
    page = kind(own_copy("empty", tmp_path))
    assert {getattr(page, cell)() for cell in cells} == {WAITING}
    assert page.sheet is None
    assert page.record_line() is None
    assert page.post() is None
    assert "does not say yet" in page._repr_markdown_()


def test_the_demos_threads_are_all_exact_within_its_controller(gearing):
    assert [thread.error_ppm for thread in gearing.ratios.threads] == [0, 0, 0, 0]
    assert gearing.ratios.headline == "Every thread on the list gets its exact ratio."


def test_ratios_are_those_of_the_train_of_gears_that_would_cut_the_same_thread(gearing):
    machine = gearing.machine
    for thread in gearing.ratios.threads:
        screw_turns = thread.wanted * machine.counts_per_spindle_turn / machine.steps_per_screw_turn
        assert screw_turns * machine.leadscrew.lead_mm == thread.lead_mm


def small_controller(tmp_path, largest):
    text = (MACHINES["demo"] / "machine.toml").read_text()
    return GearingPage(parse(text.replace("9999", str(largest))))


def test_a_small_controller_makes_a_metric_thread_inexact_and_the_page_says_what_it_takes(tmp_path):
    page = small_controller(tmp_path, 100)
    off = {thread.name for thread in page.ratios.visible}
    assert off == {"26 tpi cycle", "M10x1", "Tr14x3"}
    assert "hold numbers up to" in page.decision().text
    wanted = page._largest_number_wanted()
    assert not small_controller(tmp_path, wanted).ratios.visible
    assert small_controller(tmp_path, wanted // 2).ratios.visible


def test_an_unknown_screw_is_said_to_be_unknown():
    text = (MACHINES["demo"] / "machine.toml").read_text().replace("9999", "100")
    page = GearingPage(parse(text.replace('lead_error = "0.04 mm in 300 mm"', "", 1)))
    assert "unknown" in page.ratios.headline
    page.sheet.rows["thread"].choose("M10x1")
    fill(page, TRAVEL)
    assert "not in the machine file" in page.agreement().text
    assert "not known" in page.compared().to_string()


def test_a_trial_gives_error_and_uncertainty_in_millionths():
    thread = ThreadRatio("M10x1", Fraction(1), Fraction(1, 2), Fraction(1, 2), 0.0)
    trial = lead_trial(
        thread=thread, turns=Fraction(100), travel_mm=Fraction("100.003"), doubt_mm=Fraction("0.008")
    )
    assert trial.error_ppm == pytest.approx(30)
    assert trial.uncertainty_ppm == pytest.approx(80)


def test_a_filled_sheet_brings_verdict_agreement_and_a_line_for_the_record(gearing):
    assert gearing.record_line() is None
    gearing.sheet.rows["thread"].choose("M10x1")
    fill(gearing, TRAVEL)
    assert gearing.verdict().word == "MET"
    assert "agrees" in gearing.agreement().text
    assert gearing.record_line()["uncertainty"] == pytest.approx(80)
    assert "30 ppm" in gearing.post().text()


@pytest.mark.parametrize(
    ("name", "text"), [("travel_mm", "100.020 mm"), ("turns", "99 turns"), ("doubt_mm", "0.02 mm")]
)
def test_each_reading_of_the_trial_changes_what_is_said(gearing, name, text):
    gearing.sheet.rows["thread"].choose("M10x1")
    fill(gearing, TRAVEL)
    before = gearing.sheet.told.value
    gearing.sheet.rows[name].type_in(text)
    assert gearing.sheet.told.value != before


def test_a_travel_that_belongs_to_another_thread_is_asked_about(gearing):
    gearing.sheet.rows["thread"].choose("Tr14x3")
    fill(gearing, TRAVEL)
    assert gearing.trial is None
    assert "Is another thread set" in gearing.sheet.notice.value


def test_a_trial_too_coarse_to_decide_is_not_proven(gearing):
    gearing.sheet.rows["thread"].choose("M10x1")
    fill(gearing, TRAVEL | {"doubt_mm": "0.05 mm"})
    assert gearing.verdict().word == "NOT PROVEN"
    assert "cannot decide" in str(gearing.verdict())


def test_left_hand_threads_and_screws_turn_the_ratio_round_but_not_the_travel(tmp_path):
    page = GearingPage(own_copy("metric", tmp_path))
    worm = page.ratios.threads[0]
    assert worm.lead_mm < 0 < worm.used
    page.sheet.rows["thread"].choose("quick nut")
    fill(page, {"turns": "20 turns", "travel_mm": "120.01 mm", "doubt_mm": "0.01 mm"})
    assert page.trial.error_ppm == pytest.approx(1e6 * 0.01 / 120)


def test_the_guess_stands_beside_the_figures(gearing):
    gearing.guess.type_in("0.05 mm")
    assert "0.05 mm" in gearing.compared().to_string()


def test_the_turns_by_hand_prove_the_counts(encoder):
    fill(encoder, TURNS)
    assert encoder.verdict().word == "MET"
    assert "No count is lost" in encoder.decision().text
    assert encoder.record_line()["value"] == 0


@pytest.mark.parametrize(
    ("changed", "word", "told"),
    [
        ({"back": "4"}, "NOT MET", "lost or made up"),
        ({"forward": "67500"}, "NOT MET", "one edge of each line"),
        ({"forward": "240000"}, "NOT MET", "one to one"),
        ({"forward": "-270000"}, "NOT MET", "exchange the two channels"),
        ({"doubt_mm": "1 mm"}, "NOT PROVEN", "the counts hold"),
    ],
)
def test_each_way_of_losing_counts_is_known_again(encoder, changed, word, told):
    fill(encoder, TURNS | changed)
    assert encoder.verdict().word == word
    assert told in encoder.tested().text


def test_part_of_a_turn_is_refused(encoder):
    fill(encoder, TURNS | {"turns": "10.5 turns"})
    assert encoder.trial is None
    assert "whole turns" in encoder.sheet.notice.value


def test_finding_the_mark_is_worth_counts_by_its_angle(encoder):
    fill(encoder, TURNS)
    per_turn = 0.02 / (2 * 3.14159265 * 60) * 2700
    assert encoder.trial.uncertainty_count == pytest.approx(per_turn * 2**0.5)


def test_the_index_pulse_of_a_geared_encoder_is_advised_against(encoder, tmp_path):
    assert "Do not start threads by it" in encoder.index().text
    assert "may start a thread" in EncoderPage(own_copy("metric", tmp_path)).index().text


def test_a_belt_that_creeps_is_rejected():
    text = (
        (MACHINES["demo"] / "machine.toml")
        .read_text()
        .replace('drive = "toothed belt"', 'drive = "round belt"')
    )
    assert "must not drive the encoder" in EncoderPage(parse(text)).drive().text


def test_limits_that_are_not_known_are_said_to_be_unknown():
    text = (MACHINES["demo"] / "machine.toml").read_text()
    for line in ('highest_channel_rate = "100 kHz"', 'highest_edge_rate = "200 kHz"'):
        text = text.replace(line, "")
    page = EncoderPage(parse(text))
    assert "not known yet" in page.choice().headline
    assert "data sheets" in page.decision().text


def test_an_encoder_on_the_spindle_itself_has_no_pulley_to_move(tmp_path):
    panel = EncoderPage(own_copy("metric", tmp_path)).panel()
    assert "encoder_teeth" not in panel.controls
    assert panel.result.counts == 4096
