"""The fits of a run-down beside other ways to the same: closed forms, polynomials, plain least squares.

Where a fit is told that its readings are rough it weighs them all alike, and is plain least squares.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from machinelab.errors import LogError, RangeError
from machinelab.spindle.coast_angles import CoastAngles, _AngleProblem, solve_angles
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_stop_time_s, coast_turns
from machinelab.spindle.coast_model import shown_speed_rad_s, turned_angle_rad
from machinelab.spindle.coast_pulses import _intervals, _numbered, angles_of_pulses
from machinelab.spindle.coast_readings import CoastReadings
from machinelab.spindle.coast_speeds import _Problem, first_guess, solve_speeds
from machinelab.spindle.coastdown import _model_for, _telling_drags, fit
from machinelab.spindle.robust_fit import HUBER, TUKEY, _huber, _tukey, robust_fit
from machinelab.spindle.speed_meter import Meter

RPM = 2 * np.pi / 60
START, SLOWING, LET_GO_S = 100.0, 3.0, 4.0  # rad/s, rad/s2: dry friction alone, which a parabola describes.
SECOND_MARK_RAD = 0.17  # So far beside its place opposite to the first.
DRAGS = ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")


def pulse_stamps() -> np.ndarray:
    """When each of two marks passes, the second one not quite opposite to the first."""
    number = np.arange(640)
    place = np.pi * number + np.where(number % 2, SECOND_MARK_RAD, 0) + 0.1
    beyond = np.maximum(place - START * LET_GO_S, 0)
    slowed_s = (START - np.sqrt(START**2 - 2 * SLOWING * beyond)) / SLOWING
    return np.minimum(place / START, LET_GO_S) + slowed_s


def true_speed(time_s):
    return START - SLOWING * np.maximum(time_s - LET_GO_S, 0)


# --- Pulses become angles.


def test_missed_pulses_leave_a_gap_in_the_numbers_and_an_extra_one_is_taken_out():
    stamps = pulse_stamps()
    echo = 0.7 * stamps[300] + 0.3 * stamps[301]
    spoilt = np.sort(np.append(np.delete(stamps, [100, 200, 201]), echo))
    left, number, notes = _numbered(spoilt, 2)
    assert left == pytest.approx(np.delete(stamps, [100, 200, 201]))
    assert np.array_equal(number, np.delete(np.arange(640), [100, 200, 201]))
    assert notes == [
        "1 extra pulses between two marks were left out.",
        "3 missed pulses were counted in.",
    ]
    untouched, number, notes = _numbered(stamps, 2)
    assert np.array_equal(untouched, stamps)
    assert np.array_equal(number, np.arange(640))
    assert notes == []


@pytest.mark.parametrize(("short", "extra"), [(0.61, 1), (0.64, 0)])
def test_two_short_intervals_are_one_only_where_they_make_up_a_usual_one_within_a_quarter(short, extra):
    intervals = np.full(40, 0.1)
    intervals[20:22] *= short
    left, _, notes = _numbered(np.append(0, np.cumsum(intervals)), 1)
    assert left.size == 41 - extra
    assert len(notes) == extra


def test_pulses_become_half_turns_with_the_speed_of_whole_turns_between_like_marks():
    stamps = pulse_stamps()
    found = angles_of_pulses(stamps, 2)
    first = int(np.searchsorted(stamps, found.time_s[0]))
    number = np.arange(first, first + found.time_s.size)
    assert found.time_s == pytest.approx(stamps[number])
    assert found.turned_rad == pytest.approx(np.pi * number)
    assert np.array_equal(found.mark, number % 2)
    assert found.marks == 2
    assert found.divisor == pytest.approx(true_speed(found.time_s), rel=2e-3)
    assert found.smallest_scale == 1e-7  # No clock of a logger is taken for finer.
    # A turn of constant slowing is as quick on the average as in its middle.
    middle_s = (stamps[2:] + stamps[:-2]) / 2
    assert found.speeds.time_s == pytest.approx(middle_s[: found.speeds.time_s.size])
    assert found.speeds.speed_rpm * RPM == pytest.approx(true_speed(found.speeds.time_s), rel=2e-3)
    assert found.speeds.time_s[0] <= found.time_s[0]
    assert found.time_s[-1] <= found.speeds.time_s[-1]


def test_pulses_that_are_none_are_refused_in_words():
    words = (
        "Pulse stamps must rise and cover at least 4 turns; here are {} stamps. Give one moment a pulse, in "
        "seconds, in the order in which they came."
    )
    stamps = pulse_stamps()
    for wrong in (stamps[:7], stamps[::-1], np.repeat(stamps, 2)):
        with pytest.raises(LogError) as refusal:
            angles_of_pulses(wrong, 2)
        assert str(refusal.value) == words.format(wrong.size)
    with pytest.raises(RangeError, match="marks_per_turn is 0"):
        angles_of_pulses(stamps, 0)
    # Four turns are pulses, though too few of them for a run-down.
    with pytest.raises(LogError, match="A coast-down fit needs at least 8 readings"):
        angles_of_pulses(stamps[:8], 2)


def test_what_is_usual_between_pulses_is_the_middle_of_the_seven_nearest_or_of_two_more_for_each_mark():
    """Of four long intervals side by side most of seven are long, and most of nine are not."""
    intervals = np.array([1.0] * 8 + [2.0] * 4 + [1.0] * 8)
    stamps = np.append(0, np.cumsum(intervals))
    found, usual = _intervals(stamps, 1)
    assert np.array_equal(found, intervals)
    assert np.array_equal(np.flatnonzero(usual == 2), [8, 9, 10, 11])
    assert np.all(_intervals(stamps, 2)[1] == 1)
    # Where there are fewer all of them are looked at, and the outermost stands for what lies beyond.
    assert list(_intervals(np.cumsum([0.0, 1, 1, 3, 5, 7, 9]), 1)[1]) == [1, 1, 3, 5, 7, 9]


def test_a_fit_to_pulses_gives_back_friction_moment_and_speed():
    log = SimpleNamespace(pulse_s=pulse_stamps(), marks_per_turn=2)
    found = fit(log, model="a")
    assert found.coulomb_rad_s2.value == pytest.approx(SLOWING)
    assert found.start_s.value == pytest.approx(LET_GO_S)
    assert found.start_speed_rpm.value == pytest.approx(START / RPM)
    assert (found.viscous_per_s.value, found.windage_per_rad.value) == (0, 0)
    assert (found.model, found.fitted, found.lag_s, found.warnings) == ("a", "a", None, ())
    assert abs(found.residuals_rpm).max() < 0.2  # One turn holds the kink.
    assert np.median(abs(found.residuals_rpm)) < 1e-6
    assert found.residuals_rpm.size == found.weights.size == found.readings.time_s.size
    with_all = fit(log)
    assert (with_all.model, with_all.fitted) == ("a", "abc")
    assert with_all.coulomb_rad_s2.value == pytest.approx(SLOWING)


def test_without_a_number_of_marks_there_is_one_a_turn():
    log = SimpleNamespace(pulse_s=pulse_stamps()[::2], marks_per_turn=None)
    assert fit(log, model="a").coulomb_rad_s2.value == pytest.approx(SLOWING)


def test_where_each_mark_stands_is_fitted_and_a_wild_stamp_weighs_nothing():
    stamps = pulse_stamps()
    stamps[400] += 0.001
    angles = angles_of_pulses(stamps, 2)
    found = solve_angles(angles, (0,))
    wild = np.argmin(np.abs(angles.speeds.time_s - stamps[400]))
    assert found.values[1] == pytest.approx(SLOWING)
    # Weights are those of the stamps, brought to the moments of the speeds.
    assert found.weights[[wild - 1, wild, wild + 1]].min() < 0.1
    assert np.median(found.weights) > 0.9


# --- Least squares by another way.


def rough(count: int) -> np.ndarray:
    """Scatter of deviation one, drawn once."""
    return np.random.default_rng(3).standard_normal(count)


def coasting(time_s, speed_rad_s, *, resolution_rpm=1e9, plateau=False, **others) -> CoastReadings:
    """Readings of which all count alike, since a step of the display is larger than any residual."""
    speed_rpm = speed_rad_s / RPM
    known = {"let_go_s": float(time_s[0]), "top_rpm": START / RPM, "update_s": None, "time_doubt": 0.0}
    return CoastReadings(time_s, speed_rpm, resolution_rpm, plateau=plateau, notes=(), **(known | others))


def plain_covariance(predict, numbers, residuals):
    """Of plain least squares: the mean square of what is left, times the inverse of J'J."""
    steps = 1e-6 * np.maximum(np.abs(numbers), 1e-3)
    columns = [(predict(numbers + s) - predict(numbers - s)) / (2 * s.max()) for s in np.diag(steps)]
    jacobian = np.column_stack(columns)
    freedom = residuals.size - numbers.size
    return np.linalg.inv(jacobian.T @ jacobian) * np.sum(residuals**2) / freedom


