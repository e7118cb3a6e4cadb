"""Braked runs made from a law in closed form, and the inertia that they and a disc tell, by hand beside."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from machinelab.errors import LogError, RangeError
from machinelab.spindle import brake_problem
from machinelab.spindle.brake_design import two_stage_stop
from machinelab.spindle.brake_fit import _doubts, _of_predictions, fit_braked
from machinelab.spindle.brake_inertia import inertia_from_braked_run
from machinelab.spindle.brake_problem import BrakedProblem, KnownBefore, independent_ways
from machinelab.spindle.coast_inertia import inertia_from_disc
from machinelab.spindle.coast_readings import coast_readings

RPM = 2 * np.pi / 60
# Dry friction, a brake above the brush speed, and a contact that closes late: rad/s, rad/s2, 1/s, s.
START, SLOWING, DRAG, BRUSH, LET_GO_S, DELAY_S = 100.0, 3.0, 1.2, 10.0, 4.0, 0.15
EVERY_S = 0.02
LEFT = START - SLOWING * DELAY_S  # When the contact closes.
# Above the brush speed the excess falls towards minus this, and is gone after so long.
BELOW = SLOWING / DRAG
BRAKED_S = np.log((LEFT - BRUSH + BELOW) / BELOW) / DRAG
DRAGS = {"coulomb_rad_s2": SLOWING, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}


def true_speed(time_s):
    after_s = np.maximum(np.asarray(time_s) - LET_GO_S, 0)
    braked_s = np.clip(after_s - DELAY_S, 0, BRAKED_S)
    tail_s = np.maximum(after_s - DELAY_S - BRAKED_S, 0)
    braked = BRUSH + (LEFT - BRUSH + BELOW) * np.exp(-DRAG * braked_s) - BELOW
    return np.where(after_s < DELAY_S, START - SLOWING * after_s, np.maximum(braked - SLOWING * tail_s, 0))


def a_log(speed_rad_s=true_speed, until_s=12.0):
    time_s = np.arange(0, until_s, EVERY_S)
    return SimpleNamespace(time_s=time_s, speed_rpm=np.round(speed_rad_s(time_s) / RPM, 1))


@pytest.fixture(scope="module")
def found():
    return fit_braked(a_log(), brush_speed_rad_s=BRUSH, coulomb_rad_s2=SLOWING)


def half(estimate):
    low, high = estimate.interval
    return (high - low) / 2


def test_a_braked_run_gives_back_its_moments_its_speed_and_its_brake(found):
    assert found.start_s.value == pytest.approx(LET_GO_S, abs=2e-3)
    assert found.contact_delay_s.value == pytest.approx(DELAY_S, abs=2e-3)
    assert found.brake_drag_per_s.value == pytest.approx(DRAG, rel=1e-3)
    assert found.start_speed_rpm.value == pytest.approx(START / RPM, rel=1e-4)
    low, high = found.brake_drag_per_s.interval
    time_constant = found.brake_time_constant_s
    assert time_constant.value == pytest.approx(1 / DRAG, rel=1e-3)
    assert time_constant.interval == pytest.approx((1 / high, 1 / low))
    assert (found.brush_speed_rad_s, found.lag_s, found.warnings) == (BRUSH, 0.0, ())
    assert found.free_drags == DRAGS | {"viscous_per_s": 0.0, "windage_per_rad": 0.0}
    assert abs(found.residuals_rpm).max() < 0.5
    assert found.residuals_rpm.size == found.weights.size == found.readings.time_s.size
    assert np.median(found.weights) > 0.9


def test_both_moments_are_in_doubt_by_the_time_between_two_rows(found):
    """What lies anywhere between two rows has their distance over the root of twelve as its deviation."""
    by_rows = found.quantile * EVERY_S / np.sqrt(12)
    assert half(found.start_s) == pytest.approx(by_rows, rel=0.02)
    assert half(found.contact_delay_s) == pytest.approx(by_rows, rel=0.02)
    assert half(found.start_speed_rpm) < 0.05
    assert half(found.brake_drag_per_s) < 1e-3 * DRAG


def test_speed_and_reading_at_a_moment_of_the_log_follow_the_law(found):
    moments = np.array([1.0, 4.1, 4.5, 6.0, 7.5])
    assert found.speed_rpm(moments) * RPM == pytest.approx(true_speed(moments), rel=5e-3)
    assert found.shown_rpm(moments) == pytest.approx(found.speed_rpm(moments))
    late = replace(found, lag_s=0.4)
    # While the spindle slows evenly a settled meter reads high by the slowing of one lag.
    slow = replace(found, lag_s=0.05)
    tail_s = LET_GO_S + DELAY_S + BRAKED_S + 1.0
    assert slow.shown_rpm(tail_s) - slow.speed_rpm(tail_s) == pytest.approx(0.05 * SLOWING / RPM, rel=0.01)
    assert late.shown_rpm(4.5) > found.shown_rpm(4.5)


def test_a_stop_takes_the_time_and_the_turns_of_its_three_pieces(found):
    """Free to the contact, braked to the brush speed, and dry friction for the rest."""
    stop_s = found.stop_time_s(START / RPM)
    assert stop_s.value == pytest.approx(DELAY_S + BRAKED_S + BRUSH / SLOWING, rel=2e-3)
    free = START * DELAY_S - SLOWING * DELAY_S**2 / 2
    braked = BRUSH * BRAKED_S + (LEFT - BRUSH - SLOWING * BRAKED_S) / DRAG
    turns = (free + braked + BRUSH**2 / (2 * SLOWING)) / (2 * np.pi)
    made = found.turns_to_stop(START / RPM)
    assert made.value == pytest.approx(turns, rel=2e-3)
    # So far turns differ for a delay that is longer: what would have been braked meanwhile is turned freely.
    low, high = made.interval
    assert (low + high) / 2 == pytest.approx(made.value)
    later = replace(found, contact_delay_s=replace(found.contact_delay_s, value=DELAY_S + 1e-3))
    waited_s = later.contact_delay_s.value - found.contact_delay_s.value
    a_second = (later.turns_to_stop(START / RPM).value - made.value) / waited_s
    assert half(made) == pytest.approx(a_second * half(found.contact_delay_s), rel=0.05)
    assert found.stop_time_s(0).value == 0


def test_no_stop_is_surer_than_a_thousandth_and_none_is_foretold_far_beyond_the_tested_speed(found):
    certain = replace(found, covariance=np.zeros((5, 5)))
    stop_s = certain.stop_time_s([500, 1400])
    assert half(stop_s) == pytest.approx(1e-3 * stop_s.value)
    assert certain.turns_to_stop(1432.3).value > 0
    for wrong in (1432.6, -1.0, [100, 1500]):
        with pytest.raises(RangeError) as refusal:
            found.turns_to_stop(wrong)
        assert str(refusal.value) == (
            f"braked run: {np.max(wrong):.4g} rpm is asked for, but the run was logged from 954.9 rpm; ask "
            "for 0 to 1432 rpm, or log a run from a higher speed."
        )


def test_a_log_without_steady_speed_is_refused_in_words():
    steady_first = (
        "A braked run needs at least 3 s of steady speed in the log before the drive is switched off, so "
        "that letting go and the brake's coming in can be told apart, and some twenty readings of the stop."
    )
    log = a_log()
    late = SimpleNamespace(time_s=log.time_s[100:], speed_rpm=log.speed_rpm[100:])
    with pytest.raises(LogError) as refusal:
        fit_braked(late, coulomb_rad_s2=SLOWING)
    assert str(refusal.value) == steady_first
    steady = SimpleNamespace(time_s=log.time_s[:200], speed_rpm=log.speed_rpm[:200])
    with pytest.raises(LogError) as refusal:
        fit_braked(steady, coulomb_rad_s2=SLOWING)
    assert str(refusal.value).startswith(f"{steady_first} This log: The speed never falls")


# --- What was told before.

COVARIANCE = np.array([[4e-2, 3e-4, -1e-6], [3e-4, 1e-4, 1e-7], [-1e-6, 1e-7, 1e-9]])


@pytest.mark.parametrize("doubted", [(0, 1, 2), (0, 2), (1,), ()])
def test_the_independent_ways_make_up_the_covariance_again(doubted):
    covariance = np.zeros((3, 3))
    covariance[np.ix_(doubted, doubted)] = COVARIANCE[np.ix_(doubted, doubted)]
    ways = independent_ways(covariance)
    assert ways.shape == (3, len(doubted))
    assert ways @ ways.T == pytest.approx(covariance, rel=1e-9, abs=1e-18)


def test_each_doubt_moves_drags_and_lag_by_its_own_way():
    known = KnownBefore.of(DRAGS, COVARIANCE, lag_s=0.5, lag_doubt_s=0.2)
    assert known.count == 4
    together = known.spread @ known.spread.T
    assert together[:3, :3] == pytest.approx(COVARIANCE, rel=1e-9)
    # A doubt of 95 % is two deviations.
    assert together[3] == pytest.approx([0, 0, 0, 0.01], abs=1e-12)
    doubts = np.array([0.5, -1.0, 2.0, 0.25])
    moved = known.moved(doubts)
    assert [*moved.drags.values(), moved.lag_s] == pytest.approx(
        np.array([*DRAGS.values(), 0.5]) + known.spread @ doubts
    )
    assert list(moved.drags) == list(DRAGS)
    certain = known.for_certain
    assert (certain.count, certain.drags, certain.lag_s) == (0, DRAGS, 0.5)
    assert KnownBefore.of(DRAGS, None, 0.5, 0.0).count == 0
    assert KnownBefore.of(DRAGS, None, 0.5, 0.1).count == 1


def a_problem(known=None, log=None):
    known = known or KnownBefore.of(DRAGS, COVARIANCE, 0.3, 0.1)
    return BrakedProblem(coast_readings(*vars(log or a_log()).values()), BRUSH, known)


def test_readings_are_weighed_by_a_step_of_the_counter_or_a_ten_thousandth_of_the_top_speed():
    """Counted over a gate a speed is off by a triangle of two steps: deviation is a step over root six."""
    fine = a_problem()
    assert fine.noise == pytest.approx(1e-4 * fine.readings.top_rpm * RPM)
    log = a_log()
    coarse = a_problem(log=SimpleNamespace(time_s=log.time_s, speed_rpm=5 * np.round(log.speed_rpm / 5)))
    assert coarse.readings.resolution_rpm == 5
    assert coarse.noise == pytest.approx(5 * RPM / np.sqrt(6))
    rows = coarse.readings.speed_rpm.size
    assert coarse.observed[:rows] == pytest.approx(coarse.readings.speed_rpm * RPM / coarse.noise)
    assert np.array_equal(coarse.observed[rows:], np.zeros(4))


def test_slopes_of_a_braked_run_are_what_a_larger_change_does():
    problem = a_problem()
    numbers = np.array([1.0, 0.05, DELAY_S, np.log(DRAG), 0.3, -0.4, 0.2, 0.1])
    shown, slopes = problem._predict(numbers)
    assert shown.size == problem.observed.size
    assert shown[-4:] == pytest.approx(numbers[4:])
    for which, step in enumerate([1e-3, 1e-3, 1e-3, 1e-3, 0.05, 0.05, 0.05, 0.05]):
        way = step * np.eye(8)[which]
        slope = (problem._predict(numbers + way)[0] - problem._predict(numbers - way)[0]) / (2 * step)
        assert slopes[:, which] == pytest.approx(slope, abs=0.03 * np.max(np.abs(slope)))


@pytest.mark.parametrize(
    ("which", "taken", "refused"),
    [
        (0, 0.01, 0.0),
        (2, 0.0, -1e-9),
        (2, 9.99, 10.0),
        (3, -10.0, -10.01),
        (3, 10.0, 10.01),
        (4, 30.0, 30.1),
        (4, -30.0, -30.1),
    ],
)
def test_what_cannot_be_is_not_tried(which, taken, refused):
    problem = a_problem(KnownBefore.of(DRAGS, np.diag([1e-8, 0, 0]), 0.3, 0.0))
    numbers = np.array([1.0, 0.0, DELAY_S, np.log(DRAG), 0.0])
    numbers[which] = taken
    assert problem._predict(numbers)[0] is not None
    numbers[which] = refused
    assert problem._predict(numbers) == (None, None)


def test_neither_a_lag_nor_a_dry_friction_below_zero_is_tried():
    numbers = np.array([1.0, 0.0, DELAY_S, np.log(DRAG), 0.0])
    lag = a_problem(KnownBefore.of(DRAGS, None, 0.3, 0.2))
    direction = np.sign(lag.known.spread[3, 0])
    for doubts, possible in ((-2.9, True), (-3.1, False)):
        numbers[4] = direction * doubts
        assert (lag._predict(numbers)[0] is not None) is possible
    friction = a_problem(KnownBefore.of(DRAGS, np.diag([1.0, 0, 0]), 0.3, 0.0))
    direction = np.sign(friction.known.spread[0, 0])
    for doubts, possible in ((-2.9, True), (-3.0, False)):
        numbers[4] = direction * doubts
        assert (friction._predict(numbers)[0] is not None) is possible


@pytest.mark.parametrize(("drag", "guessed"), [(0.7, 0.7), (3.0, 3.0), (0.01, 0.05)])
def test_the_first_guess_of_the_drag_is_the_slope_of_the_logarithm(drag, guessed):
    def speed(time_s):
        return START * np.exp(-drag * np.maximum(time_s - LET_GO_S, 0))

    problem = a_problem(log=a_log(speed, until_s=LET_GO_S + min(3 / drag, 60)))
    assert problem._guessed_drag() == pytest.approx(guessed, rel=0.01)


def test_a_search_begins_with_what_a_lagging_meter_makes_of_a_late_brake(monkeypatch):
    """The fall is seen a delay and a lag after the drive let go."""
    begun = []
    monkeypatch.setattr(brake_problem, "robust_fit", lambda *found, **how: begun.append((found, how)))
    problem = a_problem()
    problem._roughly_solved(0.2)
    (_, start, observed), how = begun[0]
    assert start == pytest.approx([1.0, -0.5, 0.2, np.log(problem._guessed_drag())])
    assert observed is problem.observed
    assert how["smallest_scale"] == pytest.approx(0.02 * problem.top / problem.noise)


def test_without_two_readings_on_the_way_the_first_guess_is_one():
    problem = a_problem()
    steady = problem.readings.speed_rpm > 0.9 * problem.readings.top_rpm
    rows = {name: getattr(problem.readings, name)[steady] for name in ("time_s", "speed_rpm")}
    problem.readings = replace(problem.readings, **rows)
    assert problem._guessed_drag() == 1.0


def test_a_wild_residual_adds_no_more_than_five_to_the_misfit():
    problem = a_problem()
    assert (
        problem._misfit(SimpleNamespace(residuals=np.array([-1.0, 2.0, 50.0, -7.0]))) == (1 + 2 + 5 + 5) / 4
    )


def test_a_prediction_needs_delay_drag_and_the_three_free_drags():
    known = KnownBefore.of(DRAGS, COVARIANCE, lag_s=0.5, lag_doubt_s=0.2)
    root = np.random.default_rng(5).standard_normal((8, 8))
    covariance = root @ root.T
    found = _of_predictions(known, covariance)
    assert found[:2, :2] == pytest.approx(covariance[2:4, 2:4])
    assert found[2:, 2:] == pytest.approx(known.spread[:3] @ covariance[4:, 4:] @ known.spread[:3].T)
    assert found[0, 2:] == pytest.approx(known.spread[:3] @ covariance[4:, 2])


@pytest.mark.parametrize(
    ("wild", "half_width_s", "doubt", "told"),
    [
        (10, 0.02, 3.0, []),
        (11, 0.02, 3.0, ["11% of the readings do not follow a braked run: look at what is left over first."]),
        (
            0,
            0.06,
            0.0,
            [
                "The log hardly tells the contact's delay: 0.1 s, give or take 0.06 s. Log the encoder at "
                "twenty rows a second or more, not the display."
            ],
        ),
        (
            0,
            0.05,
            -3.1,
            [
                "The free run's friction does not suit the braked run: the spindle was warmer or colder, or "
                "another belt or chuck was on. Take both runs one after the other."
            ],
        ),
    ],
)
def test_the_doubts_of_a_braked_run_are_told_and_no_others(wild, half_width_s, doubt, told):
    weights = np.where(np.arange(100) < wild, 0.04, 0.05)
    fitted = SimpleNamespace(parameters=np.array([1.0, 0.0, 0.1, 0.2, 0.5, doubt]), weights=weights)
    assert list(_doubts(fitted, half_width_s)) == told


def test_a_short_delay_is_told_within_two_hundredths_of_a_second():
    fitted = SimpleNamespace(parameters=np.array([1.0, 0.0, 0.01, 0.2]), weights=np.ones(9))
    assert list(_doubts(fitted, 0.02)) == []
    assert "0.01 s, give or take 0.021 s" in next(_doubts(fitted, 0.021))


def test_a_second_resistor_takes_over_at_the_same_current_and_none_beats_the_steady_peak():
    """Without brush drop and windage current goes with speed, so the loops' ratio is that of the speeds."""
    motor = {"spindle_emf_v_s_per_rad": 2.0, "armature_resistance_ohm": 1.6, "inertia_kg_m2": 0.05}
    found = two_stage_stop(900, resistor_ohm=12.4, second_resistor_ohm=2.4, coulomb_rad_s2=3.0, **motor)
    start = 900 * RPM
    assert found.peak_current_a == pytest.approx(2 * start / 14)
    assert found.switch_speed_rpm == pytest.approx(900 * 4 / 14)
    drags = 2.0**2 / (np.array([14.0, 4.0]) * 0.05)
    ends = start * np.array([4 / 14, 0.0])
    begins = start * np.array([1.0, 4 / 14])
    # Above nothing the speed over its end runs down towards minus friction over drag.
    lasted_s = np.log((begins + 3 / drags) / (ends + 3 / drags)) / drags
    turned = (begins - ends - 3 * lasted_s) / drags / (2 * np.pi)
    assert (found.switch_s, found.time_s) == pytest.approx((lasted_s[0], lasted_s.sum()))
    assert found.turns == pytest.approx(turned.sum())
    # At the peak's deceleration all the way: speed squared over twice as much.
    assert found.ideal_turns == pytest.approx(start**2 / (2 * (3 + drags[0] * start)) / (2 * np.pi))


