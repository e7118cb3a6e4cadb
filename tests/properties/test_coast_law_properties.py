"""What must hold for every run-down, whatever its drags."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from machinelab.errors import RangeError
from machinelab.spindle.coast_law import (
    coast_deceleration_rad_s2,
    coast_speed_rad_s,
    coast_stop_time_s,
    coast_turns,
    coast_turns_made,
)
from machinelab.spindle.coast_model import shown_speed_rad_s, turned_angle_rad


def powers_of_ten(low, high):
    return st.floats(low, high).map(lambda exponent: 10.0**exponent)


ORDER = ["start_speed_rad_s", "coulomb_rad_s2", "viscous_per_s", "windage_per_rad", "start_s", "lag_s"]

starts = powers_of_ten(0, 2.5)
laws = st.fixed_dictionaries(
    {
        "coulomb_rad_s2": powers_of_ten(-3, 1.5),
        "viscous_per_s": st.one_of(st.just(0.0), powers_of_ten(-12, -0.5)),
        "windage_per_rad": st.one_of(st.just(0.0), powers_of_ten(-16, -2)),
    }
)


def integral(integrand, start):
    # The integrand has its corner near standstill: decades are integrated one by one.
    edges = start * np.concatenate([[0], np.logspace(-8, 0, 9)])
    return sum(quad(integrand, *edge, epsabs=0, epsrel=1e-12)[0] for edge in pairwise(edges))


@given(starts, laws)
def test_stop_time_is_the_integral_of_one_over_deceleration(start, law):
    expected = integral(lambda speed: 1 / coast_deceleration_rad_s2(speed, **law), start)
    assert coast_stop_time_s(start, **law) == pytest.approx(expected, rel=1e-9)


@given(starts, laws)
def test_turns_are_the_integral_of_speed_over_deceleration(start, law):
    expected = integral(lambda speed: speed / coast_deceleration_rad_s2(speed, **law), start) / (2 * np.pi)
    assert coast_turns(start, **law) == pytest.approx(expected, rel=1e-8)


@given(starts, laws, st.floats(0.01, 0.99))
def test_a_run_down_cut_in_two_takes_the_same_time_and_turns(start, law, share):
    stop_s = coast_stop_time_s(start, **law)
    halfway = coast_speed_rad_s(share * stop_s, start_speed_rad_s=start, **law)
    assume(halfway > 1e-6 * start)
    assert share * stop_s + coast_stop_time_s(halfway, **law) == pytest.approx(stop_s, rel=1e-7)
    made = coast_turns_made(share * stop_s, start_speed_rad_s=start, **law)
    assert made + coast_turns(halfway, **law) == pytest.approx(coast_turns(start, **law), rel=1e-7)


@given(starts, laws, st.sampled_from(["coulomb_rad_s2", "viscous_per_s", "windage_per_rad"]))
def test_more_drag_of_any_kind_never_runs_longer_or_further(start, law, drag):
    more = law | {drag: 1.1 * law[drag] + 1e-6}
    assert coast_stop_time_s(start, **more) <= coast_stop_time_s(start, **law) * (1 + 1e-9)
    assert coast_turns(start, **more) <= coast_turns(start, **law) * (1 + 1e-8)


@given(st.lists(starts, min_size=1, max_size=5), laws)
def test_an_array_gives_what_its_numbers_give_one_by_one(speeds, law):
    together = coast_stop_time_s(np.array(speeds), **law), coast_turns(np.array(speeds), **law)
    one_by_one = (
        [coast_stop_time_s(speed, **law) for speed in speeds],
        [coast_turns(speed, **law) for speed in speeds],
    )
    assert np.array_equal(together, one_by_one)


@given(starts, laws)
def test_the_spindle_stands_still_after_the_stop_and_never_turns_back(start, law):
    stop_s = coast_stop_time_s(start, **law)
    times = stop_s * np.linspace(-0.2, 1.4, 60)
    speeds = coast_speed_rad_s(times, start_speed_rad_s=start, **law)
    assert np.all(speeds >= 0)
    assert np.all(np.diff(speeds) <= 1e-9 * start)
    assert np.all(speeds[times > stop_s] == 0)
    assert np.all(speeds[times <= 0] == start)


@given(laws)
def test_missing_speed_gives_missing_time(law):
    assert np.isnan(coast_stop_time_s(np.nan, **law))
    assert np.isnan(coast_speed_rad_s(np.nan, start_speed_rad_s=100.0, **law))


@given(starts, st.floats(0.01, 1))
def test_drags_that_would_drive_the_spindle_are_refused(start, negative):
    with pytest.raises(RangeError, match="speed the spindle up"):
        coast_stop_time_s(start, coulomb_rad_s2=-negative)


def ordinary(start, law):
    """Within the range that the node grid of the model is documented for."""
    return coast_deceleration_rad_s2(start, **law) < 60 * law["coulomb_rad_s2"]


@given(starts, laws, st.floats(0.02, 2.0), st.integers(0, 5))
def test_each_derivative_of_the_shown_speed_is_what_a_small_change_does(start, law, lag_s, which):
    stop_s = coast_stop_time_s(start, **law)
    assume(0.5 < stop_s < 1e4 and ordinary(start, law))
    lag_s *= stop_s / 10
    times = np.linspace(0.1, 1.3, 40) * stop_s
    parameters = {"start_speed_rad_s": start, **law, "start_s": 0.2 * stop_s, "lag_s": lag_s}
    name = ORDER[which]
    total = coast_deceleration_rad_s2(start, **law)
    step = 1e-5 * [start, total, total / start, total / start**2, stop_s, lag_s][which]
    up, down = ({**parameters, name: parameters[name] + sign * step} for sign in (1, -1))
    if name.endswith(("_per_s", "_per_rad")):
        down = parameters
    change = shown_speed_rad_s(times, **up)[0] - shown_speed_rad_s(times, **down)[0]
    slope = change / (up[name] - down[name])
    computed = shown_speed_rad_s(times, **parameters)[1][:, which]
    assert computed == pytest.approx(slope, abs=0.02 * np.max(np.abs(slope)))


@given(starts, laws)
def test_the_turned_angle_is_the_closed_form_of_the_turns(start, law):
    stop_s = coast_stop_time_s(start, **law)
    assume(0.5 < stop_s < 1e4 and ordinary(start, law))
    times = np.linspace(0, 1.2, 30) * stop_s
    angle, _, _ = turned_angle_rad(times, start_s=0.0, start_speed_rad_s=start, **law)
    expected = 2 * np.pi * coast_turns_made(times, start_speed_rad_s=start, **law)
    assert angle == pytest.approx(expected, abs=1e-6 * expected[-1])