def test_angles_of_a_dry_coast_are_fitted_like_a_parabola():
    """Divided by the speed, an angle's doubt is a time; the weights of NumPy's polynomial do the same."""
    time_s = np.linspace(0, 25, 120)
    divisor = START - SLOWING * time_s
    angle = START * time_s - SLOWING * time_s**2 / 2 + 0.4 + 1e-3 * divisor * rough(time_s.size)
    angles = CoastAngles(
        time_s,
        angle,
        mark=np.zeros(time_s.size, int),
        marks=1,
        divisor=divisor,
        smallest_scale=1e6,
        speeds=coasting(time_s, divisor),
    )
    found = solve_angles(angles, (0,))
    parabola, covariance = np.polyfit(time_s, angle, 2, w=1 / divisor, cov=True)
    assert found.values[:2] == pytest.approx([parabola[1], -2 * parabola[0]])
    sd = np.sqrt(np.diag(found.covariance))
    assert sd[:2] == pytest.approx(np.sqrt([covariance[1, 1], 4 * covariance[0, 0]]), rel=1e-4)
    assert found.covariance[0, 1] == pytest.approx(-2 * covariance[0, 1], rel=1e-3)
    assert np.all(sd[2:] == 0)
    assert np.array_equal(found.told, [True, True, False, False, False, False])
    assert found.quantile == pytest.approx(stats.t.ppf(0.975, time_s.size - 3))
    line = parabola[1] + 2 * parabola[0] * time_s
    assert found.residuals_rpm == pytest.approx((divisor - line) / RPM, abs=1e-6)


