"""Limits of all classes of a few threads, worked out by hand from the tolerances that each standard gives."""

from fractions import Fraction
from math import inf

import pytest

from machinelab.errors import RangeError
from machinelab.threads import profile
from machinelab.threads.form import parse
from machinelab.threads.limits import limits
from machinelab.threads.whitworth_limits import whitworth_tolerance_in

INCH_MM = 25.4


def assert_limits(typed, tolerance_class, major, pitch, minor, *, unit_mm=1.0):
    found = limits(parse(typed), tolerance_class)
    by_hand = tuple(unit_mm * end for pair in (major, pitch, minor) for end in pair)
    assert (*found.major_mm, *found.pitch_mm, *found.minor_mm) == pytest.approx(by_hand, abs=1e-9), found


# ISO 965-1 for M10x1.5, from memory, in micrometres: basic sizes 10, 9.026 and 8.376 mm.
PLAY_UM = {"e": 67, "f": 45, "g": 32, "h": 0, "G": 32, "H": 0}
SCREW_MAJOR_UM = {"4": 150, "6": 236, "8": 375}
SCREW_PITCH_UM = {"3": 67, "4": 85, "5": 106, "6": 132, "7": 170, "8": 212, "9": 265}
NUT_MINOR_UM = {"4": 190, "5": 236, "6": 300, "7": 375, "8": 475}
NUT_PITCH_UM = {"4": 112, "5": 140, "6": 180, "7": 224, "8": 280}


@pytest.mark.parametrize("name", ["3h4h", "4h", "5g6g", "6e", "6f", "6g", "6h", "7g6g", "8g", "9e8e"])
def test_a_metric_screw_of_any_class_lies_its_play_below_the_basic_sizes_and_its_grades_below_that(name):
    of_pitch, letter, of_crest = name[0], name[1], name[2:3] or name[0]
    play = PLAY_UM[letter] / 1000
    major, effective = 10 - play, 9.026 - play
    lowest = effective - SCREW_PITCH_UM[of_pitch] / 1000
    assert_limits(
        "M10",
        name,
        (major - SCREW_MAJOR_UM[of_crest] / 1000, major),
        (lowest, effective),
        # A root rounded with P/8 lies 0.61603 P below the smallest pitch diameter.
        (round(lowest - 0.924045, 3), 8.376 - play),
    )


@pytest.mark.parametrize("name", ["4H", "4H5H", "5H", "6G", "6H", "7G", "7H6H", "8H"])
def test_a_metric_nut_of_any_class_lies_its_play_above_the_basic_sizes_and_its_grades_above_that(name):
    of_pitch, letter, of_crest = name[0], name[1], name[2:3] or name[0]
    play = PLAY_UM[letter] / 1000
    assert_limits(
        "M10",
        name,
        (10 + play, inf),
        (9.026 + play, 9.026 + play + NUT_PITCH_UM[of_pitch] / 1000),
        (8.376 + play, 8.376 + play + NUT_MINOR_UM[of_crest] / 1000),
    )


def test_a_diameter_of_four_places_is_rounded_to_a_micrometre_before_its_play_is_taken_off():
    assert limits(parse("M10.0004x1 special"), "6g").major_mm == limits(parse("M10x1"), "6g").major_mm
    assert limits(parse("M10.0004x1 special"), "6G").major_mm == limits(parse("M10x1"), "6G").major_mm
    assert limits(parse("Tr20.0004x4 special"), "7e").major_mm == limits(parse("Tr20x4"), "7e").major_mm


@pytest.mark.parametrize(
    ("typed", "tolerance_class", "told"),
    [
        ("M10", "5g", r"has the grades 4, 6 and 8 only\. Type its grade behind, such as 5g6g\.$"),
        ("M10", "5g7g", r"^5g7g is no class of ISO metric threads .* There are 3h4h, .*, 8H, and others"),
        ("M2", "6e", r"^M2x0.4: ISO 965-1 has no position e for so fine a pitch\.$"),
        ("M2", "8g", r"^M2x0.4: ISO 965-1 has no grade 8 below a pitch of 0.8 mm\. Take a finer grade"),
        ("M2", "7H", r"^M2x0.4: ISO 965-1 has no grade 7 below a pitch of 0.5 mm"),
        ("M1", "6H", r"^M1x0.25: ISO 965-1 has no grade 6 below a pitch of 0.3 mm"),
        ("M17x1.3 special", "6g", r"for a pitch of 1\.3 mm\. The pitches with one are 0\.2, 0\.25, .* mm\.$"),
        ("M30x0.5 special", "6H", r"a pitch of 0\.5 mm on diameters over 22\.4 up to 45 mm\. It has the pit"),
        ("M400x6 special", "6g", r"^M400x6 special: the tolerances go from 0\.99 to 355 mm\.$"),
        ("M0.99x0.2 special", "6g", r"^M0\.99x0\.2 special: the tolerances go from 0\.99 to 355 mm\.$"),
        ("11 BA", "close screw", r"^11 BA: the close class ends with 10 BA; take normal screw\.$"),
        (
            "4 BA",
            "medium",
            r"^medium is no class of BA threads\. There are close screw, normal screw, nut\.$",
        ),
        (
            "1/4 BSW",
            "6g",
            r"^6g is no class of Whitworth threads\. There are close screw, medium screw, free",
        ),
        ("1/4-20", "4A", r"^4A is no class of Unified threads\. There are 1A, 2A, 3A, 1B, 2B, 3B\.$"),
        ("26 tpi UNC", "2A", r"^26 tpi UNC does not say the diameter; type it in front, such as 1/4-20 UNC"),
        (
            "26 tpi BSF",
            "medium nut",
            r"^26 tpi BSF does not say the diameter\. Type it in front, such as 5/16",
        ),
    ],
)
def test_a_class_that_a_thread_does_not_have_is_refused_with_those_that_it_has(typed, tolerance_class, told):
    with pytest.raises(RangeError, match=told):
        limits(parse(typed), tolerance_class)


