"""Slender work and the steady rest: closed forms from textbooks against the stiffness matrix."""

import numpy as np
import pytest
from inspection.source import by_hand, run_here

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
from machinelab.work.bending import (
    between_centres_bend_mm,
    chuck_only_bend_mm,
    overhang_bend_mm,
    sag_mm,
    second_moment_mm4,
)
from machinelab.work.steady import (
    axis_shift_mm,
    copied_share,
    finger_travel_mm,
    lobes_left_share,
    roller_circle_mm,
    seat_rise_mm,
)
from machinelab.work.steady_offset import sideways_taper_mm, walk_out_bend_mm, walk_out_force_n

ROOM = "work"
TURNED = run_here("a lobed bar on two fingers, solved degree by degree", "steps of a degree")
SWEEP = by_hand("a finite-element sweep made before, rounded")

CHUCK = Support(0, turning_nmm_rad=np.inf)
STEEL = Section(300, 20)


def bent_um(bar, force_n, at_mm):
    return tool_deflection_mm(bar, force_n, at_mm) * 1000


def test_a_twenty_millimetre_bar_from_the_chuck_gives_a_millimetre_at_two_hundred_newton(compare):
    """F L^3 / 3 E I, textbook; 206 000 N/mm2."""
    compare(
        "second moment of 20 mm", second_moment_mm4(20), 7853.98, by_hand("pi d^4 / 64"), abs=0.01, unit="mm4"
    )
    compare(
        "bar of 20 by 300 mm from the chuck, 200 N",
        chuck_only_bend_mm(200, 300, 20) * 1000,
        1112.54,
        by_hand("F L^3 / 3 E I, textbook; 206 000 N/mm2"),
        abs=0.01,
        unit="um",
    )
    compare(
        "bar of 20 by 300 mm from the chuck, by the stiffness matrix",
        bent_um(Bar((STEEL,), (CHUCK,)), 200, 300),
        [1112.54],
        by_hand("F L^3 / 3 E I, textbook; 206 000 N/mm2"),
        abs=0.01,
        unit="um",
    )


def test_between_centres_it_gives_a_sixteenth_and_with_chuck_and_centre_a_thirty_fourth(compare):
    """F L^3 / 48 E I, 7 F L^3 / 768 E I and F L^3 / (102 E I) at 0.586 L, textbooks."""
    compare(
        "between centres, 200 N in the middle",
        between_centres_bend_mm(200, 300, 20) * 1000,
        69.534,
        by_hand("F L^3 / 48 E I, textbook"),
        abs=0.002,
        unit="um",
    )
    centres = Bar((STEEL,), (Support(0), Support(300)))
    compare(
        "between centres, by the stiffness matrix",
        bent_um(centres, 200, 150),
        [69.534],
        by_hand("F L^3 / 48 E I, textbook"),
        abs=0.002,
        unit="um",
    )
    held = Bar((STEEL,), (CHUCK, Support(300)))
    compare(
        "chuck and centre, 200 N in the middle",
        bent_um(held, 200, 150),
        [30.421],
        by_hand("7 F L^3 / 768 E I, textbook"),
        abs=0.002,
        unit="um",
    )
    along = np.linspace(0, 300, 601)
    bent = bent_um(held, 200, along)
    compare(
        "chuck and centre, where it bends most",
        bent.max(),
        32.75,
        by_hand("F L^3 / 102 E I, textbook"),
        abs=0.05,
        unit="um",
    )
    compare(
        "place where it bends most, over the length",
        along[np.argmax(bent)] / 300,
        0.586,
        by_hand("0.586 L, textbook"),
        abs=0.003,
    )