def test_speeds_of_a_dry_coast_are_fitted_like_a_straight_line():
    time_s = np.linspace(2, 27, 60)
    speed = START - SLOWING * (time_s - 2) + 0.2 * rough(time_s.size)
    found = solve_speeds(coasting(time_s, speed), (0,), 0.0)
    line = stats.linregress(time_s - 2, speed)
    assert found.values == pytest.approx([line.intercept, -line.slope, 0, 0, 2, 0])
    sd = np.sqrt(np.diag(found.covariance))
    assert sd == pytest.approx([line.intercept_stderr, line.stderr, 0, 0, 0, 0], rel=1e-4)
    assert found.residuals_rpm == pytest.approx(
        (speed - line.intercept - line.slope * (time_s - 2)) / RPM, abs=1e-6
    )
    assert found.quantile == pytest.approx(stats.t.ppf(0.975, time_s.size - 2))
    assert found.weights == pytest.approx(1)
    in_doubt = solve_speeds(coasting(time_s, speed, time_doubt=0.01), (0,), 0.0)
    added = in_doubt.covariance - found.covariance
    assert added[1, 1] == pytest.approx((0.01 * found.values[1]) ** 2)
    assert np.count_nonzero(np.abs(added) > 1e-12) == 1


def test_three_drags_have_the_covariance_of_plain_least_squares():
    true = np.array([START, 2.0, 0.03, 2e-4])
    time_s = np.linspace(0, 15, 150)

    def law(numbers):
        named = dict(zip(DRAGS, numbers[1:], strict=True))
        return coast_speed_rad_s(time_s, start_speed_rad_s=numbers[0], **named)

    found = solve_speeds(coasting(time_s, law(true) + 0.05 * rough(time_s.size)), (0, 1, 2), 0.0)
    assert found.values[:4] / true == pytest.approx(1, abs=0.5)
    residuals = found.residuals_rpm * RPM
    sd = np.sqrt(np.diag(plain_covariance(law, found.values[:4], residuals)))
    assert np.sqrt(np.diag(found.covariance))[:4] == pytest.approx(sd, rel=0.01)
    exact = solve_speeds(coasting(time_s, law(true), resolution_rpm=0.0), (0, 1, 2), 0.0)
    assert exact.values[:4] == pytest.approx(true, rel=1e-5)


