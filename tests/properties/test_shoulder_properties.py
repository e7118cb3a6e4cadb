"""What must hold for any threading pass: more of a cause, more groove; speed and groove undo each other."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.threads.operator import (
    anticipating_reactions_s,
    own_reactions_s,
    reactions_of_stops_s,
    surprised_reactions_s,
)
from machinelab.threads.shoulder import ShoulderJob, highest_speed_rpm, passes
from machinelab.threads.shoulder_cycle import EVENTS, PassWork, pass_events
from machinelab.threads.shoulder_draws import PassDoubts, draw_passes
from machinelab.threads.shoulder_groove import (
    crash_chance,
    groove_spread,
    needed_groove_mm,
    standard_groove_mm,
)
from machinelab.threads.shoulder_heat import BrakeCircuit, pass_heat
from machinelab.threads.shoulder_speed import groove_slopes
from machinelab.threads.shoulder_start import catch_up, following_lag_mm
from machinelab.threads.shoulder_stop import Stopping, braked_by_resistor, overtravel_turns, run_on

speeds = st.floats(5, 900)
reactions = st.floats(0, 1.5)
leads = st.floats(0.2, 8)


def nothing_or(low, high):
    """Nothing at all, or an amount that a machine could have."""
    return st.one_of(st.just(0.0), st.floats(low, high))


stoppings = st.builds(
    Stopping,
    drive_release_s=nothing_or(1e-3, 0.3),
    contact_delay_s=nothing_or(1e-3, 0.5),
    brake_drag_per_s=nothing_or(0.01, 10),
    brush_speed_rad_s=nothing_or(0.01, 5),
    coulomb_rad_s2=st.floats(0.5, 12),
    viscous_per_s=nothing_or(1e-6, 0.1),
    windage_per_rad=nothing_or(1e-8, 1e-3),
)
BRAKE = Stopping(contact_delay_s=0.05, brake_drag_per_s=2.5, brush_speed_rad_s=2.0, coulomb_rad_s2=4.0)
# What the closed form of the run-down promises where windage is slight.
TEN_DIGITS = 1e-10
WORK = PassWork(20, 1.2, 0.12, 60, 100, 3.0, 0.5, 0.1)


def groove(speed, reaction, stopping, lead=1.0):
    ran_on = run_on(speed, stopping=stopping).run_on_turns
    past = overtravel_turns(speed, reaction_s=reaction, run_on_turns=ran_on)
    return float(needed_groove_mm(past, thread_lead_mm=lead, tool_half_width_mm=0.8, wall_clearance_mm=0.3))


@pytest.mark.slow
@given(speeds, reactions, leads, stoppings)
def test_the_highest_speed_in_the_groove_that_a_speed_needs_is_that_speed(speed, reaction, lead, stopping):
    found = highest_speed_rpm(
        groove(speed, reaction, stopping, lead),
        thread_lead_mm=lead,
        tool_half_width_mm=0.8,
        wall_clearance_mm=0.3,
        reaction_s=reaction,
        stopping=stopping,
        fastest_speed_rpm=2000,
    )
    assert found == pytest.approx(speed, rel=1e-5)


@given(speeds, reactions, stoppings)
def test_the_groove_grows_with_speed_reaction_and_delay_and_shrinks_with_friction_and_brake(
    speed, reaction, stopping
):
    own = groove(speed, reaction, stopping)
    assert groove(1.1 * speed, reaction, stopping) > own
    assert groove(speed, reaction + 0.1, stopping) > own
    later = replace(stopping, contact_delay_s=stopping.contact_delay_s + 0.05)
    assert groove(speed, reaction, later) >= own * (1 - TEN_DIGITS)
    rougher = replace(stopping, coulomb_rad_s2=1.2 * stopping.coulomb_rad_s2)
    assert groove(speed, reaction, rougher) < own
    harder = replace(stopping, brake_drag_per_s=stopping.brake_drag_per_s + 1)
    assert groove(speed, reaction, harder) <= own * (1 + TEN_DIGITS)


def test_each_slope_of_the_groove_is_what_a_little_more_of_its_cause_adds():
    found = groove_slopes(120, reaction_s=0.3, stopping=BRAKE, thread_lead_mm=-1.5)

    def wider(speed=120, reaction=0.3, **changed):
        return groove(speed, reaction, replace(BRAKE, **changed), 1.5) - groove(120, 0.3, BRAKE, 1.5)

    slopes = {
        found.per_rpm: wider(speed=120.1) / 0.1,
        found.per_reaction_second: 1.5 * 2,
        found.per_delay_second: wider(contact_delay_s=0.051) / 0.001,
        found.per_brake_share: wider(brake_drag_per_s=2.5 / 1.001) / 0.001,
        found.per_friction_share: wider(coulomb_rad_s2=4.004) / 0.001,
    }
    assert list(slopes) == pytest.approx(list(slopes.values()), rel=2e-3)


@given(speeds, stoppings)
def test_a_reaction_comes_back_from_the_stop_that_it_made(speed, stopping):
    reaction = 0.31
    past = overtravel_turns(
        speed, reaction_s=reaction, run_on_turns=run_on(speed, stopping=stopping).run_on_turns
    )
    assert reactions_of_stops_s(past, speed_rpm=speed, stopping=stopping) == pytest.approx(reaction, abs=1e-9)


@given(st.floats(0.5, 20), st.floats(20, 2000), st.floats(1.001, 5))
def test_a_catch_up_leaves_no_area_between_carriage_and_spindle(speed, gain, headroom):
    """Area above the spindle's speed equals the triangle lost while the ramp rose."""
    found = catch_up(speed, carriage_mm_s2=gain, highest_travel_mm_s=headroom * speed)
    over = found.catch_up_peak_mm_s - speed
    flat_s = found.catch_up_s - speed / gain - 2 * over / gain
    assert flat_s >= -1e-9
    assert over**2 / gain + over * flat_s == pytest.approx(found.deficit_mm, rel=1e-9)