# --- The inertia.


def free_run(doubt=0.01):
    drags = DRAGS | {"viscous_per_s": 0.0, "windage_per_rad": 0.0}
    return SimpleNamespace(drags=drags, drag_covariance=np.diag([(doubt * SLOWING) ** 2, 0, 0]))


def test_the_inertia_is_what_the_circuit_brakes_so_quickly():
    """Drag is emf squared over ohms and inertia; the brush drop over emf is the brush speed."""
    circuit = {"spindle_emf_v_s_per_rad": 0.8, "armature_resistance_ohm": 1.5, "resistor_ohm": 8.5}
    found = inertia_from_braked_run(free_run(), a_log(), **circuit, brush_drop_v=0.8 * BRUSH)
    assert found.inertia_kg_m2.value == pytest.approx(0.8**2 / (10 * DRAG), rel=2e-3)
    low, high = found.brake_drag_per_s.interval
    assert found.inertia_kg_m2.interval == pytest.approx((0.8**2 / (10 * high), 0.8**2 / (10 * low)))
    # No drag is surer than a thousandth.
    assert np.log(high / low) / 2 >= 0.999e-3
    unsure = inertia_from_braked_run(
        free_run(), a_log(), **circuit, brush_drop_v=0.8 * BRUSH, friction_scatter_share=0.2
    )
    assert half(unsure.inertia_kg_m2) > half(found.inertia_kg_m2)
    assert unsure.braked.free_drags["coulomb_rad_s2"] == pytest.approx(SLOWING, rel=0.05)


