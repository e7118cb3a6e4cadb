"""Page 04, the meter: its two tests, the rule for reading it, and kind words without one."""

from pathlib import Path

import numpy as np
import pytest
from simulate.meter_log import write_step_log

from machinelab.workbook.figures.base import Picture
from machinelab.workbook.machine import empty, load
from machinelab.workbook.meter_results import scale_result
from machinelab.workbook.pages.speed_meter import NO_METER, NO_SCALE, NO_STEP, SpeedMeterPage
from machinelab.workbook.panels.speed_meter import view_meter

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
METRIC = HOUSE / "tests" / "machines" / "metric"
INCH = HOUSE / "tests" / "machines" / "inch"
TRUE = np.array([100.0, 300.0, 600.0, 900.0, 1200.0])


@pytest.fixture
def page():
    return SpeedMeterPage(load(DEMO))


def typed(true, shown):
    return "\n".join(f"{t:g} {s:g}" for t, s in zip(true, shown, strict=True))


def test_the_demos_lag_is_found_from_its_step(page):
    lag = page.step_found.fit.lag_s
    assert lag.interval[0] <= 0.8 <= lag.interval[1]
    assert isinstance(page.step_picture, Picture)
    assert "lag = " in page.decision.text


def test_the_demos_meter_cannot_be_proven_at_low_speed_because_of_its_display(page):
    speed, error = page.scale_found.worst
    assert speed == 100.0
    assert page.scale_found.verdict().word == "NOT PROVEN"
    line = page.record_line()
    assert (line["value"], line["unit"], line["upper"]) == (pytest.approx(error.value, abs=1e-4), "%", 1.0)


def test_a_wrong_mark_count_typed_into_the_box_is_named_at_once(page):
    bench = page.scale_bench
    before = bench.picture.value
    page.scale_entry.box.value = typed(TRUE, np.round(TRUE * 4 / 3))
    assert bench.picture.value != before
    assert "4 marks pass" in bench.meaning.value
    assert "4 marks pass" in page.judged.text
    assert "NOT MET" in page.judged.text


def test_too_few_speeds_are_told_beside_the_box_and_nothing_is_judged(page):
    bench = page.scale_bench
    page.scale_entry.box.value = "100 101\n300 302"
    assert "at least 5 speeds" in bench.notice.value
    assert page.scale_found is None
    assert page.judged is NO_SCALE
    assert page.scale_picture is NO_SCALE


def test_another_log_of_a_step_replaces_picture_and_words(page):
    bench = page.step_bench
    before = bench.picture.value
    time_s, shown_rpm = write_step_log(3, lag_s=1.6, until_s=20.0)
    bench.entry.take("\n".join(f"{t:.2f} {n:.0f}" for t, n in zip(time_s, shown_rpm, strict=True)))
    assert bench.picture.value != before
    assert page.step_found.fit.lag_s.value == pytest.approx(1.6, rel=0.1)
    bench.entry.take("\n".join(f"{t} 600" for t in range(40)))
    assert "too little to tell a lag" in bench.notice.value


def test_the_doubt_of_the_worst_error_covers_scale_and_zero():
    result = scale_result(np.column_stack([TRUE, TRUE + 3]), resolution_rpm=1.0, allowed_percent=1.0)
    speed, error = result.worst
    assert speed == 100.0
    assert error.value == pytest.approx(3.0, abs=0.01)
    assert result.verdict().word == "NOT MET"
    quiet = scale_result(np.column_stack([TRUE, TRUE]), resolution_rpm=0.1, allowed_percent=1.0)
    assert quiet.verdict().word == "MET"
    free = scale_result(np.column_stack([TRUE, TRUE]), resolution_rpm=0.1, allowed_percent=None)
    assert free.verdict().word == "RECORDED"


def test_the_picture_shows_the_textbook_lag_and_the_hold():
    view = view_meter(lag_s=0.8, hold_s=0.02, slowing_rpm_s=67.0)
    assert view.worst_rpm == pytest.approx(53.6, abs=1.5)
    assert view.wait_s == pytest.approx(0.8 * np.log(100) + 0.02)
    after = view.time_s > view.trusted_s
    assert np.all(np.abs(view.shown_rpm - view.true_rpm)[after] <= 0.01 * 53.6 + 0.1)


def test_without_lag_only_the_hold_is_late():
    view = view_meter(lag_s=0.0, hold_s=0.5, slowing_rpm_s=60.0)
    assert view.worst_rpm == pytest.approx(30.0, abs=1.0)
    assert view.wait_s == 0.5


def test_a_machine_without_a_meter_says_so_everywhere():
    page = SpeedMeterPage(load(METRIC))
    for part in ("settling", "ages", "picture", "panel", "step_bench", "scale_bench", "step_picture"):
        assert getattr(page, part) is NO_METER, part
    assert page.scale_picture is page.judged is page.decision is page.compared is NO_METER
    assert page.record_line() is None
    assert page.post() is None
    assert "no RPM meter" in page._repr_markdown_()
    assert "50 Hz lamp" in page.strobe.columns[0]


def test_an_empty_machine_gets_a_usual_meter_and_is_told_so():
    page = SpeedMeterPage(empty())
    assert page.step_picture is NO_STEP
    assert page.scale_picture is NO_SCALE
    assert isinstance(page.picture, Picture)
    assert "does not say its lag" in page._repr_markdown_()
    assert page.record_line() is None


def test_what_was_typed_is_kept_for_the_next_time(tmp_path):
    (tmp_path / "machine.toml").write_text((DEMO / "machine.toml").read_text())
    SpeedMeterPage(load(tmp_path)).scale_entry.box.value = typed(TRUE, 1.01 * TRUE)
    again = SpeedMeterPage(load(tmp_path))
    assert again.scale_found.found.meter_scale.value == pytest.approx(1.01, abs=1e-3)
    assert "not tested" in again.record_line()["conditions"]["lag"]


def test_the_guess_stands_beside_the_wait_by_both_lags(page):
    assert page.compared.iloc[1, 0] == f"{0.8 * np.log(100) + 0.25:.2f} s"
    assert "logged" in page.compared.index[2]
    page.guess.type_in("1.5 s")
    assert page.compared.loc["your guess"].iloc[0] == "1.5 s"
    assert page.readings.of("04")["meter_guess"] == "1.5 s"


def test_the_strobe_table_warns_of_the_other_speeds(page):
    assert page.strobe.loc[20].tolist() == ["360 rpm", "720, 1080"]
    assert "strobe" in page.share_text.text.lower()


def test_no_disc_and_no_speed_is_shown_that_the_spindle_does_not_reach():
    slow = SpeedMeterPage(load(INCH))
    top = slow.machine.highest_spindle_speed_rpm
    lowest = [float(cell.split()[0]) for cell in slow.strobe.iloc[:, 0]]
    read_at = [float(cell.split()[0]) for cell in slow.ages.index]
    assert lowest
    assert max(lowest) <= top
    assert read_at
    assert max(read_at) < top < 1200
