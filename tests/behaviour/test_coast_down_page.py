"""Page 05: its panels answer to every control, its words follow the log, and nothing fails on any machine."""

import shutil
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from simulate.coast_log import Display, Truth, write_log

from machinelab.spindle.coastdown import fit
from machinelab.workbook import speed_log
from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import load
from machinelab.workbook.pages.coast_down import NO_LOG, CoastDownPage
from machinelab.workbook.pages.page import Said
from machinelab.workbook.panels.coastdown import run_on, run_on_panel, shape_of, shapes_panel

HOUSE = Path(__file__).resolve().parents[2]
MACHINES = {
    "demo": "demo",
    "metric": HOUSE / "tests/machines/metric",
    "empty": HOUSE / "tests/machines/empty",
}


@pytest.fixture
def page(monkeypatch, request):
    monkeypatch.setenv("MACHINELAB_MACHINE", str(MACHINES[getattr(request, "param", "demo")]))
    return CoastDownPage.open()


@pytest.fixture(scope="module")
def found():
    return fit(speed_log.read(HOUSE / "notebooks/machines/demo/logs/free_run_down.csv"))


def both_ends(control):
    """Slide a control to either end and back, yielding where it stands."""
    for position in (0, len(control.sweep) - 1):
        control.slide_to(position)
        yield control.value


@pytest.mark.parametrize("name", ["start_rpm", "dry_stop_s", "viscous_share", "windage_share"])
def test_each_control_of_the_shapes_changes_the_run_down(name):
    panel = shapes_panel(start_rpm=1200.0, dry_stop_s=40.0)
    pictures, results = set(), set()
    for _ in both_ends(panel.controls[name]):
        pictures.add(panel.picture.value)
        results.add((panel.result.stop_time_s, panel.result.turns))
        assert "Please look" not in panel.notice.value
    assert len(pictures) == len(results) == 2


@pytest.mark.parametrize("name", ["speed_rpm", "thread_lead_mm"])
def test_each_control_of_the_run_on_changes_what_is_said(name, found):
    panel = run_on_panel(found, limits={"seconds": 2.5}, speed_rpm=100.0, thread_lead_mm=Fraction(1))
    sentences = set()
    for _ in both_ends(panel.controls[name]):
        sentences.add(panel.meaning.value)
        assert "Please look" not in panel.notice.value
    assert len(sentences) == 2


def test_a_speed_that_was_never_tested_is_refused_in_words_and_the_picture_stays(found):
    panel = run_on_panel(found, limits={}, speed_rpm=100.0, thread_lead_mm=Fraction(1))
    before = panel.picture.value
    panel.controls["speed_rpm"].type_in("9000 rpm")
    assert "log a run from a higher speed" in panel.notice.value
    assert panel.picture.value == before


def test_dry_friction_alone_takes_the_time_that_was_typed():
    shape = shape_of(start_rpm=1200.0, dry_stop_s=40.0, viscous_share=0.0, windage_share=0.0)
    assert shape.stop_time_s == pytest.approx(40.0)
    assert shape.turns == pytest.approx(1200 / 60 * 40 / 2)


def test_travel_in_a_thread_is_turns_times_lead(found):
    one, two = (run_on(found, {}, speed_rpm=100.0, thread_lead_mm=Fraction(lead)) for lead in (1, 2))
    turns = float(found.turns_to_stop(100.0).value)
    assert f"{turns:.3g} mm" in one.sentence
    assert f"{2 * turns:.3g} mm" in two.sentence


def test_the_demo_page_starts_with_the_machines_own_log(page):
    assert isinstance(page.picture, Picture)
    assert page.verdict().word == "NOT MET"
    assert "resistor brake" in page.decision.text
    assert any("decimal comma" in line for line in page.understood.text.splitlines())


def test_a_new_log_in_the_box_replaces_picture_words_and_verdict(page):
    bench = page.bench
    before = bench.picture.value
    time_s, speed_rpm = write_log(
        Truth(1000, 60.0, 0.2, 1e-4, start_s=6.0), Display(lag_s=0.1, hold_s=None), seed=3
    )
    bench.entry.take("\n".join(f"{t:.3f} {n:.0f}" for t, n in zip(time_s, speed_rpm, strict=True)))
    assert bench.picture.value != before
    assert "MET" in bench.meaning.value
    assert page.found.tested_rpm == pytest.approx(1000, abs=5)