def a_run(drags, sds):
    named = dict(zip(DRAGS, drags, strict=True))
    return SimpleNamespace(drags=named, drag_covariance=np.diag(np.square(sds)))


def test_one_pair_of_runs_leaves_open_what_each_of_them_does():
    """The ratio of two readings has the doubts of both, as shares, taken together."""
    found = inertia_from_disc(
        [a_run((3.0, 0, 0), (0.03, 0, 0))], [a_run((1.8, 0, 0), (0.009, 0, 0))], added_inertia_kg_m2=0.02
    )
    ratio = 3.0 / 1.8
    assert found.drag_ratio.value == pytest.approx(ratio)
    assert half(found.drag_ratio) == pytest.approx(1.96 * ratio * np.hypot(0.01, 0.005), rel=1e-3)
    assert found.inertia_kg_m2.value == pytest.approx(0.02 / (ratio - 1))
    assert found.one_ratio_chance == 1.0
    assert found.warnings == (
        "One pair of runs says nothing of how friction repeats. If it differs by 3% from run to run, the "
        "inertia is out by about 11%: take three pairs, in turn.",
    )


def test_several_pairs_leave_open_what_they_scatter_or_what_each_leaves_open_whichever_is_more():
    discs = [1.8, 1.75, 1.9]
    sds = [0.01, 0.03, 0.02]
    free = [a_run((3.0, 0, 0), (1e-6, 0, 0))] * 3
    with_disc = [a_run((a, 0, 0), (sd, 0, 0)) for a, sd in zip(discs, sds, strict=True)]
    found = inertia_from_disc(free, with_disc, added_inertia_kg_m2=0.02)
    ratios = 3.0 / np.array(discs)
    spreads = ratios * np.array(sds) / np.array(discs)
    weights = 1 / spreads**2
    assert found.drag_ratio.value == pytest.approx(np.sum(weights * ratios) / np.sum(weights), rel=1e-4)
    scatter = stats.t.ppf(0.975, 2) * np.std(ratios, ddof=1) / np.sqrt(3)
    assert half(found.drag_ratio) == pytest.approx(scatter, rel=1e-4)
    assert found.warnings == ()
    alike = [a_run((1.8, 0, 0), (sd, 0, 0)) for sd in sds]
    found = inertia_from_disc(free, alike, added_inertia_kg_m2=0.02)
    formal = 1.96 * (3 / 1.8) / np.sqrt(np.sum((1.8 / np.array(sds)) ** 2))
    assert half(found.drag_ratio) == pytest.approx(formal, rel=1e-3)


