"""What readings of a leadscrew come to and where its laws end, worked out by hand or by another routine."""

import math
import re
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from machinelab.errors import RangeError
from machinelab.leadscrew.backlash import reversal_um
from machinelab.leadscrew.gearing import change_gears, pitch_error_ppm
from machinelab.leadscrew.periodic_error import periodic_error, periodic_targets_mm
from machinelab.leadscrew.positioning import positioning
from machinelab.leadscrew.screw_friction import holds_itself, lowering_torque_nm
from machinelab.leadscrew.stepper_resonance import hunting_growth_per_s
from machinelab.leadscrew.stepper_torque import pull_out_torque_nm

LEAD_MM = 3.0
WINDING = {
    "full_steps": 200,
    "torque_constant_nm_per_a": 0.5,
    "inductance_h": 3e-3,
    "winding_resistance_ohm": 2.0,
}


@pytest.mark.parametrize(
    ("forward", "backward"),
    [([0, 2, 1, 5], [-119, -121]), ([3, 4], [150, 158, 149, 160, 151]), ([100, 100, 100], [250, 250, 251])],
)
def test_lost_motion_has_the_interval_of_welchs_test(forward, backward):
    found = reversal_um(forward, backward)
    # SciPy warns of readings that agree; a hair of scatter that cannot be seen keeps it quiet.
    hair = 1e-5 * np.arange(len(forward))
    low, high = stats.ttest_ind(forward + hair, backward, equal_var=False).confidence_interval(0.95)
    assert found.value == pytest.approx(abs(np.mean(forward) - np.mean(backward)))
    assert found.expanded_uncertainty == pytest.approx((high - low) / 2, rel=1e-4)


def test_readings_that_all_agree_leave_no_doubt_and_no_warning():
    found = reversal_um([4, 4, 4], [-116, -116])
    assert (found.value, found.interval) == (120, (120, 120))
    assert math.isnan(reversal_um([4, math.nan], [-116, -116]).value)


def table(targets_mm, runs):
    readings = np.zeros((len(targets_mm), runs))
    return {"targets_mm": targets_mm, "up_um": readings, "down_um": readings}


def test_a_table_with_too_few_targets_or_too_few_runs_says_so():
    enough = [0.0, 51.1, 102.7, 154.2, 205.4]
    assert positioning(**table(enough, 5), screw_lead_mm=LEAD_MM).notes == ()
    for targets, runs in ((enough[:4], 5), (enough, 4)):
        [note] = positioning(**table(targets, runs), screw_lead_mm=LEAD_MM).notes
        assert note.startswith(
            f"{len(targets)} targets with {runs} runs each way: the standard asks for 5 of"
        )
        assert note.endswith("so the spread is known less well than the figures look.")
    with pytest.raises(RangeError, match=r"^screw_lead_mm is 0; it must be more than zero"):
        positioning(**table(enough, 5), screw_lead_mm=0)


def test_a_table_that_does_not_fit_together_is_refused_and_targets_may_lie_close():
    targets, five, four = [0.0, 0.4, 0.9, 1.3, 2.0], np.zeros((5, 5)), np.zeros((5, 4))
    assert positioning(targets, five, five).reversal_um == 0
    for up, down in ((five, four), (four, five), (five[0], five[0]), (five[:4], five[:4]), (five, five[:4])):
        told = re.escape(
            f"5 targets, {np.shape(up)} readings up and {np.shape(down)} down do not fit together;"
        )
        with pytest.raises(RangeError, match=told):
            positioning(targets, up, down)
    with pytest.raises(RangeError, match=r"^A target stands twice in the table; put its readings into one"):
        positioning([0, 0.4, 0.4, 1, 2], five, five)


def test_one_way_alone_makes_the_band_where_it_scatters_more_than_both_together():
    # Readings of -6 and 6 scatter by the root of 72; where the other way stands still, four of them count.
    scattered, still = np.tile([-6.0, 6.0], (3, 1)), np.zeros((3, 2))
    for up, down in ((scattered, still), (still, scattered)):
        assert positioning([0, 51, 103], up, down).repeatability_um == pytest.approx(4 * np.sqrt(72))
    # With 30 um of play between them: twice the one deviation and the play.
    apart = positioning([0, 51, 103], scattered + 30, still)
    assert apart.repeatability_um == pytest.approx(2 * np.sqrt(72) + 30)
    assert apart.mean_up_um == pytest.approx([30, 30, 30])
    assert apart.mean_down_um == pytest.approx([0, 0, 0])


def test_a_ratio_without_end_is_refused_by_its_name():
    with pytest.raises(RangeError, match=r"^wanted is inf; type a finite number\.$"):
        pitch_error_ppm(1.0, math.inf)
    with pytest.raises(RangeError, match=r"^used is -inf; type a finite number\.$"):
        pitch_error_ppm(-math.inf, 1.0)


