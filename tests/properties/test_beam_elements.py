"""The elements of a bar are the integrals of its four cubic shapes, whatever the element's length."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.polynomial import Polynomial
from scipy.integrate import trapezoid

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
from machinelab.work.beam_elements import BAND, assembled, bent, between, full, held_fast, swung
from machinelab.work.beam_elements import shapes as shapes_at

few = settings(max_examples=20)


def shapes(h: float) -> list[Polynomial]:
    """Hermite's cubics: one has a shift or a lean of one at one end, and none otherwise."""
    x = Polynomial([0, 1 / h])
    return [1 - 3 * x**2 + 2 * x**3, h * (x - 2 * x**2 + x**3), 3 * x**2 - 2 * x**3, h * (x**3 - x**2)]


def integrals(curves: list[Polynomial], h: float) -> np.ndarray:
    return np.array([[(one * other).integ()(h) for other in curves] for one in curves])


@few
@given(st.floats(0.3, 30), st.floats(0.3, 30))
def test_bending_and_mass_of_an_element_are_the_integrals_of_its_shapes(first, second):
    lengths = np.array([first, second])
    for h, bending, mass in zip(lengths, bent(lengths), swung(lengths), strict=True):
        curvatures = [one.deriv(2) for one in shapes(h)]
        np.testing.assert_allclose(bending / h**3, integrals(curvatures, h), rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(mass * h / 420, integrals(shapes(h), h), rtol=1e-9, atol=1e-12)


@few
@given(st.floats(0.3, 30), st.floats(0, 1))
def test_a_place_follows_the_ends_of_its_element_by_the_four_cubics(h, share):
    at = share * h
    np.testing.assert_allclose(shapes_at(at, h), [one(at) for one in shapes(h)], atol=1e-12 * max(1, h))


@few
@given(st.floats(0.3, 30), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_within_a_clamped_element_the_bending_of_one_force_against_that_of_another_gives_the_deflection(
    h, first, second
):
    """Castigliano's theorem with the moments of a clamped bar, any mechanics text."""
    grid = np.linspace(0, h, 4001)

    def moments(at):
        rest = h - at
        left = rest**2 * (3 * at + rest) / h**3
        return left * grid - at * rest**2 / h**2 - np.maximum(grid - at, 0)

    a, b = first * h, second * h
    by_hand = trapezoid(moments(a) * moments(b), grid)
    assert between(a, b, h) == pytest.approx(by_hand, rel=1e-4, abs=1e-6 * h**3)
    assert between(a, b, h) == pytest.approx(between(b, a, h), rel=1e-9)


@few
@given(st.floats(0.02, 0.98), st.floats(0.02, 0.98))
def test_a_step_that_changes_nothing_changes_no_deflection(step, place):
    held = (Support(0, spring_n_mm=5e4, turning_nmm_rad=2e8), Support(300, spring_n_mm=1e4))
    whole = Bar((Section(300, 20),), held)
    parted = Bar((Section(300 * step, 20), Section(300 * (1 - step), 20)), held)
    along = [300 * place, 150.0, 300.0]
    np.testing.assert_allclose(
        tool_deflection_mm(parted, 100, along), tool_deflection_mm(whole, 100, along), rtol=1e-7
    )


def test_a_support_that_all_but_meets_a_step_leaves_no_trace_of_rounding():
    turned = tuple(Section(length, size) for length, size in ((100.0, 20), (200.0, 16)))
    gives = [
        tool_deflection_mm(Bar(turned, (Support(0, turning_nmm_rad=np.inf), Support(at))), 100, [50, 250])
        for at in (100.0, *(100 + off for off in (1e-6, 1e-3, 0.02, 0.031, 0.05)))
    ]
    np.testing.assert_allclose(gives, np.broadcast_to(gives[0], (6, 2)), rtol=2e-3)


@few
@given(st.floats(0.3, 30), st.floats(0.3, 30))
def test_elements_put_together_are_their_sum_at_the_node_they_share(first, second):
    lengths = np.array([first, second])
    blocks = bent(lengths)
    by_hand = np.zeros((6, 6))
    by_hand[:4, :4] += blocks[0]
    by_hand[2:, 2:] += blocks[1]
    band = assembled(np.array([0, first, first + second]), blocks)
    assert band.shape == (BAND + 1, 6)
    np.testing.assert_allclose(full(band), by_hand)


def test_a_node_that_is_held_fast_keeps_its_place_and_pulls_at_no_other():
    band = assembled(np.array([0.0, 1, 3, 4]), bent(np.array([1.0, 2, 1])))
    free = np.array([True, True, False, True, True, True, True, False])
    before = full(band)
    held = full(held_fast(band, free))
    np.testing.assert_allclose(held[np.ix_(free, free)], before[np.ix_(free, free)])
    np.testing.assert_allclose(held[~free], np.eye(8)[~free])


ELASTICITY, MOMENT = 206_000.0, np.pi / 64 * 20**4


def bar(*supports: Support, length_mm: float = 300.0) -> Bar:
    return Bar((Section(length_mm, 20),), supports)


@few
@given(st.floats(0.05, 1.0), st.floats(1e6, 1e9), st.floats(500, 1e6))
def test_a_bar_in_soft_jaws_gives_by_bending_leaning_and_shifting_one_upon_the_other(share, turning, spring):
    soft = bar(Support(0, spring_n_mm=spring, turning_nmm_rad=turning))
    at = 300 * share
    hand = 100 * (at**3 / 3 / ELASTICITY / MOMENT + at**2 / turning + 1 / spring)
    assert tool_deflection_mm(soft, 100, [at]) == pytest.approx([hand], rel=1e-6)


def test_two_supports_at_one_place_hold_what_either_holds():
    clamped = bar(Support(0, turning_nmm_rad=np.inf))
    # One holds the shift and lets it lean, the other stops the lean; in either order that is a clamp.
    shift, lean = Support(0, turning_nmm_rad=0.0), Support(0, spring_n_mm=1.0, turning_nmm_rad=np.inf)
    for both in ((shift, lean), (lean, shift)):
        assert tool_deflection_mm(bar(*both), 100, [300]) == pytest.approx(
            tool_deflection_mm(clamped, 100, [300])
        )
        assert critical_speed_rpm(bar(*both)) == pytest.approx(critical_speed_rpm(clamped))


def test_a_bar_on_two_very_soft_springs_bounces_upon_them_as_a_lump():
    """Some springs and a mass, any textbook; a bar of 300 by 20 mm of steel weighs 0.74 kg."""
    spring_n_mm, kg = 3e-4, 7850 * np.pi / 4 * 0.020**2 * 0.300
    hand_rad_s = np.sqrt(2 * 1000 * spring_n_mm / kg)
    soft = bar(Support(0, spring_n_mm), Support(300, spring_n_mm))
    assert critical_speed_rpm(soft) == pytest.approx(hand_rad_s * 30 / np.pi, rel=5e-3)


@pytest.mark.parametrize(("bore_mm", "faster"), [(0, 1.0), (8, 1.077033), (12, 1.166190)])
def test_a_tube_whips_faster_than_a_bar_as_its_mass_lies_further_out(bore_mm, faster):
    """The radius of gyration grows by the root of 1 + (bore / diameter)**2, any textbook."""
    ends = (Support(0), Support(300))
    tube = Bar((Section(300, 20, bore_mm),), ends)
    assert critical_speed_rpm(tube) == pytest.approx(faster * critical_speed_rpm(bar(*ends)), rel=1e-6)


def test_a_bar_clamped_at_its_far_end_gives_at_the_near_one_as_the_other_way_round():
    mirrored = bar(Support(300, turning_nmm_rad=np.inf))
    clamped = bar(Support(0, turning_nmm_rad=np.inf))
    assert tool_deflection_mm(mirrored, 100, [0]) == pytest.approx(tool_deflection_mm(clamped, 100, [300]))


def test_one_more_support_leaves_the_material_as_it_was():
    aluminium = Bar((Section(300, 20),), (Support(0),), 70_000.0, 2700.0)
    more = with_support(aluminium, Support(300))
    assert more == Bar((Section(300, 20),), (Support(0), Support(300)), 70_000.0, 2700.0)


def test_a_bar_that_can_swing_or_has_nothing_to_hold_it_is_refused():
    for loose in (
        bar(Support(150)),
        bar(Support(150), Support(150)),
        bar(Support(0, spring_n_mm=0.0, turning_nmm_rad=np.inf)),
        bar(Support(0, spring_n_mm=0.0)),
    ):
        with pytest.raises(
            RangeError, match=r"^These supports do not hold the bar: one that lets it lean must"
        ):
            tool_deflection_mm(loose, 100, [300])
    with pytest.raises(RangeError, match=r"^A support stands off the bar, which is 300 mm long"):
        tool_deflection_mm(bar(Support(0), Support(301)), 100, [300])
    with pytest.raises(RangeError, match=r"^A support stands off the bar, which is 300 mm long"):
        tool_deflection_mm(bar(Support(-0.1), Support(300)), 100, [300])
    for empty in (bar(), Bar((), (Support(0),))):
        with pytest.raises(
            RangeError, match=r"^The bar needs at least one length of material and one support"
        ):
            tool_deflection_mm(empty, 100, [0])


def test_a_length_of_nothing_is_refused_by_its_name():
    with pytest.raises(RangeError, match=r"^length_mm is 0; it must be more than zero"):
        tool_deflection_mm(
            Bar((Section(0, 20), Section(300, 20)), (Support(0, turning_nmm_rad=1e9),)), 100, [300]
        )


def test_a_springy_steady_rest_found_best_gives_what_a_bar_held_there_gives():
    held = (Support(0, turning_nmm_rad=np.inf), Support(300))
    place, most = best_steady_mm(bar(*held), 200, spring_n_mm=5000)
    along = np.linspace(0, 300, 61)
    there = bar(*held, Support(place, spring_n_mm=5000))
    assert tool_deflection_mm(there, 200, along).max() == pytest.approx(most, rel=1e-3)
    for other in (place - 8, place + 8):
        beside = bar(*held, Support(other, spring_n_mm=5000))
        assert tool_deflection_mm(beside, 200, along).max() > most
    near_the_jaws, _ = best_steady_mm(bar(*held), 200, cut_to_mm=150)
    assert near_the_jaws < place