@given(st.floats(0, 1), st.integers(1, 40))
def test_the_chance_of_a_crash_lies_between_one_pass_and_the_sum_of_all(share, count):
    chance = crash_chance(share, thread_passes=count)
    assert share * (1 - 1e-12) <= chance <= min(1.0, count * share) * (1 + 1e-12)


def test_passes_all_at_once_are_those_one_by_one():
    chance = np.random.default_rng(5)
    draws = draw_passes(chance, draws=6, stopping=BRAKE, doubts=PassDoubts())
    reaction = surprised_reactions_s(chance, draws=6, reaction_s=0.3, reaction_spread=0.2)
    job = ShoulderJob(1.0, 2.5, 0.5, 0.3, 11)
    together = passes(
        100 * draws.speed_share, reaction_s=reaction, stopping=draws.stopping, job=job, work=WORK
    )
    for i in range(6):
        each = {name: np.asarray(value) for name, value in vars(draws.stopping).items()}
        alone = Stopping(**{name: float(value[i] if value.ndim else value) for name, value in each.items()})
        one = passes(100 * draws.speed_share[i], reaction_s=reaction[i], stopping=alone, job=job, work=WORK)
        assert one.overtravel_turns[0] == pytest.approx(together.overtravel_turns[i], rel=1e-12)


def test_the_same_generator_gives_the_same_passes():
    first, second = (
        draw_passes(np.random.default_rng(3), draws=50, stopping=BRAKE, doubts=PassDoubts()) for _ in range(2)
    )
    np.testing.assert_array_equal(first.speed_share, second.speed_share)
    np.testing.assert_array_equal(first.stopping.contact_delay_s, second.stopping.contact_delay_s)


def test_drawn_reactions_have_the_median_mean_and_spread_that_were_asked_for():
    chance = np.random.default_rng(8)
    surprised = surprised_reactions_s(chance, draws=40_000, reaction_s=0.3, reaction_spread=0.2)
    assert np.median(surprised) == pytest.approx(0.3, rel=0.01)
    assert np.log(surprised).std() == pytest.approx(0.2, rel=0.02)
    assert surprised.min() > 0
    anticipated = anticipating_reactions_s(chance, draws=40_000, reaction_s=0.02, reaction_sd_s=0.06)
    assert anticipated.mean() == pytest.approx(0.02, abs=0.002)
    assert anticipated.std() == pytest.approx(0.06, rel=0.02)
    assert 0.3 < np.mean(anticipated < 0) < 0.42


def test_own_reactions_have_the_middle_of_the_stops_and_a_little_more_spread():
    stops = np.random.default_rng(2).lognormal(np.log(0.3), 0.2, 20)
    drawn = own_reactions_s(np.random.default_rng(1), draws=40_000, own_stops_s=[*stops, math.nan])
    assert drawn.mean() == pytest.approx(stops.mean(), rel=0.01)
    assert stops.std() < drawn.std() < 1.3 * stops.std()
    assert drawn.max() > stops.max()


