"""A bar that is held gives in proportion to the force, and less for each thing more that holds it."""

import numpy as np
import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.work.bar import (
    Bar,
    Section,
    Support,
    best_steady_mm,
    critical_speed_rpm,
    tool_deflection_mm,
    with_support,
)
from machinelab.work.chuck_push import chuck_stiffness, gripped_bend_mm, proven_force_n
from machinelab.work.holding import (
    HOLDINGS as WAYS,
)
from machinelab.work.holding import (
    WITH_STEADY,
    diameter_error_mm,
    held_bar,
    largest_force_n,
    longest_work_mm,
    worst_error_mm,
)

LENGTHS, DIAMETERS, FORCES = st.floats(30, 800), st.floats(4, 60), st.floats(1, 500)
HOLDINGS = st.sampled_from(["chuck only", "chuck and centre", "between centres", *WITH_STEADY])
# A bar that fails is no clearer for being made smaller, and that takes minutes.
# Solving on elements rounds so much away, of the most that the bar gives.
ROUNDED = 1e-5
few = settings(max_examples=25, phases=[Phase.explicit, Phase.generate])


@st.composite
def stepped_bars(draw):
    """One to three lengths on a chuck that gives, and perhaps a centre."""
    sections = tuple(
        Section(draw(st.floats(20, 200)), draw(st.floats(8, 40))) for _ in range(draw(st.integers(1, 3)))
    )
    chuck = Support(0.0, draw(st.floats(1e3, 1e6)), draw(st.floats(1e5, 1e9)))
    end = sum(section.length_mm for section in sections)
    return Bar(sections, (chuck, *draw(st.sampled_from([(), (Support(end),)]))))


@few
@given(stepped_bars(), FORCES, st.floats(0.1, 10))
def test_the_bar_gives_in_proportion_to_the_force(bar, force, times):
    places = np.linspace(0, bar.length_mm, 7)
    once = tool_deflection_mm(bar, force, places)
    np.testing.assert_allclose(tool_deflection_mm(bar, times * force, places), times * once, rtol=1e-9)
    np.testing.assert_allclose(diameter_error_mm(bar, force, places), 2 * once, rtol=1e-9)


@few
@given(HOLDINGS, LENGTHS, DIAMETERS, FORCES, st.floats(1.5, 4))
def test_twice_as_large_all_over_gives_half_as_much(holding, length, diameter, force, times):
    small = held_bar(holding, bar_diameter_mm=diameter, overhang_mm=length)
    large = held_bar(holding, bar_diameter_mm=times * diameter, overhang_mm=times * length)
    # E I / L^3 grows as the scale: bending of similar bars, any textbook.
    assert worst_error_mm(large, force) == pytest.approx(worst_error_mm(small, force) / times, rel=1e-6)
    assert critical_speed_rpm(large) == pytest.approx(critical_speed_rpm(small) / times, rel=1e-6)


@few
@given(stepped_bars(), st.floats(0.05, 0.95), FORCES)
def test_one_more_support_never_lets_it_give_more(bar, share, force):
    held = with_support(bar, Support(share * bar.length_mm, 1e4))
    places = np.linspace(0, bar.length_mm, 9)
    before, after = tool_deflection_mm(bar, force, places), tool_deflection_mm(held, force, places)
    assert np.all(after <= before + ROUNDED * before.max())
    assert critical_speed_rpm(held) >= critical_speed_rpm(bar) * (1 - ROUNDED)


@few
@given(stepped_bars(), FORCES)
def test_the_best_place_for_a_steady_rest_is_no_worse_than_any_other_that_is_tried(bar, force):
    place, worst = best_steady_mm(bar, force, places=5)
    along = np.linspace(0, bar.length_mm, 61)
    for share in (1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6):
        held = with_support(bar, Support(share * bar.length_mm))
        assert worst <= tool_deflection_mm(held, force, along).max() * (1 + ROUNDED)
    assert 0 < place < bar.length_mm


@few
@given(HOLDINGS, DIAMETERS, FORCES, st.floats(0.002, 0.2))
def test_the_longest_work_just_keeps_what_is_allowed(holding, diameter, force, allowed):
    length = longest_work_mm(holding, force, allowed, bar_diameter_mm=diameter)
    assume(np.isfinite(length))
    bar = held_bar(holding, bar_diameter_mm=diameter, overhang_mm=length)
    assert worst_error_mm(bar, force) <= allowed * 1.001
    assert largest_force_n(bar, allowed) >= force * 0.999