def lagging(time_s, numbers):
    """A dry run shown by a meter that lags: slowing evenly it comes later and later, up to its lag."""
    start, slowing, let_go_s, lag_s = numbers
    after = np.maximum(time_s - let_go_s, 0)
    return start - slowing * (after - lag_s * (1 - np.exp(-after / lag_s)))


@pytest.mark.parametrize("lag_s", [0.3, 0.8])
def test_moment_and_lag_are_told_from_a_bend_with_the_covariance_of_plain_least_squares(lag_s):
    time_s = np.arange(0, 24, 0.1)
    true = np.array([START, SLOWING, LET_GO_S, lag_s])
    shown = lagging(time_s, true) + 0.02 * rough(time_s.size)
    found = solve_speeds(coasting(time_s, shown, plateau=True, let_go_s=4.6), (0,), None)
    numbers = found.values[[0, 1, 4, 5]]
    assert numbers == pytest.approx(true, rel=0.05)
    residuals = shown - lagging(time_s, numbers)
    assert found.residuals_rpm * RPM == pytest.approx(residuals, abs=2e-3)
    sd = np.sqrt(np.diag(plain_covariance(lambda n: lagging(time_s, n), numbers, residuals)))
    assert np.sqrt(np.diag(found.covariance))[[0, 1, 4, 5]] == pytest.approx(sd, rel=0.02)
    assert np.array_equal(found.told, [True, True, False, False, True, True])


def test_a_lag_that_is_known_is_kept_and_one_that_cannot_be_told_leaves_the_moment_a_row_wide_in_doubt():
    time_s = np.arange(0, 24, 0.1)
    shown = lagging(time_s, (START, SLOWING, LET_GO_S, 0.5))
    kept = solve_speeds(coasting(time_s, shown, plateau=True, let_go_s=4.6), (0,), 0.5)
    assert kept.values[5] == 0.5
    assert not kept.told[5]
    assert kept.values[4] == pytest.approx(LET_GO_S, abs=1e-3)
    whole_rpm = np.round(true_speed(time_s) / RPM)
    sharp = coasting(time_s, whole_rpm * RPM, plateau=True, let_go_s=4.0, resolution_rpm=1.0)
    found = solve_speeds(sharp, (0,), None)
    assert found.values[4:] == pytest.approx([LET_GO_S, 0], abs=0.01)
    assert np.sqrt(found.covariance[4, 4]) == pytest.approx(0.1, abs=1e-3)
    assert not found.told[5]


@pytest.mark.parametrize("drags", [(3.0, 0.0, 0.0), (2.0, 0.05, 0.0), (2.0, 0.0, 4e-4), (1.0, 0.03, 2e-4)])
def test_the_first_guess_is_the_law_itself_where_there_is_no_scatter(drags):
    named = dict(zip(DRAGS, drags, strict=True))
    time_s = np.linspace(0, 0.95 * coast_stop_time_s(START, **named), 400) + 5
    speed = coast_speed_rad_s(time_s - 5, start_speed_rad_s=START, **named)
    steady_s = np.linspace(2, 4.9, 30)
    guess = first_guess(np.append(steady_s, time_s), np.append(np.full(30, START), speed), 5.0, START)
    powers = START ** np.arange(3)
    assert guess * powers == pytest.approx(np.array(drags) * powers, abs=0.02 * np.sum(drags * powers))


@pytest.mark.parametrize(("plateau", "start_s"), [(True, 4.6 - 0.4), (False, 2.0)])
def test_a_search_begins_with_the_first_guess_in_numbers_near_one(plateau, start_s):
    """Each drag is its share of the slowing at the start, and the drive let go one lag before it shows."""
    time_s = np.arange(2, 24, 0.1)
    speed = true_speed(time_s)
    problem = _Problem(coasting(time_s, speed, plateau=plateau, let_go_s=4.6), (0, 1, 2), None, 0.4)
    guess = first_guess(time_s, speed, 4.6, START)
    assert problem.values(problem.start) == pytest.approx([START, *guess, start_s, 0.4])
    assert problem.start[0] == 1
    assert np.sum(problem.start[1:4]) == pytest.approx(1)
    assert np.all(problem.start[4:] == 0)
    longer = problem.values(problem.start + np.append(np.zeros(problem.start.size - 1), np.log(2)))
    assert longer[5] == pytest.approx(0.8)
    known = _Problem(coasting(time_s, speed, plateau=plateau, let_go_s=4.6), (0,), 0.4)
    assert known.values(known.start)[4:] == pytest.approx([start_s, 0.4])
    assert known.start.size == 2 + plateau


