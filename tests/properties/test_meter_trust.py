"""The rule for believing a reading: never during a coast, always once it has settled."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simulate.coast_log import Display, Truth, meter_speed_rpm, write_log

from machinelab.errors import RangeError
from machinelab.spindle.meter_trust import settled, watching_time_s
from machinelab.spindle.speed_meter import reading_age_s

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

displays = st.builds(
    Display,
    lag_s=st.floats(0.1, 1.5),
    hold_s=st.sampled_from([None, 0.25, 0.5]),
    resolution_rpm=st.sampled_from([0.1, 1.0]),
    noise_rpm=st.just(0.0),
    glitches=st.just(0.0),
    gate_s=st.sampled_from([0.0, 0.25]),
)
coasts = st.builds(
    Truth,
    start_rpm=st.floats(300, 1600),
    coulomb_rad_s2=st.floats(0.3, 6),
    viscous_per_s=st.floats(0, 0.05),
    windage_per_rad=st.floats(0, 2e-4),
    start_s=st.floats(6, 9),
)


def age_of(display):
    return reading_age_s(lag_s=display.lag_s, gate_s=display.gate_s, hold_s=display.hold_s or 0.0)


def believed(display, time_s, shown, tolerance):
    return settled(
        time_s,
        shown,
        reading_age_s=age_of(display),
        tolerance_rpm=tolerance,
        resolution_rpm=display.resolution_rpm,
        cutoff_rpm=display.cutoff_rpm,
    )


@given(coasts, displays, st.floats(1.2, 6.0), st.integers(0, 1000))
@settings(max_examples=60, deadline=None)
def test_no_reading_is_believed_during_a_coast(truth, display, tolerance, seed):
    time_s, shown = write_log(truth, display, seed)
    stop_s, _ = truth.stop(truth.start_rpm)
    slowest_rpm_s = truth.coulomb_rad_s2 * 30 / np.pi
    if slowest_rpm_s * age_of(display) < 2 * tolerance:
        # So slow a coast that a reading is within the tolerance while it lasts is no coast to be caught.
        return
    # The display may still show what it took before the drive let go.
    fresh_s = truth.start_s + (display.hold_s or 0.0) + display.gate_s
    coasting = (time_s > fresh_s) & (time_s < truth.start_s + stop_s)
    assert not np.any(believed(display, time_s, shown, tolerance)[coasting])


@given(coasts, displays, st.integers(0, 1000))
@settings(max_examples=40, deadline=None)
def test_what_is_believed_is_true_within_the_tolerance_and_a_step(truth, display, seed):
    tolerance = 3.0
    time_s, shown = write_log(truth, display, seed)
    taken = believed(display, time_s, shown, tolerance)
    true = meter_speed_rpm(truth, 0, float(time_s[-1]))(time_s)
    worst_age = display.lag_s + display.gate_s + (display.hold_s or 0.0)
    allowed = tolerance * worst_age / age_of(display) + display.resolution_rpm
    assert np.all(np.abs(shown - true)[taken] <= allowed)


@given(displays, st.floats(1.2, 6.0), st.floats(50, 1500))
@settings(max_examples=40, deadline=None)
def test_a_steady_speed_is_believed_once_it_has_been_watched_long_enough(display, tolerance, speed):
    watch_s = watching_time_s(
        reading_age_s=age_of(display), tolerance_rpm=tolerance, resolution_rpm=display.resolution_rpm
    )
    time_s = np.arange(0, 4 * watch_s + 2, 0.1)
    shown = np.full(time_s.size, round(speed / display.resolution_rpm) * display.resolution_rpm)
    taken = believed(display, time_s, shown, tolerance)
    inside = (time_s > watch_s + 0.2) & (time_s < time_s[-1] - watch_s - 0.2)
    # The readings lie 0.1 s apart, so the watched stretch can be that much shorter than asked for.
    if watch_s > 1.0:
        assert np.all(taken[inside])
    assert not np.any(taken[time_s < watch_s])


def test_a_display_of_zero_is_never_believed():
    time_s = np.arange(0, 60, 0.25)
    taken = settled(time_s, np.zeros(time_s.size), reading_age_s=0.95, tolerance_rpm=2, cutoff_rpm=10)
    assert not np.any(taken)


def test_readings_at_the_ends_and_missing_ones_are_not_believed():
    time_s = np.arange(0, 20, 0.25)
    shown = np.full(time_s.size, 600.0)
    shown[40] = np.nan
    taken = settled(time_s, shown, reading_age_s=0.5, tolerance_rpm=2, resolution_rpm=1)
    assert not taken[0]
    assert not taken[-1]
    assert not taken[40]
    assert taken[15]


def test_a_tolerance_of_nothing_is_refused():
    log = SimpleNamespace(time_s=np.arange(5.0), shown=np.ones(5))
    with pytest.raises(RangeError, match="tolerance_rpm"):
        settled(log.time_s, log.shown, reading_age_s=0.5, tolerance_rpm=0.0)