def test_own_reactions_lie_beside_the_stops_by_silvermans_width():
    """0.9 times the lesser of deviation and quarters over 1.349, over the fifth root of the number."""
    wide = np.array([*np.linspace(0, 1, 19), 60.0])
    alike = np.array([0.3] * 18 + [0.5, 0.7])
    for stops, spread in (
        # One stop far out moves the deviation but not the quarters, which lie half a second apart.
        (wide, np.subtract(*np.quantile(wide, (0.75, 0.25))) / 1.349),
        (np.array([-1.0, 1.0] * 10), np.sqrt(20 / 19)),
        # The quarters of stops that are mostly alike are none; then the deviation stands for them.
        (alike, np.sqrt(np.sum((alike - alike.mean()) ** 2) / 19)),
    ):
        drawn = own_reactions_s(np.random.default_rng(4), draws=20_000, own_stops_s=stops)
        # Beside a stop at the edge there are no others, so one side of it shows its own width.
        highest = stops.max()
        beside = drawn[drawn > highest] - highest
        assert np.sqrt(np.mean(beside**2)) == pytest.approx(0.9 * spread * 20**-0.2, rel=0.1)


def test_a_spread_of_grooves_has_the_quantiles_of_the_drawn_order():
    found = groove_spread(np.arange(101.0)[::-1])
    drawn = (found.mean_mm, found.in_95_mm, found.in_99_mm, found.widest_mm)
    assert drawn == pytest.approx((50, 95, 99, 100))
    # Of whole numbers in a row: n (n + 1) / 12.
    assert found.sd_mm == pytest.approx(np.sqrt(101 * 102 / 12))
    single = groove_spread(2.5)
    assert (single.mean_mm, single.sd_mm, single.in_95_mm, single.widest_mm) == (2.5, 0.0, 2.5, 2.5)


def test_too_few_stops_do_not_stand_for_a_hand():
    with pytest.raises(RangeError, match="9 stops"):
        own_reactions_s(np.random.default_rng(1), draws=10, own_stops_s=[0.3] * 9)


def test_a_tool_that_fills_the_groove_and_a_speed_that_is_too_low_to_turn_are_said_in_words():
    ends = {"thread_lead_mm": 1, "reaction_s": 0.3, "stopping": BRAKE, "fastest_speed_rpm": 1000}
    with pytest.raises(RangeError, match="has no room"):
        highest_speed_rpm(1.0, tool_half_width_mm=0.8, wall_clearance_mm=0.3, **ends)
    with pytest.raises(RangeError, match="No feasible speed"):
        highest_speed_rpm(1.2, lowest_speed_rpm=300, **ends)
    assert highest_speed_rpm(500, **ends) == 1000


def test_what_is_missing_stays_missing():
    assert math.isnan(run_on(math.nan, stopping=BRAKE).run_on_turns)
    ends = {"thread_lead_mm": 1, "stopping": BRAKE, "fastest_speed_rpm": 1000}
    assert math.isnan(highest_speed_rpm(math.nan, reaction_s=0.3, **ends))
    assert math.isnan(highest_speed_rpm(2.0, reaction_s=math.nan, **ends))
    job = ShoulderJob(1.0, math.nan, 0.5, 0.3, 11)
    found = passes(100, reaction_s=0.3, stopping=BRAKE, job=job, work=WORK)
    assert math.isnan(found.crash_share)
    assert math.isnan(found.crash_chance)
    assert math.isnan(found.following_error_mm)
    assert math.isnan(following_lag_mm(math.nan, full_step_mm=0.01))


def test_a_way_too_short_to_get_up_to_speed_is_refused_in_words():
    lazy = replace(WORK, spin_up_rad_s2=0.5)
    told = (
        r"turns to get up to 500 rpm and the way .* must stop: take a lower speed, or start further back\.$"
    )
    with pytest.raises(RangeError, match=told):
        pass_events(500, reaction_s=0.3, stopping=BRAKE, thread_lead_mm=1, work=lazy)


def test_an_early_hand_leaves_the_thread_short_and_still_needs_room_for_the_tool():
    job = ShoulderJob(1.0, 2.0, 0.5, 0.3, 11)
    found = passes(20, reaction_s=-2.0, stopping=BRAKE, job=job, work=WORK)
    assert found.early_share == 1.0
    assert found.groove_mm.mean_mm == pytest.approx(0.8)


def test_a_spindle_without_friction_is_refused_in_words():
    with pytest.raises(RangeError, match="never stands"):
        run_on(100, stopping=Stopping(brake_drag_per_s=2.5))


