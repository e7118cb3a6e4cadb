"""Gearing by other ways: brute force over every fraction, whole-number arithmetic, random walks of counts."""

import math
from fractions import Fraction
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.leadscrew.gearing import (
    change_gears,
    nearest_ratio,
    pitch_error_ppm,
    screw_steps,
    steps_per_count,
)
from machinelab.leadscrew.geartrain import geared_train_ratio, train_ratio
from machinelab.leadscrew.step_pattern import rounding_error_steps

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

limits = st.integers(1, 300)
ratios = st.fractions(Fraction(1, 400), 400, max_denominator=10_000)
leads = st.fractions(Fraction(1, 10), 30, max_denominator=1000)
INT64 = 2**63


def brute_force(wanted: Fraction, top: int, bottom: int) -> Fraction:
    """Try the two fractions beside the target for every denominator; of equals take the smaller ones."""
    found = []
    for denominator in range(1, bottom + 1):
        below = wanted * denominator // 1
        found += [Fraction(min(max(at, 1), top), denominator) for at in (below, below + 1)]
    return min(found, key=lambda one: (abs(one - wanted), one.denominator, one.numerator))


@given(ratios, limits, limits)
@settings(max_examples=500, deadline=None)
def test_the_nearest_ratio_is_what_brute_force_finds(wanted, top, bottom):
    assert nearest_ratio(wanted, top, bottom) == brute_force(wanted, top, bottom)


@given(st.floats(1e-3, 1e3), limits, limits)
@settings(max_examples=300, deadline=None)
def test_the_nearest_ratio_to_a_float_is_the_one_to_its_binary_value(wanted, top, bottom):
    assert nearest_ratio(wanted, top, bottom) == brute_force(Fraction(wanted), top, bottom)


@given(st.integers(1, 300), st.integers(1, 300))
def test_half_way_between_two_fractions_the_smaller_denominator_is_taken(top, bottom):
    wanted = Fraction(2 * top + 1, 2) if bottom == 1 else Fraction(1, 2) * (1 + Fraction(1, bottom))
    assert nearest_ratio(wanted, top, bottom) == brute_force(wanted, top, bottom)


@given(ratios, limits, limits)
def test_a_left_hand_ratio_is_the_right_hand_one_with_a_minus(wanted, top, bottom):
    assert nearest_ratio(-wanted, top, bottom) == -nearest_ratio(wanted, top, bottom)


@given(ratios, limits, limits)
def test_a_ratio_that_fits_is_left_alone_and_no_other_breaks_a_limit(wanted, top, bottom):
    used = nearest_ratio(wanted, top, bottom)
    assert 1 <= used.numerator <= top
    assert used.denominator <= bottom
    if wanted.numerator <= top and wanted.denominator <= bottom:
        assert used == wanted


def test_a_ratio_with_very_long_runs_is_found_at_once():
    assert nearest_ratio(Fraction(1, 10**18 + 1), 10**6, 10**17) == Fraction(1, 10**17)
    assert nearest_ratio(Fraction(10**18 + 1, 3), 10**18, 1) == (10**18 + 2) // 3
    assert nearest_ratio(1e-300, 65535, 65535) == Fraction(1, 65535)


@pytest.mark.parametrize("ratio", [0, Fraction(0), 0.0, -0.0, math.nan, math.inf, "1/2", None, True, 1 + 2j])
def test_a_ratio_that_is_none_is_refused(ratio):
    with pytest.raises(RangeError):
        nearest_ratio(ratio, 100, 100)


@pytest.mark.parametrize("limit", [0, -5, 2.0, "10", None, True])
def test_a_limit_that_is_no_whole_number_above_zero_is_refused(limit):
    with pytest.raises(RangeError, match="max_numerator"):
        nearest_ratio(Fraction(1, 3), limit, 100)
    with pytest.raises(RangeError, match="max_denominator"):
        nearest_ratio(Fraction(1, 3), 100, limit)


@given(leads, leads, st.fractions(1, 50_000, max_denominator=50), st.fractions(1, 50_000, max_denominator=50))
def test_the_screw_travels_one_thread_lead_for_each_spindle_turn(thread, screw, steps, counts):
    ratio = steps_per_count(thread, screw, steps, counts)
    assert ratio * counts / steps * screw == thread
    assert steps_per_count(2 * thread, screw, steps, counts) == 2 * ratio
    assert steps_per_count(thread, screw, 3 * steps, counts) == 3 * ratio
    assert geared_train_ratio(ratio, counts, steps) == train_ratio(thread, screw)


@given(leads, leads, st.integers(1, 50_000), st.integers(1, 50_000), st.sampled_from([1, 2, 4, 16, 256]))
def test_setting_other_microsteps_moves_the_carriage_just_as_far(thread, screw, steps, counts, microsteps):
    coarse = steps_per_count(thread, screw, steps, counts) * screw / steps
    fine = steps_per_count(thread, screw, steps * microsteps, counts) * screw / (steps * microsteps)
    assert fine == coarse


