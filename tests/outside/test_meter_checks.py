"""The RPM meter and the strobe disc against figures worked by hand and known in the trade."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from machinelab.spindle.encoder import counting_resolution_rpm, period_resolution_rpm
from machinelab.spindle.meter_pickup import hum_reading_rpm, is_mains_hum, pulse_interval_s
from machinelab.spindle.speed_meter import settling_time_s, wait_after_switching_s
from machinelab.spindle.stroboscope import (
    strobe_drift_rpm,
    strobe_marks,
    strobe_speed_rpm,
    strobe_speeds_rpm,
)

ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "meter.json").read_text())}


@pytest.mark.parametrize("name", ["D-res-1", "D-res-2"])
def test_a_gate_counter_steps_by_sixty_over_pulses_and_gate(name):
    inputs = ROWS[name]["inputs"]
    step = counting_resolution_rpm(inputs["marks"], inputs["gate_s"])
    assert step == ROWS[name]["expected"]["rpm"]


def test_a_period_counter_steps_by_a_sixtieth_of_an_rpm_at_1000_rpm():
    inputs = ROWS["D-res-3"]["inputs"]
    step = period_resolution_rpm(inputs["rpm"], inputs["marks"], inputs["clock_hz"])
    assert step == pytest.approx(ROWS["D-res-3"]["expected"]["rpm"], rel=1e-3)
    one_tick = pulse_interval_s(1000.0, marks_per_turn=1) + 1 / inputs["clock_hz"]
    assert step == pytest.approx(1000.0 - 60 / one_tick, rel=1e-3)


def test_a_lagging_meter_needs_four_lags_for_one_percent_and_shows_63_percent_after_one():
    wanted = ROWS["D-settle"]["expected"]
    times = settling_time_s(ROWS["D-settle"]["inputs"]["tau"], share_left=np.array([0.01, 0.001]))
    assert times == pytest.approx([wanted["t1"], wanted["t01"]], abs=1e-3)
    one_lag = settling_time_s(1.0, share_left=1 - ROWS["D-63"]["expected"]["f"])
    assert one_lag == pytest.approx(1.0, abs=3e-5)
    # Five lags and the gate leave less than one part in a hundred.
    wait_s = wait_after_switching_s(dead_time_s=0.0, lag_s=0.8, gate_s=0.0)
    assert wait_s > settling_time_s(0.8, share_left=0.01)


def test_strobe_discs_for_fifty_hertz_have_the_marks_of_the_trade():
    row = ROWS["D-strobe-1"]
    marks = [strobe_marks(speed, mains_frequency_hz=50) for speed in row["inputs"]["n"]]
    assert marks == row["expected"]["N"]
    assert strobe_marks(Fraction(100, 3), mains_frequency_hz=50) == ROWS["D-turntable"]["expected"]["N"]
    back = [strobe_speed_rpm(int(count), mains_frequency_hz=50) for count in marks]
    assert back == row["inputs"]["n"]


def test_one_mark_in_ten_seconds_is_one_rpm_of_a_thousand():
    row = ROWS["D-strobe-2"]
    drift = strobe_drift_rpm(row["inputs"]["drift_s"], disc_marks=row["inputs"]["marks"])
    assert drift == row["expected"]["rpm"]
    assert drift / 1000 == row["expected"]["share"]


def test_a_disc_stands_still_just_when_flashes_meet_marks():
    """Another way: the angle turned between two flashes is a whole number of mark spacings."""
    for speed in strobe_speeds_rpm(12, mains_frequency_hz=60, highest_speed_rpm=3000):
        turned = speed / 60 / (2 * 60)
        assert (turned * 12).denominator == 1
    between = Fraction(700)
    assert between not in strobe_speeds_rpm(12, mains_frequency_hz=60, highest_speed_rpm=3000)


def test_a_loose_input_counts_three_thousand_or_three_thousand_six_hundred():
    assert hum_reading_rpm(50, marks_per_turn=1) == 3000
    assert hum_reading_rpm(60, marks_per_turn=1) == 3600
    found = is_mains_hum(np.array([900.0, 1800.0, 1000.0]), mains_frequency_hz=60, marks_per_turn=4)
    assert found.tolist() == [True, True, False]