# BS 93: shares of the pitch and what is added; 0, 4, 10 and 11 BA have pitches of 1, 0.66, 0.35 and 0.31 mm.
@pytest.mark.parametrize(
    ("typed", "tolerance_class", "major", "pitch", "minor"),
    [
        ("0 BA", "close screw", (5.85, 6), (5.3, 5.4), (4.6, 4.8)),
        ("0 BA", "normal screw", (5.775, 5.975), (5.25, 5.375), (4.525, 4.775)),
        ("0 BA", "nut", (6, inf), (5.4, 5.55), (4.8, 5.175)),
        ("4 BA", "close screw", (3.501, 3.6), (3.132, 3.205), (2.664, 2.81)),
        ("4 BA", "normal screw", (3.443, 3.575), (3.089, 3.18), (2.603, 2.785)),
        ("4 BA", "nut", (3.6, inf), (3.205, 3.314), (2.81, 3.058)),
        ("10 BA", "close screw", (1.647, 1.7), (1.442, 1.49), (1.184, 1.28)),
        ("10 BA", "normal screw", (1.605, 1.675), (1.405, 1.465), (1.135, 1.255)),
        ("11 BA", "normal screw", (1.422, 1.5), (1.259, 1.315), (1.018, 1.13)),
    ],
)
def test_a_ba_thread_has_the_shares_of_its_pitch_below_or_above_its_basic_sizes(
    typed, tolerance_class, major, pitch, minor
):
    assert_limits(typed, tolerance_class, major, pitch, minor)


# BS 84: the unit of 1/4-20 is 0.0012599 + 0.0015 + 0.0011180 = 0.0038780 in, the root of its pitch 0.2236.
@pytest.mark.parametrize(
    ("tolerance_class", "major", "pitch", "minor"),
    [
        ("close screw", (0.2452, 0.2500), (0.2154, 0.2180), (0.1805, 0.1860)),
        ("medium screw", (0.2439, 0.2500), (0.2141, 0.2180), (0.1776, 0.1860)),
        ("free screw", (0.2419, 0.2500), (0.2122, 0.2180), (0.1757, 0.1860)),
        ("close nut", (0.2500, inf), (0.2180, 0.2206), (0.1860, 0.2030)),
        ("medium nut", (0.2500, inf), (0.2180, 0.2219), (0.1860, 0.2030)),
        ("normal nut", (0.2500, inf), (0.2180, 0.2238), (0.1860, 0.2030)),
    ],
)
def test_a_whitworth_thread_has_its_share_of_the_unit_and_of_the_root_of_its_pitch(
    tolerance_class, major, pitch, minor
):
    assert_limits("1/4 BSW", tolerance_class, major, pitch, minor, unit_mm=INCH_MM)
    unit_in = whitworth_tolerance_in(0.25, engagement_in=0.25, pitch_in=0.05)
    assert unit_in == pytest.approx(0.0038780, abs=5e-8)


@pytest.mark.parametrize(
    ("typed", "more_in"),
    [("7/32-28 BSF", 0.004), ("1/4-26 BSF", 0.004), ("5/16-22 BSF", 0.005), ("3/8-20 BSF", 0.007)],
)
def test_the_bore_of_a_whitworth_nut_has_a_fifth_of_the_pitch_and_less_more_the_finer_it_is(typed, more_in):
    low, high = limits(parse(typed), "medium nut").minor_mm
    tpi = float(parse(typed).tpi)
    assert (high - low) / INCH_MM == pytest.approx(0.2 / tpi + more_in, abs=5.1e-5)