def test_an_overhang_beyond_the_steady_follows_its_closed_form(compare):
    """F b^3 / 3 E I + F b^2 a / 4 E I, textbook; b 20, 40 and 60 mm."""
    beyond = np.array([20.0, 40.0, 60.0])
    closed = overhang_bend_mm(200, 300 - beyond, beyond, 20) * 1000
    compare(
        "overhang beyond the steady",
        closed,
        [3.791, 15.493, 35.601],
        by_hand("F b^3 / 3 E I + F b^2 a / 4 E I, textbook"),
        abs=0.001,
        unit="um",
        each=("20 mm", "40 mm", "60 mm"),
    )
    by_matrix = [
        bent_um(with_support(Bar((STEEL,), (CHUCK,)), Support(300 - b)), 200, 300)[0] for b in beyond
    ]
    compare(
        "overhang beyond the steady by the stiffness matrix",
        by_matrix,
        closed,
        by_hand("F b^3 / 3 E I + F b^2 a / 4 E I, textbook"),
        rel=1e-6,
        unit="um",
        each=("20 mm", "40 mm", "60 mm"),
    )


def test_the_same_ratio_bends_a_thinner_bar_more(compare):
    """The closed form in diameters, 3.2966e-5 F (L/D)^3 / D, derived: 100 N on 20 mm, ratios 3 to 10."""
    ratio = np.array([3, 4, 6, 8, 10])
    wanted = [4.45, 10.549, 35.601, 84.388, 164.82]
    compare(
        "100 N on 20 mm from the chuck",
        chuck_only_bend_mm(100, 20 * ratio, 20) * 1000,
        wanted,
        by_hand("3.2966e-5 F (L/D)^3 / D"),
        abs=0.01,
        unit="um",
        each=[f"ratio {one}" for one in ratio],
    )
    compare(
        "bend of 6 mm over that of 20 mm at the same ratio",
        chuck_only_bend_mm(100, 6 * 4, 6) / chuck_only_bend_mm(100, 20 * 4, 20),
        20 / 6,
        by_hand("20 / 6"),
        rel=1e-6,
    )


def test_whip_of_four_ways_to_hold_a_bar(compare):
    """(k L)^2 sqrt(E I / m L^4), k L = 1.8751, pi, 3.9266, 4.7300, textbooks; 12 mm by 500 mm of steel."""
    section = (Section(500, 12),)
    ends = (
        (CHUCK,),
        (Support(0), Support(500)),
        (CHUCK, Support(500)),
        (CHUCK, Support(500, turning_nmm_rad=np.inf)),
    )
    speeds = [critical_speed_rpm(Bar(section, held)) for held in ends]
    compare(
        "critical speed of 12 by 500 mm",
        speeds,
        [2064, 5794, 9051, 13134],
        by_hand("(k L)^2 sqrt(E I / m L^4), textbooks"),
        abs=2,
        unit="rpm",
        each=("chuck only", "between centres", "chuck and centre", "chuck and chuck"),
    )


def test_whip_of_a_tail_out_of_the_spindle(compare):
    """The cantilever of the same textbooks: 12 by 300, 12 by 400, 10 by 300, 6 by 400 mm."""
    tails = [(12, 300), (12, 400), (10, 300), (6, 400)]
    speeds = [critical_speed_rpm(Bar((Section(length, d),), (CHUCK,))) for d, length in tails]
    compare(
        "critical speed of a tail out of the spindle",
        speeds,
        [5733, 3225, 4778, 1612],
        by_hand("(k L)^2 sqrt(E I / m L^4), textbooks"),
        abs=2,
        unit="rpm",
        each=[f"{d} by {length} mm" for d, length in tails],
    )


def test_sag_by_weight_is_that_of_many_small_forces(compare):
    """The textbook's w L^4 / 8 E I; another way: the end's deflection for a force at each place (Maxwell)."""
    places = (np.arange(300) + 0.5) * 1.0
    weight_n = 9.80665 * 7850e-9 * np.pi / 4 * 20**2
    # The end's deflection for a force at x is x^2 (3 L - x) / 6 E I.
    each = weight_n * places**2 * (3 * 300 - places) / (6 * 206_000 * second_moment_mm4(20))
    compare(
        "sag of 20 by 300 mm by its weight",
        sag_mm(300, 20),
        each.sum(),
        run_here("many small forces, by Maxwell", "the width of three hundred slices"),
        rel=1e-4,
        unit="mm",
    )