def read_off_a_film(every):
    """What a person types: the clock to a tenth and the number, at every so many changes of the display."""
    truth = Truth(1200, 3.0, 0.02, 1e-4, start_s=4.0)
    time_s, speed_rpm = write_log(truth, Display(glitches=0.0, row_every_s=0.04, rows_lost=0.0), seed=5)
    changed = np.flatnonzero(np.diff(speed_rpm, prepend=-1) != 0)[::every]
    turning = changed[speed_rpm[changed] > 0]
    text = "\n".join(f"{time_s[i]:.1f}  {speed_rpm[i]:.0f}" for i in turning)
    return text, len(turning), truth.stop(1200)[0]


@pytest.mark.parametrize("every", [1, 4])
def test_readings_typed_off_a_film_give_the_stop_time(page, every):
    bench = page.bench
    text, lines, stop_s = read_off_a_film(every)
    bench.entry.box.value = text
    found = page.found.stop_time_s(1200)
    assert page.entry.readings.time_s.size == lines
    assert found.value == pytest.approx(stop_s, rel=0.02)
    assert found.interval[0] <= stop_s <= found.interval[1]


def test_the_box_says_how_to_film_a_display(page):
    said = " ".join(part.value for part in page.bench.entry.widget.children if hasattr(part, "value"))
    assert "Film the display and a clock together" in said
    assert "one line at each change of the display" in said


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("0 100\n1 200\n2 300\n3 400\n4 500\n5 600\n6 700\n7 800\n8 900", "run-up"),
        (b"\x89PNG\r\n\x1a\n" + bytes(200), "picture"),
        ("hello, this is no log at all\nreally not", "no row"),
    ],
)
def test_what_is_no_coast_is_told_in_words_and_the_last_good_picture_stays(page, content, words):
    bench = page.bench
    before = bench.picture.value
    bench.entry.take(content)
    assert words in bench.notice.value + bench.entry.notice.value
    assert bench.picture.value == before


def test_the_guess_stands_beside_the_measurement(page):
    page.guess.type_in("30 s")
    assert "your guess" in page.compared(page.guess.value).index
    page.guess.type_in("30 parsecs")
    assert "Please look" in page.guess.typed.notice.value


def test_the_record_box_writes_one_line_with_the_logs_fingerprint(page):
    stored = []
    box = page.record_box
    add = box.add
    box.add = lambda **line: stored.append(add(**line)) or stored[-1]
    box.notes.value, box.by.value = "oil warm", "AB"
    box.write()
    assert stored[0].verdict == "NOT MET"
    assert stored[0].data[0].sha256 == page.entry.readings.sha256
    assert "Written" in box.answer.value


@pytest.mark.parametrize("page", ["metric", "empty"], indirect=True)
def test_without_a_log_every_part_of_the_page_says_so(page):
    for part in (
        page.understood,
        page.picture,
        page.figures,
        page.run_on_picture,
        page.run_on_panel,
        page.decision,
    ):
        assert part is NO_LOG
    assert page.verdict() is NO_LOG
    assert page.compared(30.0) is NO_LOG
    box = page.record_box
    box.write()
    assert "nothing to write" in box.notice.value


@pytest.mark.parametrize("page", ["empty"], indirect=True)
def test_an_empty_machine_is_asked_kindly_for_its_highest_speed(page):
    for part in (page.expected(), page.shapes(), page.shapes_panel()):
        assert isinstance(part, Said)
        assert "waits for the machine file" in part.text
    assert "highest_speed" in page._repr_markdown_()


def test_a_machine_file_that_cannot_be_read_is_told_on_the_page(monkeypatch, tmp_path):
    (tmp_path / "machine.toml").write_text('[leadscrew]\nlead = "8"\n')
    monkeypatch.setenv("MACHINELAB_MACHINE", str(tmp_path))
    assert "cannot be used" in CoastDownPage.open()._repr_markdown_()


@pytest.mark.parametrize(("also_a_good_one", "found"), [(True, True), (False, False)])
def test_a_log_that_cannot_be_used_is_passed_over_and_named_with_the_reason(tmp_path, also_a_good_one, found):
    shutil.copy(HOUSE / "notebooks/machines/demo/machine.toml", tmp_path)
    logs = tmp_path / "logs"
    logs.mkdir()
    (logs / "coast_of_spring.csv").write_text("time,rpm\n0,1200\n", encoding="utf-8")
    if also_a_good_one:
        shutil.copy(HOUSE / "notebooks/machines/demo/logs/free_run_down.csv", logs)
    page = CoastDownPage(load(tmp_path))
    assert (page.found is not None) is found
    assert "the log coast_of_spring.csv was passed over" in str(page.understood)