@pytest.mark.parametrize("lead", [1.5, 0, Fraction(0), "3/2", math.nan, None])
def test_a_lead_that_is_rounded_zero_or_no_number_is_refused(lead):
    with pytest.raises(RangeError, match="thread_lead_mm"):
        steps_per_count(lead, 3, 3200, 4000)


@pytest.mark.parametrize("place", [1, 2, 3])
@pytest.mark.parametrize("value", [0, -3, 2.5])
def test_what_turns_nothing_is_refused_by_name(place, value):
    names = ["thread_lead_mm", "screw_lead_mm", "steps_per_screw_turn", "counts_per_spindle_turn"]
    inputs = [Fraction(3, 2), 3, 3200, 4000]
    inputs[place] = value
    with pytest.raises(RangeError, match=names[place]):
        steps_per_count(*inputs)


@given(st.integers(-(10**12), 10**12), st.integers(-(10**9), 10**9).filter(bool), st.integers(1, 10**9))
@settings(max_examples=500, deadline=None)
def test_a_step_is_the_nearest_one_with_a_half_rounded_up(count, numerator, denominator):
    ratio = Fraction(numerator, denominator)
    exact = (2 * ratio.numerator * count + ratio.denominator) // (2 * ratio.denominator)
    if abs(exact) < INT64 - 1:
        steps = screw_steps(count, ratio)
        assert type(steps) is int
        assert steps == exact
        assert abs(steps - ratio * count) <= Fraction(1, 2)


@given(
    st.lists(st.integers(-(10**12), 10**12), max_size=30),
    st.fractions(Fraction(-20), 20, max_denominator=10**15).filter(bool),
)
def test_an_array_of_counts_gives_the_same_steps_as_one_by_one(counts, ratio):
    steps = screw_steps(np.array(counts, dtype=np.int64), ratio)
    assert steps.dtype == np.int64
    assert steps.tolist() == [screw_steps(count, ratio) for count in counts]