def test_a_search_among_angles_begins_where_each_mark_stands_on_the_guessed_curve():
    angles = angles_of_pulses(pulse_stamps(), 2)
    problem = _AngleProblem(angles, (0, 1))
    speeds = angles.speeds
    guess = first_guess(speeds.time_s, speeds.speed_rpm * RPM, speeds.let_go_s, speeds.top_rpm * RPM)
    values = problem.values(problem.start)
    assert values == pytest.approx([START, *guess[:2], 0, speeds.let_go_s, 0])
    assert problem.start[0] == 1
    guessed = dict(zip(ORDER, [START, *guess, speeds.let_go_s], strict=True))
    stands = angles.turned_rad - turned_angle_rad(angles.time_s, **guessed)[0]
    by_mark = [np.median(stands[angles.mark == mark]) for mark in (0, 1)]
    assert problem.start[-2:] == pytest.approx(by_mark)
    assert problem.predict(np.append(0.0, problem.start[1:])) == (None, None)


def test_the_first_guess_is_not_pulled_by_a_few_wild_readings():
    time_s = np.arange(0, 30, 0.1)
    speed = START - SLOWING * time_s
    speed[[60, 61, 150, 220]] = [30, 35, 90, 80]
    guess = first_guess(time_s, speed, 0.0, START) * START ** np.arange(3)
    assert np.sum(guess) == pytest.approx(SLOWING, rel=0.05)


# --- What a meter shows, and the turned angle, with their slopes.

LAW = {"start_s": 1.5, "start_speed_rad_s": 80.0} | dict(zip(DRAGS, (2.0, 0.03, 3e-4), strict=True))
ORDER = ("start_speed_rad_s", *DRAGS, "start_s")
STOP_S = float(coast_stop_time_s(80.0, **{name: LAW[name] for name in DRAGS}))


@pytest.mark.parametrize("which", range(5))
@pytest.mark.parametrize("lag_s", [None, 0.0])
def test_each_slope_of_angle_and_speed_is_what_a_small_change_does(which, lag_s):
    time_s = np.concatenate([[-1.0, 0.7], 1.5 + STOP_S * np.linspace(0.03, 1.3, 25)])

    def made(law):
        if lag_s is None:
            return turned_angle_rad(time_s, **law)[:2]
        return shown_speed_rad_s(time_s, **law, lag_s=lag_s)

    name = ORDER[which]
    step = 1e-4 * LAW[name]
    more, less = (made(LAW | {name: LAW[name] + sign * step})[0] for sign in (1, -1))
    slope = (more - less) / (2 * step)
    assert made(LAW)[1][:, which] == pytest.approx(slope, abs=1e-3 * np.max(np.abs(slope)))


def test_before_the_drive_lets_go_the_spindle_turns_steadily_and_after_the_stop_it_stands():
    free = {name: LAW[name] for name in DRAGS}
    time_s = np.array([-0.5, 1.5, 1.5 + STOP_S / 2, 1.5 + STOP_S, 1.5 + 2 * STOP_S])
    angle, _, speed = turned_angle_rad(time_s, **LAW)
    turned = 2 * np.pi * coast_turns(80.0, **free)
    assert angle[[0, 1, 3, 4]] == pytest.approx([-160, 0, turned, turned], abs=1e-6)
    half_way = coast_speed_rad_s(STOP_S / 2, start_speed_rad_s=80.0, **free)
    assert speed == pytest.approx([80, 80, half_way, 0, 0], abs=1e-6)
    shown, slopes = shown_speed_rad_s(time_s, **LAW, lag_s=0.0)
    assert shown == pytest.approx(speed, abs=1e-6)
    assert np.all(slopes[:, 5] == 0)
    # A settled meter shows the speed until the drive lets go; after the stop it fades with its lag.
    late, _ = shown_speed_rad_s(np.append(time_s, 1.5 + 2 * STOP_S + 0.7), **LAW, lag_s=0.7)
    assert late[:2] == pytest.approx([80, 80])
    assert late[5] == pytest.approx(late[4] / np.e)


