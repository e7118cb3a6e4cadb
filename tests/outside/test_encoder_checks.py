"""The spindle encoder against hand calculations and one article's slip; the data name each source."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import scipy
from inspection.source import EXAMPLE, READ, Source, by_hand, library, run_here, source_of
from scipy.integrate import cumulative_trapezoid
from scipy.signal import savgol_filter

from machinelab.errors import RangeError
from machinelab.spindle.counted_speed import (
    acceleration_noise_rad_s2,
    angle_quantisation_rad,
    speed_from_counts,
)
from machinelab.spindle.encoder import (
    counting_resolution_rpm,
    counts_per_spindle_turn,
    crossover_speed_rpm,
    edge_rate_hz,
    period_resolution_rpm,
    speed_resolution_rpm,
)
from machinelab.spindle.encoder_faults import (
    angle_error_on_thread_mm,
    creep_phase_turns,
    encoder_pulley_wave_mm,
    index_use,
    pulley_angle_error_rad,
)
from machinelab.spindle.encoder_limits import (
    channel_rate_hz,
    clocks_per_edge,
    filter_speed_limit_rpm,
    sampling_speed_limit_rpm,
)
from machinelab.spindle.turn_test import turn_test

ROOM = "spindle"
ARTICLE = Source(EXAMPLE, "an article on encoders, ten times too large there: ours times ten", READ)
SAVGOL = library(
    "scipy", scipy.__version__, "signal.savgol_filter, a local parabola", "rounding of the computer"
)
DRAWN = run_here("simulated readings, drawn by chance", "chance, with so many draws")
INDEX = run_here("the spindle angles of two hundred index pulses", "exact")

DATA = Path(__file__).parent / "data" / "motion_a_c.json"
CHECKS = {check["id"]: check for check in json.loads(DATA.read_text(encoding="utf-8"))}


def near(check: str):
    return pytest.approx(CHECKS[check]["expected"], abs=CHECKS[check]["tolerance"])


def test_a_thousand_lines_at_2000_rpm_give_133_thousand_edges_and_a_quarter_on_each_channel(compare):
    given = CHECKS["C01"]["inputs"]
    compare(
        "counts a turn of a thousand lines",
        counts_per_spindle_turn(given["lines"], 1, 1),
        given["C"],
        source_of(CHECKS["C01"]),
        unit="count",
    )
    rates = [edge_rate_hz(given["rpm"], given["C"]), channel_rate_hz(given["rpm"], given["C"])]
    compare.row(CHECKS["C01"], rates, each=("edges", "each channel"), unit="Hz")
    compare(
        "clocks for each edge at 16 MHz",
        clocks_per_edge(16e6, rates[0]),
        120,
        by_hand("16 MHz over 133 333 edges a second"),
        rel=1e-6,
    )


def test_600_lines_on_36_to_32_teeth_are_2700_counts(compare):
    compare(
        "counts of 600 lines on 36 to 32 teeth",
        counts_per_spindle_turn(600, 36, 32),
        2700,
        by_hand("4 x 600 x 36 / 32"),
        unit="count",
    )


def test_timing_one_edge_or_a_whole_turn_tells_speed_as_finely_as_worked_out(compare):
    given = CHECKS["C03"]["inputs"]
    resolutions = [period_resolution_rpm(given["rpm"], counts, given["f"]) for counts in given["C"]]
    compare.row(CHECKS["C03"], resolutions, each=("one edge", "a whole turn"), unit="rpm")
    assert period_resolution_rpm(given["rpm"], 4000, given["f"], edges=4000) == near("C03").expected[1]


def test_the_accuracy_of_a_timed_turn_is_a_tenth_of_what_the_article_prints(compare):
    shares = [
        100 * period_resolution_rpm(rpm, teeth, clock) / rpm for rpm, teeth, clock in
        CHECKS["C05"]["inputs"]["cases"]
    ]  # fmt: skip
    compare.row(CHECKS["C05"], shares, unit="%")
    compare(
        "ten times the accuracy of a timed turn",
        [10 * share for share in shares],
        [0.003125, 0.0625],
        ARTICLE,
        rel=1e-6,
        unit="%",
        each=("first case", "second case"),
    )


def test_counting_and_timing_are_equally_fine_where_they_cross():
    crossing = crossover_speed_rpm(4000, 1e6, 0.1)
    assert period_resolution_rpm(crossing, 4000, 1e6) == pytest.approx(counting_resolution_rpm(4000, 0.1))
    speeds = crossing * np.array([0.5, 2.0])
    finest = speed_resolution_rpm(speeds, 4000, 0.1, 1e6)
    assert finest == pytest.approx(
        [counting_resolution_rpm(4000, 0.1) / 4, counting_resolution_rpm(4000, 0.1)]
    )


def test_a_pulley_out_by_a_twentieth_of_a_millimetre_moves_the_carriage_by_less_than_a_micrometre(compare):
    given = CHECKS["C06"]["inputs"]
    angle = pulley_angle_error_rad(given["e"], given["r"])
    error_mm = angle_error_on_thread_mm(angle, Fraction(str(given["lead"])))
    compare.row(CHECKS["C06"], [1000 * angle, 1000 * error_mm], each=("angle, mrad", "carriage, um"))


@pytest.mark.parametrize("wobbling", ["spindle", "encoder"])
def test_either_pulley_out_of_true_swings_the_angle_by_eccentricity_over_the_spindle_pulley_radius(wobbling):
    # Another way: the belt between two pulleys of which one swings, integrated over eight turns.
    spindle_mm, encoder_mm, eccentricity_mm = 36.0, 32.0, 0.05
    spindle = np.linspace(0, 16 * np.pi, 160_001)
    if wobbling == "spindle":
        rate = (spindle_mm + eccentricity_mm * np.cos(spindle)) / encoder_mm
    else:
        rate = spindle_mm / (encoder_mm + eccentricity_mm * np.cos(spindle * spindle_mm / encoder_mm))
    counted = cumulative_trapezoid(rate, spindle, initial=0) * encoder_mm / spindle_mm
    error = counted - spindle * counted[-1] / spindle[-1]
    assert np.abs(error).max() == pytest.approx(pulley_angle_error_rad(eccentricity_mm, spindle_mm), rel=2e-3)


def test_one_per_cent_of_creep_over_ten_turns_is_a_tenth_of_a_turn(compare):
    given = CHECKS["C07"]["inputs"]
    phase = creep_phase_turns(given["creep"], given["turns"])
    compare.row(CHECKS["C07"], [phase, phase * given["lead"]], each=("turn", "mm"))


def test_an_encoder_pulley_comes_back_on_every_turn_only_when_it_turns_one_to_one():
    assert encoder_pulley_wave_mm(Fraction(3, 2), 1) == Fraction(3, 2)
    assert encoder_pulley_wave_mm(Fraction(-3, 2), Fraction(9, 8)) == Fraction(4, 3)


@pytest.mark.parametrize(
    ("belt", "starts", "usable"),
    [
        (Fraction(1), 1, True),
        (Fraction(2), 1, False),
        (Fraction(2), 2, True),
        (Fraction(2), 3, False),
        (Fraction(9, 8), 1, False),
        (Fraction(9, 8), 9, True),
    ],
)
def test_an_index_pulse_finds_a_start_only_where_every_pulse_falls_on_one(compare, belt, starts, usable):
    # Another way: the spindle angles of many index pulses, and whether each is a multiple of one start.
    angles = {Fraction(pulse) / belt % 1 for pulse in range(200)}
    result = index_use(belt, starts)
    compare(
        f"different angles of an index pulse behind {belt} to one", result.index_angles, len(angles), INDEX
    )
    assert result.usable is usable is all((angle * starts).denominator == 1 for angle in angles)


def test_an_index_at_36_to_32_comes_back_to_the_same_angle_after_eight_turns(compare):
    compare(
        "turns until an index at 36 to 32 comes back",
        index_use(Fraction(36, 32)).turns_between,
        8,
        INDEX,
        unit="turn",
    )


@pytest.mark.parametrize(
    ("forward", "back", "holds", "says"),
    [
        (270_000, 0, True, "hold"),
        (270_001, -1, True, "hold"),
        (269_970, -31, False, "lost"),
        (67_500, 0, False, "one edge"),
        (135_000, 0, False, "two edges"),
        (-270_000, 0, False, "backwards"),
        (-67_500, 0, False, "backwards"),
        (240_000, 0, False, "one to one"),
        (213_333, 0, False, "wrong way round"),
        (1_080_000, 0, False, "four times"),
        (250_000, 0, False, "other counts"),
        (270_010, 0, False, "set the mark again"),
    ],
)
def test_a_hundred_turns_by_hand_tell_what_is_wrong(forward, back, holds, says):
    # 600 lines on 36:32 teeth: 2700 counts a turn; an encoder really on the spindle gives 2400, one with
    # the pulleys exchanged 2400 * 32/36.
    result = turn_test(
        forward, back, counts_per_spindle_turn=2700, encoder_turns_per_spindle_turn=Fraction(9, 8)
    )
    assert result.counts_hold is holds
    assert says in result.meaning


def test_looking_too_seldom_at_the_channels_loses_counts_above_the_limit_and_none_below(compare):
    # Another way: a channel pair whose edges stand alternately 0.5 and 1.5 of their place, looked at evenly.
    counts, sample_hz = 400, 20_000.0
    limit = sampling_speed_limit_rpm(sample_hz, counts, edge_share=0.5)
    compare(
        "share of counts seen just below the sampling limit",
        _counted_share(0.98 * limit, counts, sample_hz),
        1,
        run_here("a pair of channels with uneven edges, looked at evenly", "exact"),
    )
    assert _counted_share(1.25 * limit, counts, sample_hz) < 0.9


def _counted_share(speed_rpm: float, counts: int, sample_hz: float) -> float:
    edges_passed = np.arange(20_000) / sample_hz * speed_rpm / 60 * counts
    pairs, within = np.divmod(edges_passed, 2)
    states = (2 * pairs + (within >= 0.5)).astype(int)
    moves = (np.diff(states) + 1) % 4 - 1
    return np.where(moves == 2, 0, moves).sum() / (states[-1] - states[0])


def test_a_pulse_lasts_three_filter_clocks_at_the_speed_that_a_filter_of_three_allows():
    limit = filter_speed_limit_rpm(1e6, 4000, 3)
    pulse_clocks = 1e6 / (2 * channel_rate_hz(limit, 4000))
    assert pulse_clocks == pytest.approx(3)


def test_speed_from_counts_is_the_savitzky_golay_slope_on_even_times(compare):
    # scipy's savgol_filter is the same local parabola for evenly spaced readings.
    time = np.arange(200) * 0.01
    turns = 20 * time - 1.3 * time**2 + 0.01 * np.sin(40 * time)
    counts = np.floor(4000 * turns)
    ours = speed_from_counts(time, counts, counts_per_spindle_turn=4000, points=11)
    slope = savgol_filter(counts, 11, 2, deriv=1, delta=0.01)[5:-5] * 60 / 4000
    bend = savgol_filter(counts, 11, 2, deriv=2, delta=0.01)[5:-5] * 60 / 4000
    compare.worst("times of the speeds", ours.time_s, time[5:-5], SAVGOL, rel=1e-6, unit="s")
    compare.worst("speed from counts, even times", ours.speed_rpm, slope, SAVGOL, rel=1e-9, unit="rpm")
    compare.worst(
        "acceleration from counts, even times",
        ours.acceleration_rpm_s,
        bend,
        SAVGOL,
        rel=1e-6,
        abs=1e-6,
        unit="rpm/s",
    )


def test_a_steady_deceleration_on_uneven_times_is_found_exactly(compare):
    chance = np.random.default_rng(8)
    time = np.cumsum(chance.uniform(0.005, 0.05, 100))
    counts = 4000 * (15 * time - 1.5 * time**2)
    ours = speed_from_counts(time, counts, counts_per_spindle_turn=4000, points=7)
    compare.worst(
        "speed of a steady deceleration on uneven times",
        ours.speed_rpm,
        60 * (15 - 3 * ours.time_s),
        run_here("derivative of the parabola that was sampled", "rounding of the computer"),
        rel=1e-9,
        unit="rpm",
    )
    compare.worst(
        "acceleration of a steady deceleration on uneven times",
        ours.acceleration_rpm_s,
        np.full(94, -180.0),
        run_here("derivative of the parabola that was sampled", "rounding of the computer"),
        rel=1e-7,
        unit="rpm/s",
    )


def test_the_spread_of_a_speed_from_whole_counts_is_the_one_told(compare):
    # At uneven times the roundings of neighbouring counts have nothing to do with each other.
    time = np.cumsum(np.random.default_rng(5).uniform(0.01, 0.1, 20_000))
    found = speed_from_counts(time, np.floor(600 * time), counts_per_spindle_turn=60, points=11)
    compare(
        "scatter of a speed from whole counts over the one told",
        np.std((found.speed_rpm - 600) / found.speed_sd_rpm),
        1,
        DRAWN,
        rel=0.02,
    )


def test_a_missing_reading_makes_only_its_own_windows_missing():
    time = np.arange(30) * 0.1
    counts = 1000.0 * time
    counts[12] = np.nan
    speed = speed_from_counts(time, counts, counts_per_spindle_turn=100, points=5).speed_rpm
    assert np.flatnonzero(np.isnan(speed)).tolist() == [8, 9, 10, 11, 12]
    assert np.nanmax(abs(speed - 600)) < 1e-9


def test_the_spread_of_an_angle_read_in_whole_counts_is_the_one_told():
    angles = np.random.default_rng(3).uniform(0, 2 * np.pi, 200_000)
    read = np.floor(angles * 4000 / (2 * np.pi)) * 2 * np.pi / 4000
    assert np.std(angles - read) == pytest.approx(angle_quantisation_rad(4000), rel=0.01)


def test_the_spread_of_an_acceleration_from_three_angles_is_the_one_told():
    noise = np.random.default_rng(4).normal(0, 0.001, (3, 200_000))
    found = np.std((noise[0] - 2 * noise[1] + noise[2]) / 0.05**2)
    assert found == pytest.approx(acceleration_noise_rad_s2(0.001, 0.05), rel=0.01)


@pytest.mark.parametrize(
    ("time", "counts", "points", "says"),
    [
        ([0, 1, 2, 3, 4], [0, 1, 2], 5, "own time stamp"),
        ([0, 1, 2, 3], [0, 1, 2, 3], 5, "at least 5"),
        ([0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5], 6, "odd number"),
        ([0, 1, 2, 2, 3], [0, 1, 2, 3, 4], 5, "does not rise at 2"),
        ([0, 1, 2, 3, 4], [0, 1, 2, 3, 4], 4.5, "whole number"),
    ],
)
def test_readings_that_cannot_be_used_are_refused_in_words(time, counts, points, says):
    with pytest.raises(RangeError, match=says):
        speed_from_counts(time, counts, counts_per_spindle_turn=4000, points=points)