# ASME B1.1: 1/4-20 has a unit of 0.003731 in, so an allowance of 0.0011; #5-40 one of 0.002563.
@pytest.mark.parametrize(
    ("typed", "tolerance_class", "major", "pitch", "minor"),
    [
        ("1/4-20", "1A", (0.2367, 0.2489), (0.2108, 0.2164), (0, 0.1948)),
        ("1/4-20", "2A", (0.2408, 0.2489), (0.2127, 0.2164), (0, 0.1948)),
        ("1/4-20", "3A", (0.2419, 0.2500), (0.2147, 0.2175), (0, 0.1959)),
        ("1/4-20", "1B", (0.2500, inf), (0.2175, 0.2248), (0.196, 0.207)),
        ("1/4-20", "2B", (0.2500, inf), (0.2175, 0.2224), (0.196, 0.207)),
        ("1/4-20", "3B", (0.2500, inf), (0.2175, 0.2211), (0.196, 0.2067)),
        # From 0.138 in up the bore is printed to three places, but for the largest of the finest class.
        ("#5-40", "2B", (0.1250, inf), (0.1088, 0.1121), (0.0979, 0.1062)),
        ("#5-40", "3B", (0.1250, inf), (0.1088, 0.1113), (0.0979, 0.1062)),
        ("#6-32", "2B", (0.1380, inf), (0.1177, 0.1214), (0.104, 0.114)),
    ],
)
def test_a_unified_thread_has_its_share_of_the_unit_in_every_class(
    typed, tolerance_class, major, pitch, minor
):
    assert_limits(typed, tolerance_class, major, pitch, minor, unit_mm=INCH_MM)


def test_a_diameter_in_sixty_fourths_is_rounded_to_a_ten_thousandth():
    thread = parse("11/64-40 UNS")
    assert limits(thread, "3A").major_mm[1] / INCH_MM == pytest.approx(0.1719, abs=1e-9)
    assert limits(thread, "3B").major_mm[0] / INCH_MM == pytest.approx(0.1719, abs=1e-9)


@pytest.mark.parametrize(
    ("typed", "unit_in"),
    [
        # By the diameter where the threads are coarse, by nine pitches from 12 threads to the inch on.
        ("1-1/16-8 UN", 0.0015 * 1.0204 + 0.0015 * 1.0308 + 0.015 / 4),
        ("1-1/16-12 UN", 0.0015 * 1.0204 + 0.0015 * 0.8660 + 0.015 * 0.19079),
        ("1-1/16-8 UNS", 0.0015 * 1.0204 + 0.0015 * 1.0607 + 0.015 / 4),
    ],
)
def test_the_unit_of_a_constant_pitch_takes_the_engagement_by_its_threads_to_the_inch(typed, unit_in):
    low, high = limits(parse(typed), "1B").pitch_mm
    assert (high - low) / INCH_MM == pytest.approx(1.95 * unit_in, abs=5.1e-5)


# Crest, root and radius in pitches: sharp triangles of 0.8660 (60 degrees), 0.9605 (55) and 1.1363 (47.5).
@pytest.mark.parametrize(
    ("form", "angle", "crest", "nut_crest", "root", "crest_radius", "root_radius"),
    [
        (profile.METRIC, 60, 0.32476, 0.21651, 0.28868, 0, 0.14434),
        (profile.UNIFIED, 60, 0.32476, 0.21651, 0.28868, 0, 0.14434),
        (profile.WHITWORTH, 55, 0.32016, 0.32016, 0.32016, 0.13733, 0.13733),
        (profile.CYCLE, 60, 0.26635, 0.26635, 0.26635, 0.16667, 0.16667),
        (profile.BA, 47.5, 0.3, 0.3, 0.3, 0.18083, 0.18083),
        (profile.TRAPEZOIDAL, 30, 0.25, 0.25, 0.25, 0, 0),
        (profile.ACME, 29, 0.25, 0.25, 0.25, 0, 0),
        (profile.NPT, 60, 0.4, 0.4, 0.4, 0, 0),
        (profile.WORM, 40, 0.31831, 0.31831, 0.39789, 0, 0),
    ],
)
def test_each_form_has_its_heights_and_roundings(
    form, angle, crest, nut_crest, root, crest_radius, root_radius
):
    assert form.included_angle_deg == angle
    heights = (form.crest_height, form.nut_crest_height, form.root_depth, form.crest_radius, form.root_radius)
    assert heights == pytest.approx((crest, nut_crest, root, crest_radius, root_radius), abs=5.1e-6)


@pytest.mark.parametrize(
    ("form", "pitch_mm", "play_mm"),
    [
        (profile.TRAPEZOIDAL, 1.5, 0.15),
        (profile.TRAPEZOIDAL, 2, 0.25),
        (profile.TRAPEZOIDAL, 12, 0.5),
        (profile.TRAPEZOIDAL, 14, 1.0),
        (profile.TRAPEZOIDAL, 50, 1.0),
        (profile.ACME, 25.4 / 12, 0.127),
        (profile.ACME, 25.4 / 10, 0.254),
        (profile.METRIC, 1.5, 0.0),
    ],
)
def test_a_lead_screw_has_the_play_of_its_step_of_pitches_and_beyond_the_last_step_that_of_the_last(
    form, pitch_mm, play_mm
):
    assert form.play_for_mm(pitch_mm) == play_mm


def test_a_pipe_thread_is_taper_but_for_the_parallel_ones():
    tapers = {typed: parse(typed).taper for typed in ("G1/2", "R1/2", "Rc1/2", "Rp1/2", "1/2 NPT")}
    taper = Fraction(1, 16)
    assert tapers == {"G1/2": 0, "R1/2": taper, "Rc1/2": taper, "Rp1/2": 0, "1/2 NPT": taper}