SOFT = {"chuck_turning_nmm_rad": 2e7, "chuck_spring_n_mm": 3e4}
CHUCK, CENTRE, STEADY = Support(0.0, 3e4, 2e7), Support(300.0), Support(120.0, 5e3)
HELD_BY = {
    "chuck only": (CHUCK,),
    "chuck and centre": (CHUCK, CENTRE),
    "between centres": (Support(0.0), CENTRE),
    "chuck and steady rest": (CHUCK, STEADY),
    "chuck, steady rest and centre": (CHUCK, STEADY, CENTRE),
}


@pytest.mark.parametrize("holding", WAYS)
def test_each_way_to_hold_has_just_its_own_supports_with_their_stiffness(holding):
    found = held_bar(
        holding,
        bar_diameter_mm=25,
        overhang_mm=300,
        steady_share=0.4,
        steady_spring_n_mm=5e3,
        elasticity_n_mm2=70_000.0,
        density_kg_m3=2700.0,
        **SOFT,
    )
    assert found == Bar((Section(300.0, 25.0),), HELD_BY[holding], 70_000.0, 2700.0)


@few
@given(st.floats(1e6, 1e8), st.floats(5e3, 1e6))
def test_pushes_at_two_overhangs_give_back_how_the_jaws_let_a_bar_lean_and_shift(turning, spring):
    overhang, push = np.array([40.0, 40, 90, 150]), np.array([100.0, 200, 150, 80])
    soft = {"chuck_turning_nmm_rad": turning, "chuck_spring_n_mm": spring}
    size = {"bar_diameter_mm": 25, "elasticity_n_mm2": 70_000.0}
    moved = gripped_bend_mm(push, overhang, **size, **soft)
    found = chuck_stiffness(overhang, push, moved, reading_sd_mm=1e-6, **size)
    assert found.chuck_turning_nmm_rad.value == pytest.approx(turning, rel=1e-5)
    assert found.chuck_spring_n_mm.value == pytest.approx(spring, rel=1e-5)
    low, high = found.chuck_spring_n_mm.interval
    assert low < spring < high
    three = chuck_stiffness(overhang[:3], push[:3], moved[:3], reading_sd_mm=1e-6, **size)
    assert three.chuck_spring_n_mm.value == pytest.approx(spring, rel=1e-5)
    with pytest.raises(
        RangeError, match=r"^2 readings cannot tell how the bar leans in the jaws from how the"
    ):
        chuck_stiffness(overhang[1:3], push[1:3], moved[1:3], reading_sd_mm=1e-6, **size)
    with pytest.raises(RangeError, match=r"^pushes_n is 0; it must be more than zero"):
        chuck_stiffness(overhang, [100, 0, 150, 80], moved, reading_sd_mm=1e-6, **size)


@few
@given(FORCES, st.floats(10, 40))
def test_a_turned_bar_tells_the_force_that_turned_it(force, diameter):
    bar = Bar((Section(120.0, 20.0),), (Support(0.0, turning_nmm_rad=np.inf),))
    places = np.array([20.0, 60, 100])
    turned = diameter + diameter_error_mm(bar, force, places)
    assert proven_force_n(bar, places, turned, reading_sd_mm=1e-6).value == pytest.approx(force, rel=1e-6)
    with pytest.raises(RangeError, match=r"^2 places are too few; measure the bar at 3 places or more\.$"):
        proven_force_n(bar, places[:2], turned[:2], reading_sd_mm=1e-6)


def test_work_is_never_so_long_where_a_stub_breaks_the_limit_and_endless_where_200_diameters_keep_it():
    assert np.isnan(longest_work_mm("chuck only", 100, 0.02, bar_diameter_mm=20, chuck_spring_n_mm=1e3))
    assert longest_work_mm("between centres", 1e-9, 5.0, bar_diameter_mm=20) == np.inf
    # A cantilever: the error is twice F L^3 / (3 E I), textbook.
    hand = (3 * 70_000.0 * np.pi / 64 * 20**4 * 0.02 / 2 / 100) ** (1 / 3)
    found = longest_work_mm("chuck only", 100, 0.02, bar_diameter_mm=20, elasticity_n_mm2=70_000.0)
    assert found == pytest.approx(hand, rel=1e-6)
    # Just short of 200 diameters there still is an end: where 195 of them, 3.9 m, use the limit up.
    nearly = 2 * 1.0 * 3900**3 / (3 * 206_000.0 * np.pi / 64 * 20**4)
    assert longest_work_mm("chuck only", 1.0, nearly, bar_diameter_mm=20) == pytest.approx(3900, rel=1e-6)
    rigid = longest_work_mm("chuck and steady rest", 100, 0.02, bar_diameter_mm=20, steady_share=0.6)
    soft = {"steady_spring_n_mm": 2e4, "steady_share": 0.6}
    assert longest_work_mm("chuck and steady rest", 100, 0.02, bar_diameter_mm=20, **soft) < rigid