# --- The door: what is predicted, and in which words.


def dry_log(scatter=0.0):
    time_s = np.arange(0, 37, 0.25)
    speed = np.maximum(true_speed(time_s), 0)
    return SimpleNamespace(time_s=time_s, speed_rpm=speed / RPM + scatter * rough(time_s.size))


def test_time_and_turns_from_a_speed_carry_the_doubt_of_the_friction():
    """Of w/a and w^2/2a the doubt is that of a, share for share."""
    found = fit(dry_log(scatter=4.0), model="a", meter=Meter(lag_s=0.0))
    slowing, sd = found.coulomb_rad_s2.value, np.sqrt(found.drag_covariance[0, 0])
    speeds_rpm = np.array([200.0, 900.0, 1400.0])
    for predicted, by_hand in (
        (found.stop_time_s(speeds_rpm), speeds_rpm * RPM / slowing),
        (found.turns_to_stop(speeds_rpm), (speeds_rpm * RPM) ** 2 / (2 * slowing) / (2 * np.pi)),
    ):
        assert predicted.value == pytest.approx(by_hand)
        low, high = predicted.interval
        assert (high - low) / 2 == pytest.approx(by_hand * found.quantile * sd / slowing, rel=1e-3)
        assert (high + low) / 2 == pytest.approx(by_hand)
    assert found.quantile * sd / slowing > 1e-3
    low, high = found.coulomb_rad_s2.interval
    assert (high - low) / 2 == pytest.approx(found.quantile * sd)


def test_no_prediction_is_surer_than_a_thousandth():
    found = fit(dry_log(), model="a", meter=Meter(lag_s=0.0))
    low, high = found.stop_time_s(900).interval
    assert (high - low) / 2 == pytest.approx(1e-3 * 900 * RPM / SLOWING, rel=1e-3)
    assert isinstance(found.stop_time_s(900).value, float)


def test_a_speed_beyond_one_and_a_half_times_the_tested_one_is_refused_with_both():
    found = fit(dry_log(), model="a", meter=Meter(lag_s=0.0))
    top_rpm = found.tested_rpm
    assert top_rpm == pytest.approx(954.93, abs=0.01)
    assert found.turns_to_stop(1432.3).value > 0
    assert found.turns_to_stop(0).value == 0
    for wrong in (1432.5, -1.0, [100, 1500]):
        with pytest.raises(RangeError) as refusal:
            found.turns_to_stop(wrong)
        assert str(refusal.value) == (
            f"coast-down: {np.max(wrong):.4g} rpm is asked for, but the run was logged from 954.9 rpm; "
            "ask for 0 to 1432 rpm, or log a run from a higher speed."
        )


def test_speed_and_reading_at_a_moment_of_the_log_follow_the_law():
    time_s = np.arange(0, 30, 0.1)
    log = SimpleNamespace(time_s=time_s, speed_rpm=lagging(time_s, (START, SLOWING, LET_GO_S, 0.5)) / RPM)
    found = fit(log, model="a")
    moments = np.array([1.0, 5.0, 20.0])
    assert found.speed_rpm(moments) * RPM == pytest.approx(true_speed(moments), rel=1e-3)
    assert found.shown_rpm(moments) * RPM == pytest.approx(
        lagging(moments, (START, SLOWING, LET_GO_S, 0.5)), rel=1e-3
    )
    falling = time_s[60:]
    no_plateau = fit(SimpleNamespace(time_s=falling, speed_rpm=true_speed(falling) / RPM), model="a")
    assert no_plateau.start_s is None
    assert no_plateau.lag_s is None
    assert no_plateau.speed_rpm(20.0) == pytest.approx(no_plateau.shown_rpm([20.0])[0], rel=1e-4)
    assert no_plateau.warnings == (
        "The log does not hold 3 s of steady speed before the drive let go, so the meter's lag cannot be "
        "told: the readings were taken as the speed itself. Log 5 s of steady speed first, or give the "
        "meter's lag.",
    )


