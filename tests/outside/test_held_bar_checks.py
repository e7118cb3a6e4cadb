"""Slender bars held in five ways, a tail that whips, a chuck that gives: closed forms and known truths."""

import numpy as np
import pytest
from inspection.source import by_hand, run_here

from machinelab.errors import RangeError
from machinelab.work.bar import Bar, Section, Support, critical_speed_rpm
from machinelab.work.chuck_push import chuck_stiffness, gripped_bend_mm, proven_force_n
from machinelab.work.holding import (
    HOLDINGS,
    diameter_error_mm,
    held_bar,
    largest_force_n,
    longest_work_mm,
    worst_error_mm,
)
from machinelab.work.whip import bow_growth, longest_tail_mm, tail_whip_rpm, whip_limit_rpm

ROOM = "work"
TEXTBOOK = by_hand("textbook beams: F L^3 / 3 E I, / 48 E I, / 102 E I; 206 000 N/mm2")
WHIP = by_hand("(k L)^2 sqrt(E I / m L^4) with k L = 1.8751, textbook")

BAR = {"bar_diameter_mm": 20, "overhang_mm": 300}


def test_the_diameter_is_wrong_by_twice_the_deflection_of_the_textbook(compare):
    """20 mm steel bar, 300 mm, 200 N: 1112.5 um at the end of a cantilever, 69.5 between centres."""
    compare(
        "error of diameter, 20 mm by 300 from the chuck, 200 N",
        worst_error_mm(held_bar("chuck only", **BAR), 200),
        2 * 1.11254,
        TEXTBOOK,
        abs=1e-4,
        unit="mm",
    )
    compare(
        "error of diameter, 20 mm by 300, between centres, 200 N",
        worst_error_mm(held_bar("between centres", **BAR), 200),
        2 * 0.069534,
        TEXTBOOK,
        abs=1e-5,
        unit="mm",
    )
    compare(
        "error of diameter, 20 mm by 300, chuck and centre, 200 N",
        worst_error_mm(held_bar("chuck and centre", **BAR), 200),
        2 * 0.03275,
        TEXTBOOK,
        abs=1e-4,
        unit="mm",
    )


def test_the_longest_bar_is_the_root_of_the_cantilever_formula(compare):
    """L = (3 E I d / F)^(1/3) with the deflection at half of the allowed error, textbook solved for L."""
    closed = (3 * 206_000 * np.pi / 64 * 20**4 * 0.01 / 100) ** (1 / 3)
    compare(
        "longest bar of 20 mm from the chuck, 100 N, 0.02 mm",
        longest_work_mm("chuck only", 100, 0.02, bar_diameter_mm=20),
        closed,
        TEXTBOOK,
        abs=0.01,
        unit="mm",
    )
    between = (48 * 206_000 * np.pi / 64 * 20**4 * 0.01 / 100) ** (1 / 3)
    found = longest_work_mm("between centres", 100, 0.02, bar_diameter_mm=20)
    compare(
        "longest bar of 20 mm between centres, 100 N, 0.02 mm", found, between, TEXTBOOK, abs=0.01, unit="mm"
    )


@pytest.mark.parametrize("holding", HOLDINGS)
def test_at_the_longest_length_and_at_the_largest_force_the_limit_is_just_kept(holding):
    length = longest_work_mm(holding, 60, 0.03, bar_diameter_mm=15, steady_share=0.6, steady_spring_n_mm=2e4)
    bar = held_bar(holding, bar_diameter_mm=15, overhang_mm=length, steady_share=0.6, steady_spring_n_mm=2e4)
    assert worst_error_mm(bar, 60) == pytest.approx(0.03, abs=1e-5)
    assert worst_error_mm(bar, largest_force_n(bar, 0.05)) == pytest.approx(0.05)


def test_a_chuck_that_gives_too_much_leaves_no_length_and_a_light_cut_leaves_any():
    soft = longest_work_mm("chuck only", 100, 0.02, bar_diameter_mm=20, chuck_spring_n_mm=5000)
    assert np.isnan(soft)
    assert longest_work_mm("chuck only", 1e-6, 0.02, bar_diameter_mm=20) == np.inf


def test_a_tail_whips_as_the_cantilever_of_the_textbook_and_of_the_matrix(compare):
    """12 x 300 5733, 12 x 400 3225, 10 x 300 4778, 6 x 400 1612 rpm: computed from (kL)^2, kL 1.8751."""
    found = tail_whip_rpm(np.array([300, 400, 300, 400]), np.array([12, 12, 10, 6]))
    compare(
        "speed at which a tail whips",
        found,
        [5733, 3225, 4778, 1612],
        WHIP,
        abs=1,
        unit="rpm",
        each=("12 x 300", "12 x 400", "10 x 300", "6 x 400"),
    )
    matrix = critical_speed_rpm(Bar((Section(400, 12),), (Support(0, turning_nmm_rad=np.inf),)))
    assert tail_whip_rpm(400, 12) == pytest.approx(matrix, rel=1e-4)


