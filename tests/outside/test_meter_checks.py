"""The RPM meter and the strobe disc against figures worked by hand and known in the trade."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import scipy
from inspection.source import by_hand, library, source_of
from scipy import signal

from machinelab.spindle.encoder import counting_resolution_rpm, period_resolution_rpm
from machinelab.spindle.meter_pickup import hum_reading_rpm, is_mains_hum, pulse_interval_s
from machinelab.spindle.speed_meter import reading_ahead_rpm, settling_time_s, wait_after_switching_s
from machinelab.spindle.stroboscope import (
    strobe_drift_rpm,
    strobe_marks,
    strobe_speed_rpm,
    strobe_speeds_rpm,
)

ROOM = "spindle"

ROWS = {row["id"]: row for row in json.loads((Path(__file__).parent / "data" / "meter.json").read_text())}


@pytest.mark.parametrize("name", ["D-res-1", "D-res-2"])
def test_a_gate_counter_steps_by_sixty_over_pulses_and_gate(compare, name):
    inputs = ROWS[name]["inputs"]
    step = counting_resolution_rpm(inputs["marks"], inputs["gate_s"])
    compare(
        f"step of a gate counter, {name}",
        step,
        ROWS[name]["expected"]["rpm"],
        source_of(ROWS[name]),
        unit="rpm",
    )


def test_a_period_counter_steps_by_a_sixtieth_of_an_rpm_at_1000_rpm(compare):
    inputs = ROWS["D-res-3"]["inputs"]
    step = period_resolution_rpm(inputs["rpm"], inputs["marks"], inputs["clock_hz"])
    compare(
        "step of a period counter at 1000 rpm",
        step,
        ROWS["D-res-3"]["expected"]["rpm"],
        source_of(ROWS["D-res-3"]),
        rel=1e-3,
        unit="rpm",
    )
    one_tick = pulse_interval_s(1000.0, marks_per_turn=1) + 1 / inputs["clock_hz"]
    compare(
        "step of a period counter from one more tick",
        step,
        1000.0 - 60 / one_tick,
        by_hand("60 over an interval of one tick more"),
        rel=1e-3,
        unit="rpm",
        why="the formula is to first order",
    )


def test_a_lagging_meter_needs_four_lags_for_one_percent_and_shows_63_percent_after_one(compare):
    wanted = ROWS["D-settle"]["expected"]
    times = settling_time_s(ROWS["D-settle"]["inputs"]["tau"], share_left=np.array([0.01, 0.001]))
    compare(
        "time until a lagging meter has settled",
        times,
        [wanted["t1"], wanted["t01"]],
        source_of(ROWS["D-settle"]),
        abs=1e-3,
        unit="s",
        each=("to 1 %", "to 0.1 %"),
    )
    one_lag = settling_time_s(1.0, share_left=1 - ROWS["D-63"]["expected"]["f"])
    compare("lags until 63 % are shown", one_lag, 1.0, source_of(ROWS["D-63"]), abs=3e-5, unit="lag")
    # Five lags and the gate leave less than one part in a hundred.
    wait_s = wait_after_switching_s(dead_time_s=0.0, lag_s=0.8, gate_s=0.0)
    assert wait_s > settling_time_s(0.8, share_left=0.01)


def test_strobe_discs_for_fifty_hertz_have_the_marks_of_the_trade(compare):
    row = ROWS["D-strobe-1"]
    marks = [strobe_marks(speed, mains_frequency_hz=50) for speed in row["inputs"]["n"]]
    compare("marks of strobe discs for 50 Hz", marks, row["expected"]["N"], source_of(row))
    compare(
        "marks of the disc for 33 1/3 rpm",
        strobe_marks(Fraction(100, 3), mains_frequency_hz=50),
        ROWS["D-turntable"]["expected"]["N"],
        source_of(ROWS["D-turntable"]),
    )
    back = [strobe_speed_rpm(int(count), mains_frequency_hz=50) for count in marks]
    compare("speeds of strobe discs for 50 Hz", back, row["inputs"]["n"], source_of(row), unit="rpm")


def test_one_mark_in_ten_seconds_is_one_rpm_of_a_thousand(compare):
    row = ROWS["D-strobe-2"]
    drift = strobe_drift_rpm(row["inputs"]["drift_s"], disc_marks=row["inputs"]["marks"])
    compare("drift of one mark in ten seconds", drift, row["expected"]["rpm"], source_of(row), unit="rpm")
    compare(
        "drift of one mark in ten seconds over 1000 rpm",
        drift / 1000,
        row["expected"]["share"],
        source_of(row),
    )


def test_a_disc_stands_still_just_when_flashes_meet_marks():
    """Another way: the angle turned between two flashes is a whole number of mark spacings."""
    for speed in strobe_speeds_rpm(12, mains_frequency_hz=60, highest_speed_rpm=3000):
        turned = speed / 60 / (2 * 60)
        assert (turned * 12).denominator == 1
    between = Fraction(700)
    assert between not in strobe_speeds_rpm(12, mains_frequency_hz=60, highest_speed_rpm=3000)


def test_a_loose_input_counts_three_thousand_or_three_thousand_six_hundred(compare):
    compare(
        "what a loose input shows on 50 Hz mains",
        hum_reading_rpm(50, marks_per_turn=1),
        3000,
        by_hand("one count a cycle"),
        unit="rpm",
    )
    compare(
        "what a loose input shows on 60 Hz mains",
        hum_reading_rpm(60, marks_per_turn=1),
        3600,
        by_hand("one count a cycle"),
        unit="rpm",
    )
    found = is_mains_hum(np.array([900.0, 1800.0, 1000.0]), mains_frequency_hz=60, marks_per_turn=4)
    assert found.tolist() == [True, True, False]


def test_a_lagging_meter_is_a_filter_of_the_first_order(compare):
    """A step and a ramp through the library's filter of one time constant."""
    lag_s = 0.8
    meter = signal.lti([1.0], [lag_s, 1.0])
    source = library("scipy", scipy.__version__, "signal.lti, step and lsim", "steps of a millisecond")
    time_s = np.arange(0, 12, 1e-3)
    _, shown = meter.step(T=time_s)
    settled_s = np.interp(0.99, shown, time_s)
    compare(
        "time to 1 % of a step",
        settling_time_s(lag_s, share_left=0.01),
        settled_s,
        source,
        abs=1e-3,
        unit="s",
    )
    _, shown, _ = signal.lsim(meter, 1000 - 50 * time_s, time_s, X0=[1000 * lag_s])
    ahead = shown[-1] - (1000 - 50 * time_s[-1])
    compare(
        "ahead on a ramp",
        reading_ahead_rpm(lag_s, speed_change_rpm_s=-50),
        ahead,
        source,
        abs=1e-3,
        unit="rpm",
    )