@pytest.mark.parametrize("kind", [np.int8, np.uint8, np.int16, np.int32, np.uint32, np.int64, np.uint64])
def test_every_kind_of_whole_array_keeps_its_shape_and_gives_exact_steps(kind):
    highest = np.iinfo(kind).max
    counts = np.array([[0, 1, 2], [highest, highest - 1, highest // 3]], dtype=kind)
    steps = screw_steps(counts, Fraction(127, 375))
    assert steps.shape == counts.shape
    assert steps.tolist() == [[(254 * int(c) + 375) // 750 for c in row] for row in counts]


@pytest.mark.parametrize(
    "count", [1.5, 2.0, math.nan, "7", None, True, [1, 2.5], [True, False], [[1], ["x"]], [[1], [1, 2]]]
)
def test_a_count_that_is_not_whole_is_refused(count):
    with pytest.raises(RangeError, match="count"):
        screw_steps(count, Fraction(2, 5))


def test_a_step_that_does_not_fit_is_refused_and_not_wrapped_round():
    assert screw_steps(2**62, 1) == 2**62
    assert screw_steps(-(2**62), Fraction(3, 2)) == -(3 * 2**61)
    with pytest.raises(RangeError, match="64 bits"):
        screw_steps(2**62, 2)
    with pytest.raises(RangeError, match="64 bits"):
        screw_steps(np.array([5, -(2**62)]), Fraction(-9, 2))


@pytest.mark.parametrize(
    "ratio", [Fraction(127, 375), Fraction(-48, 127), Fraction(191, 228), Fraction(7, 2)]
)
def test_a_million_random_forward_and_reverse_counts_end_in_the_same_step(ratio):
    moves = np.random.default_rng(127).integers(0, 2, 1_000_000) * 2 - 1
    counts = np.cumsum(moves)
    steps = screw_steps(counts, ratio)
    errors = steps * ratio.denominator - counts * ratio.numerator
    assert 2 * np.abs(errors).max() <= ratio.denominator, "never more than half a step from the true place"
    assert np.abs(np.diff(steps)).max() <= math.ceil(abs(ratio)), (
        "an edge never moves more than one count's worth"
    )
    back = screw_steps(counts[-1] - np.cumsum(moves[::-1]), ratio)
    assert back[-1] == screw_steps(0, ratio) == 0
    assert (steps[:-1] == back[:-1][::-1]).all(), "the way back passes through the very same steps"
    whole = [
        (2 * ratio.numerator * c + ratio.denominator) // (2 * ratio.denominator)
        for c in counts[-1000:].tolist()
    ]
    assert steps[-1000:].tolist() == whole


def test_a_running_sum_of_floats_does_not_come_back_and_the_function_does():
    # What the function form is for: the same million counts with a 32-bit ratio summed as they come.
    moves = np.random.default_rng(127).integers(0, 2, 1_000_000) * 2 - 1
    walk = np.concatenate([moves, -moves[::-1]])
    summed = np.cumsum(walk.astype(np.float32) * np.float32(127 / 375), dtype=np.float32)
    assert summed[-1] != 0
    assert screw_steps(int(walk.sum()), Fraction(127, 375)) == 0


@given(st.integers(-(10**12), 10**12), st.fractions(Fraction(-3), 3, max_denominator=10**12).filter(bool))
def test_the_rounding_error_told_is_the_step_less_its_true_place(count, ratio):
    exact = screw_steps(count, ratio) - ratio * count
    assert rounding_error_steps(count, ratio) == pytest.approx(float(exact), abs=1e-15)


@given(st.integers(1, 400))
def test_rounding_errors_of_one_pattern_have_a_mean_of_at_most_half_a_part(denominator):
    ratio = Fraction(1, denominator)
    mean = rounding_error_steps(np.arange(denominator), ratio).mean()
    assert abs(mean) <= 0.5 / denominator + 1e-12


@given(ratios, ratios)
def test_a_pitch_error_undoes_itself(used, wanted):
    there = 1 + pitch_error_ppm(used, wanted) / 1e6
    back = 1 + pitch_error_ppm(wanted, used) / 1e6
    assert there * back == pytest.approx(1)
    assert math.isnan(pitch_error_ppm(math.nan, wanted))
    assert math.isnan(pitch_error_ppm(used, math.nan))


@given(st.sets(st.integers(16, 72), min_size=4, max_size=7), st.data())
@settings(max_examples=60, deadline=None)
def test_change_gears_finds_every_train_that_meshes_and_no_other(shelf, data):
    a, b, c, d = data.draw(st.permutations(sorted(shelf)).map(lambda order: order[:4]))
    ratio = Fraction(a * c, b * d)
    found = {train.wheels for train in change_gears(ratio, sorted(shelf))}
    single = {((a, b),) for a, b in permutations(shelf, 2) if Fraction(a, b) == ratio}
    double = {
        ((a, b), (c, d))
        for a, b, c, d in permutations(shelf, 4)
        if Fraction(a * c, b * d) == ratio and a + b > c + 15
    }
    assert found == single | double


@given(st.sets(st.integers(16, 60), min_size=6, max_size=6))
@settings(max_examples=20, deadline=None)
def test_three_pairs_use_each_wheel_once_and_give_the_ratio(shelf):
    a, b, c, d, e, f = sorted(shelf)
    ratio = Fraction(a * c * e, b * d * f)
    trains = change_gears(ratio, list(shelf), pairs=3)
    for train in trains:
        wheels = [wheel for pair in train.wheels for wheel in pair]
        assert len(set(wheels)) == len(wheels)
        assert train.ratio == ratio
    assert any(len(train.wheels) == 3 for train in trains)


def test_two_wheels_alike_are_used_twice_only_when_listed_twice():
    ratio = Fraction(1, 4)
    assert change_gears(ratio, [20, 20, 40, 40]) != []
    assert change_gears(ratio, [20, 40, 40]) == []
    assert len(change_gears(ratio, [20, 20, 40, 40])) == 1


def test_the_train_with_the_fewest_wheels_comes_first_and_of_equals_the_one_that_clears_every_shaft():
    trains = change_gears(Fraction(18, 23), [20, 25, 30, 36, 40, 45, 46, 50, 60])
    assert len(trains[0].wheels) == 1
    order = [(len(train.wheels), not train.clears_next_shaft) for train in trains]
    assert order == sorted(order)
    assert order[-1] == (2, True)


@given(st.sampled_from(sorted(combinations([20, 24, 30, 36, 40, 45, 50, 60, 127], 4))))
def test_a_train_and_the_electronic_ratio_made_from_its_thread_agree(wheels):
    a, b, c, d = wheels
    screw = Fraction(127, 40)
    thread = screw * Fraction(a * c, b * d)
    electronic = steps_per_count(thread, screw, 4000, 2700)
    trains = change_gears(geared_train_ratio(electronic, 2700, 4000), list(wheels))
    assert all(train.ratio * screw == thread for train in trains)
    assert ((a, b), (c, d)) in {train.wheels for train in trains} or a + b <= c + 15


@pytest.mark.parametrize(
    ("ratio", "gears", "pairs", "says"),
    [
        (0.5, [20, 40], 1, "ratio"),
        (0, [20, 40], 1, "ratio"),
        (Fraction(1, 2), [20, 40.0], 1, "gears"),
        (Fraction(1, 2), [7, 14], 1, "gears"),
        (Fraction(1, 2), [20, 40], 0, "pairs"),
        (Fraction(1, 2), [20, 40], 4, "pairs"),
    ],
)
def test_a_shelf_or_a_ratio_that_cannot_be_is_refused_by_name(ratio, gears, pairs, says):
    with pytest.raises(RangeError, match=says):
        change_gears(ratio, gears, pairs)