def test_targets_whole_turns_apart_are_told_but_a_twentieth_of_a_turn_beside_is_enough():
    at_one_place = [1.0, 4.0, 7.0, 13.0, 16.0]
    [note] = positioning(**table(at_one_place, 5), screw_lead_mm=LEAD_MM).notes
    assert note.startswith(
        "All targets lie whole turns of the screw apart, so an error that repeats every turn"
    )
    assert note.endswith("move some of them by part of a turn.")
    assert positioning(**table(at_one_place, 5)).notes == ()
    for beside_turns, told in ((0.04, 1), (0.06, 0), (-0.04, 1), (-0.06, 0)):
        moved = [*at_one_place[:-1], at_one_place[-1] + beside_turns * LEAD_MM]
        assert len(positioning(**table(moved, 5), screw_lead_mm=LEAD_MM).notes) == told


def test_a_swing_is_proven_where_both_its_parts_together_gain_enough_by_the_test_of_nested_models():
    at = periodic_targets_mm(LEAD_MM)
    noise = np.random.default_rng(7).normal(0, 1, at.size)
    swing = np.sin(2 * np.pi * at / LEAD_MM + 0.7)
    angle = 2 * np.pi * at / LEAD_MM
    straight = np.column_stack([np.ones_like(at), at])
    both = np.column_stack([straight, np.sin(angle), np.cos(angle)])
    needed = stats.f.isf(0.01, 2, at.size - 4)
    gains = []
    for amplitude in np.linspace(0, 2, 60):
        error = noise + amplitude * swing
        less, more = (np.linalg.lstsq(design, error, rcond=None)[1][0] for design in (straight, both))
        gains.append((less - more) / 2 / (more / (at.size - 4)))
        found = periodic_error(at, error, screw_lead_mm=LEAD_MM)
        assert found.proven == (gains[-1] > needed)
        assert found.residual_um == pytest.approx(np.sqrt(more / (at.size - 4)))
    assert min(gains) < 0.7 * needed
    assert max(gains) > 1.3 * needed


def test_an_error_of_every_turn_is_sought_in_eight_readings_a_turn_and_in_no_fewer():
    flat = np.full(100, 5.1)
    for per_turn, turns in ((8, 3), (9, 3), (8, 4)):
        at = periodic_targets_mm(LEAD_MM, per_turn=per_turn, turns=turns)
        for level in (flat, 0 * flat):
            assert not periodic_error(at, level[: at.size], screw_lead_mm=LEAD_MM).proven
    for per_turn, turns in ((7, 3), (7, 5), (8, 2)):
        at = periodic_targets_mm(LEAD_MM, per_turn=per_turn, turns=turns)
        with pytest.raises(RangeError, match=r"at least 8 readings a turn .* every 0\.375 mm along 9 mm\.$"):
            periodic_error(at, flat[: at.size], screw_lead_mm=LEAD_MM)
    with pytest.raises(RangeError, match=r"^3 positions and 2 readings do not fit; give one reading each\.$"):
        periodic_error([0, 1, 2], [0, 1], screw_lead_mm=LEAD_MM)
    for few in ([1.0], []):
        with pytest.raises(
            RangeError, match=r"^The readings cover 0 turns of the screw with gaps up to inf mm"
        ):
            periodic_error(few, few, screw_lead_mm=LEAD_MM)
    missing = periodic_targets_mm(LEAD_MM)
    with pytest.raises(
        RangeError, match=r"^The readings cover 3 turns of the screw with gaps up to 0\.75 mm"
    ):
        periodic_error(missing, np.where(missing == 3.0, np.nan, 0.0), screw_lead_mm=LEAD_MM)


def test_a_train_has_at_least_one_pair_even_where_screw_and_thread_have_one_lead():
    assert [train.wheels for train in change_gears(Fraction(1), [20, 20, 40], 1)] == [((20, 20),)]


def test_a_screw_whose_friction_just_balances_its_lead_is_not_said_to_hold():
    screw = {"mean_diameter_mm": 10.0, "flank_angle_deg": 0.0}
    lead_mm = math.pi * 10.0
    assert lowering_torque_nm(500, screw_travel_mm=lead_mm, screw_friction=1.0, **screw) == 0
    assert not holds_itself(lead_mm, screw_friction=1.0, **screw)
    assert holds_itself(lead_mm, screw_friction=1.0 + 1e-9, **screw)


def test_at_standstill_the_lesser_of_current_and_volts_makes_the_torque_and_carries_the_load():
    for supply_v, current_a in ((5.0, 2.5), (6.0, 3.0), (7.0, 3.0)):
        drive = {"driver_supply_v": supply_v, "phase_current_a": 3.0}
        assert pull_out_torque_nm(0.0, **drive, **WINDING) == pytest.approx(0.5 * current_a)
    drive = {"driver_supply_v": 6.0, "moved_inertia_kg_m2": 1e-4, "iron_drag_nm_s": 1e-3, **WINDING}
    assert hunting_growth_per_s(0.0, load_at_motor_nm=1.5, **drive) == pytest.approx(0, abs=1e-6)
    assert math.isnan(hunting_growth_per_s(0.0, load_at_motor_nm=1.5001, **drive))