def test_a_step_of_no_difference_changes_nothing_and_a_thin_end_bends_more(compare):
    whole = Bar((STEEL,), (CHUCK,))
    parted = Bar((Section(120, 20), Section(180, 20)), (CHUCK,))
    thin = Bar((Section(120, 20), Section(180, 14)), (CHUCK,))
    compare(
        "a step of no difference",
        bent_um(parted, 100, 300),
        bent_um(whole, 100, 300),
        run_here("the same bar in one piece", "rounding of the computer"),
        rel=1e-9,
        unit="um",
    )
    # Two cantilevers one on the other, textbook: thick root bends and leans under the end load.
    root, end, e = second_moment_mm4(20), second_moment_mm4(14), 206_000
    lean = 100 * 120 * (2 * 180 + 120) / (2 * e * root)
    sunk = 100 * 120**2 * (2 * 120 + 3 * 180) / (6 * e * root)
    wanted = (sunk + lean * 180 + 100 * 180**3 / (3 * e * end)) * 1000
    compare(
        "a bar with a thin end",
        bent_um(thin, 100, 300),
        [wanted],
        by_hand("two cantilevers one on the other, textbook"),
        rel=1e-6,
        unit="um",
    )


def test_springs_in_a_row_add(compare):
    """A chuck that leans adds F L^2 / k and a soft rest F / k, derived."""
    soft = Bar((STEEL,), (Support(0, turning_nmm_rad=5e6),))
    added = bent_um(soft, 100, 300) - bent_um(Bar((STEEL,), (CHUCK,)), 100, 300)
    compare(
        "what a chuck that leans adds",
        added,
        [100 * 300**2 / 5e6 * 1000],
        by_hand("F L^2 / k"),
        rel=1e-6,
        unit="um",
    )
    rest = Bar((STEEL,), (Support(0), Support(300, spring_n_mm=20_000)))
    compare(
        "what a soft rest gives",
        bent_um(rest, 100, 300),
        [5.0],
        by_hand("F / k, half the force"),
        rel=1e-6,
        unit="um",
    )


def test_a_steady_helps_most_near_the_middle(compare):
    """A finite-element sweep, derived: 0.567 of the length and 4.49 um; half way and 6.3 um."""
    held = Bar((STEEL,), (CHUCK, Support(300)))
    place, most = best_steady_mm(held, 200, places=59)
    compare("best place of a steady, chuck and centre", place / 300, 0.567, SWEEP, abs=0.02, unit="L")
    compare("bend left with a steady, chuck and centre", most * 1000, 4.49, SWEEP, abs=0.1, unit="um")
    centres = Bar((STEEL,), (Support(0), Support(300)))
    place, most = best_steady_mm(centres, 200, places=59)
    compare("best place of a steady between centres", place / 300, 0.5, SWEEP, abs=0.01, unit="L")
    compare("bend left with a steady between centres", most * 1000, 6.30, SWEEP, abs=0.05, unit="um")


def test_a_steady_off_to_the_side_turns_a_taper_or_bends_the_bar(compare):
    """Derived: a tenth at 250 mm; and the cantilever with its end moved."""
    compare(
        "taper of a steady a tenth aside at 250 mm",
        sideways_taper_mm(0.1, 250, 100),
        0.08,
        compare.by_hand,
        abs=1e-9,
        unit="mm",
    )
    bent = walk_out_bend_mm(0.1, 250, np.array([50, 125, 200]))
    compare(
        "bend of a bar whose end is moved by a tenth",
        bent,
        [0.0056, 0.03125, 0.0704],
        by_hand("the cantilever with its end moved"),
        abs=1e-5,
        unit="mm",
        each=("50 mm", "125 mm", "200 mm"),
    )
    compare(
        "force that moves the end of a bar by a tenth",
        walk_out_force_n(0.1, 250, np.array([25, 20])),
        [75.8, 31.1],
        by_hand("the cantilever with its end moved"),
        abs=0.1,
        unit="N",
        each=("25 mm", "20 mm"),
    )