def test_half_the_length_turns_four_times_as_fast_and_the_longest_tail_turns_it_back():
    assert tail_whip_rpm(200, 12) == pytest.approx(4 * tail_whip_rpm(400, 12))
    limit = whip_limit_rpm(tail_whip_rpm(350, 9), whip_share=0.3)
    assert longest_tail_mm(limit, 9, whip_share=0.3) == pytest.approx(350)


def test_a_bow_grows_by_the_known_factors(compare):
    """1.10, 1.33, 1.96 and 2.78 at 0.3, 0.5, 0.7 and 0.8: 1 / (1 - r^2), textbook."""
    growth = bow_growth(np.array([0.3, 0.5, 0.7, 0.8]))
    compare(
        "growth of a bow",
        growth,
        [1.10, 1.33, 1.96, 2.78],
        by_hand("1 / (1 - r^2), textbook"),
        abs=0.005,
        each=("at 0.3", "at 0.5", "at 0.7", "at 0.8"),
    )
    with pytest.raises(RangeError, match="critical speed itself"):
        bow_growth(1.0)


def test_the_matrix_with_a_soft_chuck_gives_what_its_closed_form_says(compare):
    bar = held_bar("chuck only", **BAR, chuck_turning_nmm_rad=5e7, chuck_spring_n_mm=2e4)
    closed = gripped_bend_mm(150, 300, 20, chuck_turning_nmm_rad=5e7, chuck_spring_n_mm=2e4)
    compare(
        "bar in a soft chuck, by the stiffness matrix",
        diameter_error_mm(bar, 150, [300])[0],
        2 * closed,
        run_here("closed form of a bar that leans and gives in its jaws", "rounding of the computer"),
        rel=1e-6,
        unit="mm",
    )


def test_a_push_at_two_overhangs_tells_lean_from_give_with_intervals_that_hold_the_truth():
    """95 of 100 intervals hold the truth that was put in; 200 seeds, a dial good to 0.6 um."""
    out, push = np.repeat([40.0, 120.0], 6), np.tile([20.0, 40.0, 60.0], 4)
    true = gripped_bend_mm(push, out, 25, chuck_turning_nmm_rad=8e7, chuck_spring_n_mm=2e4)
    held = 0
    for seed in range(200):
        noisy = true + np.random.default_rng(seed).normal(0, 0.0006, true.size)
        found = chuck_stiffness(out, push, noisy, bar_diameter_mm=25, reading_sd_mm=0.0006)
        low, high = found.chuck_turning_nmm_rad.interval
        held += low <= 8e7 <= high
    assert 0.91 <= held / 200 <= 1.0
    with pytest.raises(RangeError, match="two overhangs"):
        chuck_stiffness(
            [50, 50, 55], [20, 40, 60], [0.01, 0.02, 0.03], bar_diameter_mm=25, reading_sd_mm=1e-3
        )


def test_a_stiff_chuck_is_told_as_one_without_an_upper_end():
    out, push = np.array([40.0, 40.0, 120.0, 120.0]), np.array([30.0, 60.0, 30.0, 60.0])
    stiff = gripped_bend_mm(push, out, 25, chuck_turning_nmm_rad=np.inf, chuck_spring_n_mm=np.inf)
    found = chuck_stiffness(out, push, stiff, bar_diameter_mm=25, reading_sd_mm=0.001)
    assert found.chuck_turning_nmm_rad.interval[1] == np.inf


def test_the_force_that_turned_a_bar_is_found_from_its_diameters(compare):
    bar = held_bar("chuck and centre", bar_diameter_mm=16, overhang_mm=260)
    places = np.linspace(10, 250, 9)
    turned = 15.98 + diameter_error_mm(bar, 70, places)
    compare(
        "force told by the diameters of a turned bar",
        proven_force_n(bar, places, turned, reading_sd_mm=0.002).value,
        70,
        run_here("diameters made from a force of 70 N", "rounding of the computer"),
        rel=1e-6,
        unit="N",
    )
    with pytest.raises(RangeError, match="too few"):
        proven_force_n(bar, [10, 20], [16, 16], reading_sd_mm=0.002)


@pytest.mark.parametrize(
    ("holding", "changed", "words"),
    [
        ("vice", {}, "Choose one of"),
        ("chuck and steady rest", {"steady_share": 1.2}, "between the ends"),
        ("chuck only", {"overhang_mm": 0}, "overhang_mm"),
    ],
)
def test_what_cannot_be_held_is_told_in_words(holding, changed, words):
    with pytest.raises(RangeError, match=words):
        held_bar(holding, **(BAR | changed))