def test_friction_is_a_torque_only_with_a_moment_of_inertia():
    dry, heavy = dry_log(scatter=0.5), dry_log()
    found = fit(dry, model="a", meter=Meter(lag_s=0.0))
    assert found.friction_torque_nm([0, 500], inertia_kg_m2=0.05) == pytest.approx(0.05 * SLOWING, rel=1e-3)
    with pytest.raises(RangeError, match=r"^coast-down: one free run tells .* or from a braked run\.$"):
        found.friction_torque_nm(500)
    heavy.time_s = np.arange(0, 60, 0.25)
    heavy.speed_rpm = np.maximum(START - 1.8 * np.maximum(heavy.time_s - LET_GO_S, 0), 0) / RPM
    heavy.speed_rpm += 0.5 * rough(heavy.time_s.size)
    both = fit((dry, heavy), model="a", meter=Meter(lag_s=0.0), added_inertia_kg_m2=0.02)
    assert both.inertia_kg_m2.value == pytest.approx(0.03, rel=0.01)
    assert both.friction_torque_nm(500) == pytest.approx(both.inertia_kg_m2.value * SLOWING, rel=1e-3)
    for wrong in (dry, (dry,), (dry, heavy, dry)):
        with pytest.raises(RangeError, match="twice the friction on twice the inertia looks the same"):
            fit(wrong, added_inertia_kg_m2=0.02)


def test_a_model_that_is_none_is_refused_with_those_that_are():
    with pytest.raises(RangeError) as refusal:
        fit(dry_log(), model="b")
    assert str(refusal.value) == "coast-down: model 'b' is not known; choose auto, a, ab, ac, abc."


@pytest.mark.parametrize(
    ("rows", "told", "model"), [(25, 0, "abc"), (24, 1, "abc"), (10, 1, "abc"), (9, 2, "ab")]
)
def test_fewer_readings_leave_wider_intervals_and_in_the_end_no_windage(rows, told, model):
    warnings = []
    assert _model_for(SimpleNamespace(time_s=np.zeros(rows)), "auto", warnings) == model
    assert (
        warnings
        == [
            f"Only {rows} readings: the intervals are wide. Some 25 or more are better.",
            "Windage was left out: below 10 readings it looks like viscous drag.",
        ][:told]
    )
    assert _model_for(SimpleNamespace(time_s=np.zeros(rows)), "ac", warnings) == "ac"


@pytest.mark.parametrize(("times_doubt", "model"), [(1.69, "a"), (1.72, "ab")])
def test_a_drag_is_told_where_it_pays_for_its_number_by_the_corrected_criterion(times_doubt, model):
    """Of 30 readings, with 4 numbers and the scatter, 2k + 2k(k + 1)/(n - k - 1) is 12.5; with 3 it is 9.6.

    The square of a drag over its doubt must make up for the 2.9 (criterion of Akaike, corrected for few
    readings, from memory).
    """
    covariance = np.diag([0.0, 0.01, 1e-6, 0.0, 0.0, 0.0])
    values = np.array([START, 3.0, times_doubt * 1e-3, 0.0, 4.0, 0.0])
    solution = SimpleNamespace(
        values=values, covariance=covariance, told=np.array([True, True, True, False, True, False])
    )
    assert _telling_drags(solution, 30, "ab") == model


# --- Robust least squares.


def test_the_tamed_residuals_are_the_roots_of_twice_the_losses_of_huber_and_tukey():
    """Huber: x^2/2, then k|x| - k^2/2. Tukey: c^2/6 (1 - (1 - (x/c)^2)^3), then c^2/6 (textbook)."""
    x = np.array([-7.0, -4.0, -1.5, -1.3, -0.2, 0.0, 0.4, 1.3, 1.5, 3.0, 4.6, 4.8])
    size = np.abs(x)
    huber = np.where(size <= HUBER, x**2 / 2, HUBER * size - HUBER**2 / 2)
    tukey = np.where(
        size < TUKEY, TUKEY**2 / 6 * (1 - (1 - np.minimum(size / TUKEY, 1) ** 2) ** 3), TUKEY**2 / 6
    )
    for tamed, loss in ((_huber, huber), (_tukey, tukey)):
        root, slope = tamed(x)
        assert root**2 / 2 == pytest.approx(loss)
        assert np.array_equal(np.sign(root), np.sign(x))
        assert slope == pytest.approx((tamed(x + 1e-6)[0] - tamed(x - 1e-6)[0]) / 2e-6, abs=1e-5)


