"""Run-downs made from a law in closed form: what the fits and readings find must be what made them."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad

from machinelab.errors import LogError
from machinelab.spindle.brake import resistor_for_turns
from machinelab.spindle.coast_counts import angles_of_counts
from machinelab.spindle.coast_inertia import inertia_from_disc
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_turns, coast_turns_made
from machinelab.spindle.coastdown import fit
from machinelab.spindle.meter_agreement import compare_meters
from machinelab.spindle.meter_readings import fresh_readings
from machinelab.spindle.motor_bench import locked_shaft
from machinelab.spindle.robust_fit import robust_fit

COUNTS_A_TURN = 2700
SLOWING_RAD_S2, START_RAD_S, LET_GO_S = 3.0, 100.0, 2.0
STANDS_S = LET_GO_S + START_RAD_S / SLOWING_RAD_S2
AN_EVEN_SPREAD = 1 / np.sqrt(12)  # Standard deviation of what is anywhere within one step alike.


def dry_run(slowing_rad_s2: float) -> SimpleNamespace:
    """A spindle that dry friction alone stops."""
    time_s = np.arange(0, START_RAD_S / slowing_rad_s2, 0.25)
    return SimpleNamespace(
        time_s=time_s, speed_rpm=(START_RAD_S - slowing_rad_s2 * time_s) * 60 / (2 * np.pi)
    )


def turned_rad(time_s: np.ndarray) -> np.ndarray:
    """Steady until the drive lets go, then slowed alike until it stands."""
    coasting_s = np.clip(time_s - LET_GO_S, 0, STANDS_S - LET_GO_S)
    return START_RAD_S * (np.minimum(time_s, LET_GO_S) + coasting_s) - SLOWING_RAD_S2 / 2 * coasting_s**2


def counts(time_s: np.ndarray) -> np.ndarray:
    return np.floor(turned_rad(time_s) / (2 * np.pi) * COUNTS_A_TURN).astype(int)


def test_a_disc_slows_the_run_down_by_the_ratio_of_the_inertias_and_the_result_says_so():
    """Newton's second law: the same friction on 0.03 and on 0.03 + 0.02 kg m2."""
    found = inertia_from_disc(
        [fit(dry_run(3.0))] * 2, [fit(dry_run(3.0 * 0.03 / 0.05))] * 2, added_inertia_kg_m2=0.02
    )
    ratio, inertia = found.drag_ratio, found.inertia_kg_m2
    assert ratio.value == pytest.approx(5 / 3, rel=1e-9)
    low, high = ratio.interval
    assert low < 5 / 3 < high
    # The inertia is added / (ratio - 1): the larger the ratio, the smaller the inertia.
    assert inertia.interval == pytest.approx((0.02 / (high - 1), 0.02 / (low - 1)))


def test_counts_become_the_angles_that_made_them_wherever_the_count_began_and_whichever_way_it_ran():
    time_s = np.arange(0, 36, 0.02)
    found = angles_of_counts(time_s, counts(time_s) + 17, COUNTS_A_TURN)
    backwards = angles_of_counts(time_s, 5 - counts(time_s), COUNTS_A_TURN)
    a_count_rad = 2 * np.pi / COUNTS_A_TURN
    assert np.array_equal(found.turned_rad, backwards.turned_rad)
    assert np.max(np.abs(found.turned_rad - turned_rad(found.time_s))) <= a_count_rad
    assert found.smallest_scale == pytest.approx(a_count_rad * AN_EVEN_SPREAD)
    assert (found.marks, set(found.mark), set(found.divisor)) == (1, {0}, {1.0})


def test_only_angles_between_the_first_and_the_last_speed_of_the_coast_are_kept():
    time_s = np.arange(0, 36, 0.02)
    found = angles_of_counts(time_s, counts(time_s), COUNTS_A_TURN)
    first_s, last_s = found.speeds.time_s[[0, -1]]
    assert LET_GO_S < first_s <= found.time_s[0] < first_s + 0.02
    assert last_s - 0.02 < found.time_s[-1] <= last_s < STANDS_S
    assert len({found.time_s.size, found.turned_rad.size, found.mark.size, found.divisor.size}) == 1


def test_of_many_thousand_counts_only_so_many_are_taken_that_four_thousand_are_left():
    time_s = np.arange(0, 36, 0.004)
    found = angles_of_counts(time_s, counts(time_s), COUNTS_A_TURN)
    assert np.diff(found.time_s) == pytest.approx(0.012)
    assert np.max(np.abs(found.turned_rad - turned_rad(found.time_s))) <= 2 * np.pi / COUNTS_A_TURN


@pytest.mark.parametrize(
    ("rows", "per_turn", "words"), [(200, None, "counts for one spindle turn"), (8, 2700, "at least twenty")]
)
def test_counts_that_tell_no_angle_are_refused_in_words(rows, per_turn, words):
    time_s = np.arange(rows) * 0.05
    with pytest.raises(LogError, match=words):
        angles_of_counts(time_s, counts(time_s), per_turn)