def test_a_groove_unknown_to_the_standard_and_an_empty_sample_are_refused_in_words():
    with pytest.raises(RangeError, match="regular, short"):
        standard_groove_mm(1.0, groove="long")
    with pytest.raises(RangeError, match="one pass"):
        groove_spread([])
    with pytest.raises(RangeError, match="from 0 to 1"):
        crash_chance(1.2, thread_passes=3)


def test_two_stops_in_a_pass_warm_twice_as_much_as_one():
    circuit = BrakeCircuit(0.864, 1.2, 12.0, 2.0, 0.045)
    drags = {"coulomb_rad_s2": 3.0}
    brake = braked_by_resistor(**vars(circuit), contact_delay_s=0.03, **drags)
    both = pass_heat(100, return_speed_rpm=100, cycle_s=30.0, stopping=brake, circuit=circuit)
    still = pass_heat(100, return_speed_rpm=1e-9, cycle_s=30.0, stopping=brake, circuit=circuit)
    assert both.resistor_energy_j == pytest.approx(2 * still.resistor_energy_j, rel=1e-9)


def test_the_carriage_comes_back_to_where_it_began():
    found = pass_events(100, reaction_s=0.3, stopping=BRAKE, thread_lead_mm=1.5, work=WORK)
    assert found.travels_mm[-1] == found.travels_mm[0] == 0
    assert found.travels_mm[EVENTS.index("end of the thread")] == pytest.approx(20 + 1.2 - 0.12)


def test_drawn_passes_keep_the_middle_of_the_stop_and_each_doubt_moves_its_own():
    stopping = replace(BRAKE, viscous_per_s=0.02, windage_per_rad=1e-4, contact_delay_s=0.2)
    still = PassDoubts(0.0, 0.0, 0.0, 0.0)
    assert vars(draw_passes(np.random.default_rng(1), draws=3, stopping=stopping, doubts=still).stopping) == {
        name: pytest.approx(value) for name, value in vars(stopping).items()
    }
    for name, moved in (
        ("contact_delay_sd_s", {"contact_delay_s"}),
        ("hot_brake_share", {"brake_drag_per_s"}),
        ("friction_sd_share", {"coulomb_rad_s2", "viscous_per_s", "windage_per_rad"}),
    ):
        doubts = replace(still, **{name: 0.1})
        drawn = draw_passes(np.random.default_rng(1), draws=2000, stopping=stopping, doubts=doubts)
        ends = vars(drawn.stopping)
        assert {one for one in ends if np.ptp(ends[one]) > 0} == moved
        assert set(drawn.speed_share) == {1.0}
    friction = drawn.stopping.coulomb_rad_s2 / stopping.coulomb_rad_s2
    assert np.log(friction).std() == pytest.approx(0.1, rel=0.05)
    for other in ("viscous_per_s", "windage_per_rad"):
        np.testing.assert_allclose(ends[other] / getattr(stopping, other), friction)
    hot = draw_passes(
        np.random.default_rng(2), draws=2000, stopping=stopping, doubts=replace(still, hot_brake_share=0.25)
    ).stopping
    assert stopping.brake_drag_per_s / hot.brake_drag_per_s.min() == pytest.approx(1.25, abs=0.01)
    assert hot.brake_drag_per_s.max() <= stopping.brake_drag_per_s
    uneven = draw_passes(
        np.random.default_rng(3), draws=4000, stopping=stopping, doubts=replace(still, speed_sd_share=0.6)
    )
    assert uneven.speed_share.min() == 0
    assert uneven.speed_share.max() > 2


PARTS = {
    "stopping": BRAKE,
    "doubts": PassDoubts(),
    "work": replace(WORK, full_step_mm=0.01, torque_share=0.3),
    "job": ShoulderJob(1.0, 2.5, 0.5, 0.3, 11),
    "circuit": BrakeCircuit(0.864, 1.2, 12.0, 2.0, 0.045),
}
# What may be below zero or is refused together with others, in words of its own.
OTHERWISE = ("thread_lead_mm", "coulomb_rad_s2", "viscous_per_s", "windage_per_rad")


@pytest.mark.parametrize(
    ("part", "name"),
    [(part, name) for part, held in PARTS.items() for name in vars(held) if name not in OTHERWISE],
)
def test_each_number_of_a_pass_below_zero_is_refused_by_its_name(part, name):
    given = PARTS | {part: replace(PARTS[part], **{name: -1})}
    doubts = given.pop("doubts")

    def a_pass():
        draw_passes(np.random.default_rng(1), draws=2, stopping=given["stopping"], doubts=doubts)
        return passes(100, reaction_s=0.3, **given)

    with pytest.raises(RangeError, match=rf"^{name} is -1; it must "):
        a_pass()