def test_three_drags_that_do_not_share_one_ratio_are_told():
    """Ratios of 1.6 and 1.7, each with one in a hundred for its deviation."""
    free = a_run((3.2, 0.034, 0), (1e-6, 1e-8, 0))
    disc = a_run((2.0, 0.02, 0), (0.02, 0.0002, 0))
    found = inertia_from_disc([free] * 2, [disc] * 2, added_inertia_kg_m2=0.02)
    apart = (1.7 - 1.6) / np.hypot(1.6 * 0.01, 1.7 * 0.01)
    assert found.one_ratio_chance == pytest.approx(stats.chi2.sf(apart**2, 1), rel=0.2)
    assert found.warnings == (
        "The three drags do not share one ratio: the disc has changed the friction itself, by its own "
        "windage or its weight on the bearings. Use a plain disc without spokes, and warm bearings.",
    )


def test_runs_that_cannot_tell_an_inertia_are_refused_in_words():
    free, light = a_run((3.0, 0, 0), (0.03, 0, 0)), a_run((2.96, 0, 0), (0.03, 0, 0))
    with pytest.raises(RangeError) as refusal:
        inertia_from_disc([free], [light], added_inertia_kg_m2=0.02)
    assert str(refusal.value) == (
        "inertia: with the disc the spindle slows only 1.014 times more gently than without, which does not "
        "stand out from 0.028 of doubt. Use a heavier disc, with as much inertia as the spindle's own if you "
        "can."
    )
    with pytest.raises(RangeError, match=r"^inertia: at least one run without the disc and one with it are"):
        inertia_from_disc([free], [], added_inertia_kg_m2=0.02)
    with pytest.raises(RangeError, match=r"^inertia: the two runs have no drag in common; fit both with the"):
        inertia_from_disc([free], [a_run((0, 0.02, 0), (0, 1e-3, 0))], added_inertia_kg_m2=0.02)
    # Two in a hundred are the least, however sure the runs are.
    sure = inertia_from_disc(
        [a_run((3.0, 0, 0), (1e-6, 0, 0))], [a_run((1.8, 0, 0), (1e-6, 0, 0))], added_inertia_kg_m2=0.02
    )
    assert half(sure.drag_ratio) == pytest.approx(1e-3 * 3.0 / 1.8)
    for drag, enough in ((3.0 / 1.021, True), (3.0 / 1.019, False)):
        runs = [a_run((3.0, 0, 0), (1e-6, 0, 0))], [a_run((drag, 0, 0), (1e-6, 0, 0))]
        if enough:
            assert inertia_from_disc(*runs, added_inertia_kg_m2=0.02).inertia_kg_m2.value > 0
            continue
        with pytest.raises(RangeError, match="does not stand out"):
            inertia_from_disc(*runs, added_inertia_kg_m2=0.02)