def line_of(place):
    design = np.column_stack([np.ones_like(place), place])
    return lambda numbers: (design @ numbers, design)


def test_a_robust_line_finds_the_scale_of_the_scatter_and_weighs_by_tukeys_bisquare():
    place = np.linspace(0, 1, 200)
    off = 0.1 * rough(200)
    off[[20, 120]] = [3.0, -4.0]
    found = robust_fit(line_of(place), [0.0, 0.0], 5 + 2 * place + off, smallest_scale=1e-9)
    assert found.parameters == pytest.approx([5, 2], abs=0.05)
    residuals = line_of(place)(found.parameters)[0] - (5 + 2 * place + off)
    assert found.residuals == pytest.approx(residuals)
    assert found.scale == pytest.approx(1.4826 * stats.median_abs_deviation(residuals), rel=0.06)
    share = np.minimum(np.abs(residuals) / (TUKEY * found.scale), 1)
    assert found.weights == pytest.approx((1 - share**2) ** 2)
    assert found.weights[[20, 120]] == pytest.approx(0)
    assert found.neighbours == 1
    # The covariance of such a fit goes by the pull of each residual and by how it changes (from memory).
    pull, more, less = (psi(residuals + step, found.scale) for step in (0, 1e-6, -1e-6))
    slope = (more - less) / 2e-6
    design = line_of(place)(found.parameters)[1]
    variance = np.sum(pull**2) / 198 / np.mean(slope) ** 2
    assert found.covariance == pytest.approx(variance * np.linalg.inv(design.T @ design), rel=1e-4)


def psi(residuals, scale):
    """The pull of a residual by Tukey's bisquare."""
    return residuals * (1 - np.minimum(np.abs(residuals) / (TUKEY * scale), 1) ** 2) ** 2


def test_a_scale_is_never_smaller_than_the_readings_own_step():
    place = np.linspace(0, 1, 50)
    found = robust_fit(line_of(place), [0.0, 0.0], 5 + 2 * place, smallest_scale=0.02)
    assert found.scale == 0.02
    assert found.weights == pytest.approx(1)
    assert found.quantile == pytest.approx(stats.t.ppf(0.975, 48))


def test_columns_of_any_size_and_one_that_tells_nothing_leave_the_rest_as_it_is():
    place = np.linspace(0, 1, 60)
    off = 0.1 * rough(60)
    design = np.column_stack([np.ones_like(place), 1e9 * place, np.zeros_like(place)])
    found = robust_fit(lambda n: (design @ n, design), [0.0, 0.0, 0.0], off, smallest_scale=1e3)
    plain, covariance = np.polyfit(place, off, 1, cov=True)
    assert found.parameters[:2] == pytest.approx([plain[1], plain[0] / 1e9])
    # The third number costs one degree of freedom.
    sd = np.sqrt(np.diag(found.covariance)[:2] * 57 / 58)
    assert sd == pytest.approx(np.sqrt([covariance[1, 1], covariance[0, 0] / 1e18]))
    assert found.covariance[2, 2] == 0


def test_where_the_law_gives_nothing_the_search_turns_back():
    place = np.linspace(0, 1, 50)

    def positive_slope(numbers):
        return (None, None) if numbers[1] <= 0 else line_of(place)(numbers)

    found = robust_fit(positive_slope, [0.0, 3.0], 5 + 0.1 * place, smallest_scale=1e-3)
    assert found.parameters == pytest.approx([5, 0.1], abs=1e-6)


def test_readings_within_the_coast_are_between_its_first_and_last_speed():
    time_s = np.arange(10.0)
    angles = CoastAngles(
        time_s,
        2 * time_s,
        mark=np.arange(10),
        marks=10,
        divisor=3 * time_s,
        smallest_scale=1.0,
        speeds=replace(coasting(time_s, time_s), time_s=np.array([2.0, 5.5, 7.0])),
    )
    kept = angles.within_the_coast()
    assert np.array_equal(kept.time_s, np.arange(2, 8))
    assert np.array_equal(kept.turned_rad, 2 * kept.time_s)
    assert np.array_equal(kept.mark, np.arange(2, 8))
    assert np.array_equal(kept.divisor, 3 * kept.time_s)