def test_moving_one_lower_roller_shifts_the_axis_aside_and_up(compare):
    """Derived for fingers at 120 and 240 degrees from the top, a tenth of a millimetre."""
    one = axis_shift_mm([120, 240], [0.1, 0])
    compare(
        "axis aside for one roller out by a tenth",
        abs(one.across_mm),
        0.05774,
        compare.by_hand,
        abs=1e-5,
        unit="mm",
    )
    compare("axis up for one roller out by a tenth", one.up_mm, 0.1, compare.by_hand, abs=1e-5, unit="mm")
    both = axis_shift_mm([120, 240], [0.1, 0.1])
    compare(
        "axis aside for both rollers out by a tenth", both.across_mm, 0, compare.by_hand, abs=1e-12, unit="mm"
    )
    compare("axis up for both rollers out by a tenth", both.up_mm, 0.2, compare.by_hand, abs=1e-5, unit="mm")


def test_thicker_work_rides_higher_on_rollers_that_stay(compare):
    """Derived: radius 10 grows by 0.5 mm on rollers of 19 mm at 30, 45 and 60 degrees from the bottom."""
    rises = seat_rise_mm(0.5, 10, 19, np.array([30, 45, 60]))
    compare(
        "rise of work that is 0.5 mm thicker on rollers of 19 mm",
        rises,
        [0.575, 0.6985, 0.9651],
        compare.by_hand,
        abs=1e-4,
        unit="mm",
        each=("30 degrees", "45 degrees", "60 degrees"),
    )
    compare(
        "circle on which rollers of 19 mm touch 20 mm",
        roller_circle_mm(20, 19),
        19.5,
        by_hand("half of both diameters"),
        unit="mm",
    )
    compare(
        "travel of a finger for work of 6 to 60 mm, 1 mm to spare",
        finger_travel_mm(60, 6, 1),
        29,
        compare.by_hand,
        unit="mm",
    )


@pytest.mark.parametrize(
    ("fingers", "wanted"),
    [((120, 240), [1.414, 1.0, 1.414, 2.0, 1.0, 2.0]), ((135, 225), [1.732, 2.0, 1.0, 2.0, 1.732, 0.0])],
)
def test_lobes_of_the_band_swing_in_front_of_the_tool(compare, fingers, wanted):
    """Derived for 2 to 7 lobes, two layouts of the carrying fingers."""
    compare(
        f"swing in front of the tool, fingers at {fingers}",
        copied_share(np.arange(2, 8), fingers),
        wanted,
        compare.by_hand,
        abs=0.001,
        each=[f"{lobes} lobes" for lobes in range(2, 8)],
    )


def test_lobes_agree_with_a_lobed_bar_turned_step_by_step(compare):
    """Another way: solve, angle by angle, where the axis lies while a lobed bar rests on two fingers."""
    fingers = np.radians([120, 240])
    for lobes in range(2, 8):
        turned = np.radians(np.arange(0, 360, 1))
        heights = 0.01 * np.cos(lobes * (fingers[:, None] - turned))
        design = -np.column_stack([np.sin(fingers), np.cos(fingers)])
        across = np.linalg.solve(design, heights)[0]
        compare(
            f"swing of {lobes} lobes, turned step by step",
            lobes_left_share(lobes, (120, 240)),
            np.max(np.abs(across)) / 0.01,
            TURNED,
            abs=0.005,
        )


@pytest.mark.parametrize(
    ("bar", "words"),
    [
        (Bar((STEEL,), (Support(0),)), "do not hold"),
        (Bar((STEEL,), ()), "one support"),
        (Bar((STEEL,), (CHUCK, Support(400))), "off the bar"),
    ],
)
def test_a_bar_that_would_fly_is_refused(bar, words):
    with pytest.raises(RangeError, match=words):
        tool_deflection_mm(bar, 100, 100)