def test_a_number_that_a_display_holds_is_taken_once_and_dated_to_when_it_first_showed():
    """Each of the held numbers came between the row before and the row that first shows it."""
    rows = np.arange(120)
    held = np.clip((rows - 30) // 5, 0, 13)
    log = SimpleNamespace(time_s=rows / 10, speed_rpm=np.where(rows < 30, 1000.0, 920.0 - 70 * held))
    found = fresh_readings(log)
    moving = (found.shown_rpm < 1000) & (found.shown_rpm > 10)
    assert found.shown_rpm[moving] == pytest.approx(920.0 - 70 * np.arange(13))
    assert found.time_s[moving] == pytest.approx(2.95 + 0.5 * np.arange(13))
    assert found.time_doubt_s[moving] == pytest.approx(0.1 * AN_EVEN_SPREAD)
    # Before the first change and after the last the speed is steady, and every row counts.
    assert np.sum(found.shown_rpm == 1000) == 30
    assert np.sum(found.shown_rpm == 10) == np.sum(held == 13)


def test_readings_whose_neighbours_err_alike_widen_the_intervals_and_those_that_do_not_leave_them():
    """Of 80 residuals in blocks of four, 60 pairs of neighbours are alike and 19 opposite: r = 41/80.

    The factor of a mean of such readings is (1 + r) / (1 - r) (effective number of readings, from memory).
    """

    def mean(parameters):
        return np.full(80, parameters[0]), np.ones((80, 1))

    in_blocks, by_turns = np.tile(np.repeat([1.0, -1.0], 4), 10), np.tile([1.0, -1.0], 40)
    alike = robust_fit(mean, [0.3], in_blocks, smallest_scale=1e3)
    unlike = robust_fit(mean, [0.3], by_turns, smallest_scale=1e3)
    assert alike.neighbours == pytest.approx((1 + 41 / 80) / (1 - 41 / 80))
    assert unlike.neighbours == 1.0
    assert alike.covariance / alike.neighbours == pytest.approx(unlike.covariance)


def test_a_spindle_that_creeps_still_turns_on_before_it_stands():
    """Dry friction alone: the angle is speed squared over twice the slowing, at 1 rad/s as at any speed."""
    for speed_rad_s in (0.5, 1.0, 2.0):
        found = coast_turns(speed_rad_s, coulomb_rad_s2=3.0)
        assert found == pytest.approx(speed_rad_s**2 / (2 * 3.0) / (2 * np.pi))
    assert coast_turns(0.0, coulomb_rad_s2=3.0) == 0.0


@pytest.mark.parametrize("windage_per_rad", [0.0, 2e-3])
def test_without_dry_and_viscous_friction_it_turns_for_ever_and_the_turns_made_are_the_speed_summed_up(
    windage_per_rad,
):
    law = {"coulomb_rad_s2": 0.0, "windage_per_rad": windage_per_rad}
    assert np.isinf(coast_turns(80.0, **law))
    moments = np.array([-1.0, 0.0, 0.5, 7.0])
    made = coast_turns_made(moments, start_speed_rad_s=80.0, **law)
    for moment, turns in zip(moments, made, strict=True):
        summed = quad(
            lambda time_s: coast_speed_rad_s(time_s, start_speed_rad_s=80.0, **law), 0, max(moment, 0)
        )
        assert turns == pytest.approx(summed[0] / (2 * np.pi))
    assert np.isnan(coast_turns_made(np.nan, start_speed_rad_s=80.0, **law))


# Student's t with 95 of 100 between both signs, by degrees of freedom: any table of it, from memory.
STUDENT_T_95 = {19: 2.0930, 20: 2.0860, 21: 2.0796, 22: 2.0739, 23: 2.0687, 24: 2.0639}


def test_the_mean_difference_of_two_meters_is_doubted_by_students_t_for_one_reading_less():
    time_s = np.arange(24.0)
    speed = 300 + 700 / (1 + np.exp(-(time_s - 12)))
    uneven = np.tile([1.0, 3.0, 2.0, 2.0, 4.0, 0.0], 4)
    one, other = (SimpleNamespace(time_s=time_s, speed_rpm=rpm) for rpm in (speed, speed + uneven))
    found = compare_meters(one, other)
    spread = (found.highest_difference_rpm - found.lowest_difference_rpm) / (2 * 1.96)
    low, high = found.mean_difference_rpm.interval
    pairs = found.pairs_compared
    assert (high - low) / 2 == pytest.approx(STUDENT_T_95[pairs - 1] * spread / np.sqrt(pairs), rel=1e-4)


def test_a_locked_shaft_tells_the_resistance_of_each_place():
    """The same currents at each place: the differences of the places fall out of drop and mean resistance."""
    resistance_ohm = np.array([1.1, 1.2, 1.5, 1.3, 1.0, 1.1])
    places, currents = np.repeat(np.arange(0, 360, 60), 4), np.tile([0.6, -1.5, 3.0, -3.0], 6)
    volts = 2 * np.sign(currents) + np.repeat(resistance_ohm, 4) * currents
    found = locked_shaft(volts, currents, angle_deg=places)
    assert found.by_angle_ohm == pytest.approx(resistance_ohm)
    assert found.resistance.value == pytest.approx(np.mean(resistance_ohm))
    assert found.brush_drop.value == pytest.approx(2.0)


@pytest.mark.parametrize("unknown", ["turns", "inertia_kg_m2"])
def test_from_an_unknown_figure_no_resistor_follows(unknown):
    known = {"turns": 5.0, "inertia_kg_m2": 0.05, "armature_resistance_ohm": 1.6} | {unknown: float("nan")}
    drags = {"coulomb_rad_s2": 3.0, "viscous_per_s": 0.02, "windage_per_rad": 1e-4}
    turns = known.pop("turns")
    assert np.isnan(resistor_for_turns(turns, 1000, spindle_emf_v_s_per_rad=1.97, **known, **drags))
