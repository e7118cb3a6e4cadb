"""Run-out, tram, play, alignment and marks: what is put into readings comes out of every field."""

from math import erfc, inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.accuracy.alignment import (
    ADVICE,
    AlignmentTest,
    between_centres,
    in_the_chuck,
    level_across,
    separate_causes,
)
from machinelab.accuracy.mark_profile import false_alarm_chance, profile_spacing
from machinelab.accuracy.mark_ranking import NONE_OF_THESE, rank_elements, telling_test
from machinelab.accuracy.marks import DriveElement, harmonics, seen_along_the_bar_mm
from machinelab.accuracy.runout import runout
from machinelab.accuracy.slop import slop
from machinelab.accuracy.suspects import TESTS, rank_suspects
from machinelab.accuracy.tram import tram
from machinelab.errors import RangeError
from machinelab.tables import read

few = settings(max_examples=25)
SIGNED = st.floats(-0.3, 0.3)
# Two-sided 95 % point of the normal law.
NORMAL = 1.959964
SIZE = {"centre_height_mm": 100}


@few
@given(st.floats(0.01, 1), st.floats(0, 359), st.floats(0.01, 1), st.floats(0, 359), st.floats(-2, 2))
def test_a_runout_gives_back_every_wave_that_was_put_in(size, high_deg, lobe, lobe_deg, mean):
    at = np.arange(0, 360, 20.0)
    waves = size * np.cos(np.radians(at - high_deg)), lobe * np.cos(3 * np.radians(at - lobe_deg))
    found = runout(at, mean + waves[0] + waves[1])
    assert found.mean_mm == pytest.approx(mean, abs=1e-9)
    assert found.eccentricity_mm.value == pytest.approx(size)
    assert (found.high_deg - high_deg + 180) % 360 == pytest.approx(180, abs=1e-6)
    assert [one.value for one in found.lobes_mm] == pytest.approx([0, lobe], abs=1e-9)
    assert found.total_mm == pytest.approx(np.ptp(waves[0] + waves[1]))
    assert found.roundness_mm == pytest.approx(np.ptp(waves[1]))
    assert found.scatter_mm == pytest.approx(0, abs=1e-9)


def test_what_no_wave_explains_is_the_scatter_over_what_is_free():
    # A wave of five to the turn, at 20 places, is seen by none of three waves: 20 readings less 7 unknowns.
    at = np.arange(0, 360, 18.0)
    found = runout(at, 0.01 * np.cos(5 * np.radians(at)))
    assert found.scatter_mm == pytest.approx(0.01 * np.sqrt(20 / 2 / 13))
    assert found.eccentricity_mm.value == pytest.approx(0, abs=1e-12)
    assert found.eccentricity_mm.interval[0] == 0


def test_readings_of_the_second_turn_stand_at_the_places_of_the_first():
    at = np.arange(0, 720, 40.0)
    found = runout(at, 0.02 * np.cos(np.radians(at - 70)))
    assert (found.eccentricity_mm.value, found.high_deg) == pytest.approx((0.02, 70))
    # Twice over the same half of the turn leaves the other half out.
    half = np.array([*range(0, 180, 20), *range(360, 540, 20)])
    with pytest.raises(RangeError, match="There is a gap of 200 degrees between readings"):
        runout(half, np.zeros(half.size))


@pytest.mark.parametrize("unit", [1e-3, 30.0, 1e3])
def test_a_run_out_and_its_doubt_grow_with_the_readings(unit):
    # Uneven, so that the two parts of the wave are not known alike.
    at = np.array([*range(0, 120, 15), *range(120, 360, 40)], dtype=float)
    readings = 0.02 * np.cos(np.radians(at - 70)) + 0.003 * np.cos(5 * np.radians(at))
    once, scaled = runout(at, readings), runout(at, unit * readings)
    assert scaled.eccentricity_mm.value == pytest.approx(unit * once.eccentricity_mm.value)
    assert scaled.eccentricity_mm.interval == pytest.approx(
        [unit * end for end in once.eccentricity_mm.interval]
    )


def test_the_doubt_of_a_run_out_is_that_of_the_direction_in_which_it_stands():
    """Least squares: the doubt of each part goes with the root of its place in the inverse of X'X."""
    at = np.array([*range(0, 120, 15), *range(120, 360, 40)], dtype=float)
    turns = np.radians(at)
    waves = [of(n * turns) for n in (1, 2, 3) for of in (np.cos, np.sin)]
    design = np.column_stack([np.ones_like(at), *waves])
    rest = np.cos(5 * turns)
    rest -= design @ np.linalg.lstsq(design, rest, rcond=None)[0]
    inverse = np.linalg.inv(design.T @ design)
    level, upright = (
        np.ptp(runout(at, 0.02 * wave + 1e-4 * rest).eccentricity_mm.interval) for wave in waves[:2]
    )
    assert abs(level / upright - 1) > 0.05
    assert level / upright == pytest.approx(np.sqrt(inverse[1, 1] / inverse[2, 2]), rel=1e-6)


def test_the_fewest_readings_are_taken():
    assert runout(np.arange(0, 360, 40), np.zeros(9)).mean_mm == 0


def test_a_gap_of_half_a_wave_is_taken_and_a_wider_one_refused():
    places = [*range(0, 300, 20), 300]
    assert runout(places, np.zeros(len(places))).eccentricity_mm.value == pytest.approx(0, abs=1e-12)
    with pytest.raises(RangeError, match="There is a gap of 61 degrees between readings; 3 lobes need one"):
        runout([*places[:-1], 299], np.zeros(len(places)))
    with pytest.raises(
        RangeError, match=r"^8 readings round .* tell 3 lobes .* Take at least 9, better 12, spread"
    ):
        runout(np.arange(0, 360, 45), np.zeros(8))
    with pytest.raises(RangeError, match="Take at least 13, better 16, spread evenly"):
        runout(np.arange(0, 360, 45), np.zeros(8), lobes=5)


@few
@given(SIGNED, SIGNED, st.floats(20, 200))
def test_a_tram_gives_back_both_leans_and_how_sure_it_is(right, back, radius_mm):
    at = np.array([0, 90, 180, 270])
    read = radius_mm / 1000 * (right * np.cos(np.radians(at)) + back * np.sin(np.radians(at)))
    found = tram(at, read, sweep_radius_mm=radius_mm, reading_sd_mm=0.003)
    assert found.lean_right_mm_m.value == pytest.approx(right, abs=1e-9)
    assert found.lean_back_mm_m.value == pytest.approx(back, abs=1e-9)
    assert found.total_mm == pytest.approx(np.ptp(read))
    assert found.uneven_mm == pytest.approx(0, abs=1e-9)
    # Least squares over four places: each lean rests on two readings of opposite sign.
    reach = NORMAL * 0.003 / np.sqrt(2) / radius_mm * 1000
    assert found.lean_back_mm_m.interval == pytest.approx((back - reach, back + reach), abs=1e-4)
    if np.hypot(right, back) > 1e-3:
        assert np.cos(np.radians(found.high_deg) - np.arctan2(back, right)) == pytest.approx(1)


def test_a_sweep_may_leave_a_third_of_a_turn_out_and_no_more():
    given_ = {"sweep_radius_mm": 100, "reading_sd_mm": 0.003}
    assert tram([0, 80, 160, 230], np.zeros(4), **given_).total_mm == 0
    with pytest.raises(
        RangeError, match="4 readings do not go round the sweep; take at least 4: right, back"
    ):
        tram([0, 80, 160, 229], np.zeros(4), **given_)
    with pytest.raises(RangeError, match=r"^3 readings do not go round"):
        tram([0, 120, 240], np.zeros(3), **given_)


@few
@given(st.floats(0, 0.2), st.floats(2, 50))
def test_play_and_spring_are_parted_and_what_they_leave_is_told(gap_mm, stiffness_n_um):
    force = np.array([20.0, 40, 60, 80])
    # A pattern that neither a constant nor a slope sees.
    rest = 0.001 * np.array([1, -1, -1, 1])
    span = gap_mm + 2 * force / stiffness_n_um / 1000 + rest
    found = slop(force, span, reading_sd_mm=1e-6)
    assert found.gap_mm.value == pytest.approx(gap_mm, abs=1e-9)
    assert found.stiffness_n_um.value == pytest.approx(stiffness_n_um, rel=1e-6)
    assert found.spread_mm == pytest.approx(0.001, rel=1e-6)
    low, high = found.stiffness_n_um.interval
    assert low < stiffness_n_um < high


def test_two_forces_part_play_from_spring_and_one_does_not():
    found = slop([20, 60], [0.01 + 2 * 20 / 5e3, 0.01 + 2 * 60 / 5e3], reading_sd_mm=1e-4)
    assert (found.gap_mm.value, found.stiffness_n_um.value) == pytest.approx((0.01, 5))
    for forces in ([60], [60, 60], [50, 60]):
        with pytest.raises(
            RangeError, match=r"give only the sum of play and spring\. .* such as 20, 40 and 60 N\.$"
        ):
            slop(forces, [0.01] * len(forces), reading_sd_mm=1e-4)


def test_a_joint_that_may_not_spring_at_all_has_a_stiffness_open_upwards():
    rigid = slop([20, 40, 60], [0.02, 0.02, 0.02], reading_sd_mm=0.001)
    low, high = rigid.stiffness_n_um.interval
    assert 0 < low < inf
    assert high == inf
    sure = slop([20, 40, 60], [0.024, 0.028, 0.032], reading_sd_mm=0.0001).stiffness_n_um
    # The slope's standard uncertainty by hand: sd over the root of the sum of (2 F - mean)^2, 3200 here.
    reach = NORMAL * 0.0001 / np.sqrt(3200)
    assert sure.interval == pytest.approx((0.001 / (1e-4 + reach), 0.001 / (1e-4 - reach)), rel=1e-4)


@few
@given(SIGNED, SIGNED, SIGNED)
def test_three_causes_of_a_taper_are_told_apart_from_exact_readings(headstock, twist, tailstock):
    height = {"centre_height_mm": 120}
    chuck = 2 * 0.15 * headstock + 2 * 0.12 * 0.15 * twist
    centres = 2 * 0.12 * 0.25 * twist + 2 * 250 / 400 * tailstock
    tests = [
        in_the_chuck(chuck, 0.004, collar_distance_mm=150, **height),
        between_centres(centres, 0.003, collar_distance_mm=250, between_centres_mm=400, **height),
        level_across(0.6 * twist, 0.01, station_distance_mm=600),
    ]
    assert [one.name for one in tests] == [
        "collars in the chuck",
        "collars between centres",
        "level across the bed",
    ]
    found = separate_causes(tests)
    assert found.headstock_mm_m.value == pytest.approx(headstock, abs=1e-9)
    assert found.bed_twist_mm_m2.value == pytest.approx(twist, abs=1e-9)
    assert found.tailstock_mm.value == pytest.approx(tailstock, abs=1e-9)
    assert found.bed_twist_mm_m2.expanded_uncertainty == pytest.approx(NORMAL * 0.01 / 0.6, rel=1e-5)
    assert np.isnan(found.disagreement)
    assert found.ask_next == ()


@few
@given(st.floats(0.0, 0.05), st.floats(0.005, 0.02))
def test_two_levels_that_differ_are_told_to_disagree_by_the_chi_square_law(apart, sd):
    levels = [level_across(reading, sd, station_distance_mm=1000) for reading in (0.1, 0.1 + apart)]
    found = separate_causes(levels)
    # Of one degree of freedom: the difference over root two of its sd follows the normal law.
    assert found.disagreement == pytest.approx(erfc(apart / sd / 2))
    assert found.bed_twist_mm_m2.value == pytest.approx(0.1 + apart / 2)


def test_a_test_that_looks_the_same_way_but_for_nothing_is_the_same_test_once_more():
    once = AlignmentTest("bar", 0.010, 0.001, (1.0, 0.0, 0.0))
    again = AlignmentTest("bar again", 0.010, 0.001, (1.0, 1e-9, 0.0))
    headstock = separate_causes([once, again]).headstock_mm_m
    assert headstock.value == pytest.approx(0.010)
    assert np.ptp(headstock.interval) / 2 == pytest.approx(NORMAL * 0.001 / np.sqrt(2))


def test_what_to_test_next_begins_with_the_level_and_ends_with_what_was_never_tested():
    level = level_across(0.1, 0.01, station_distance_mm=500)
    chuck = in_the_chuck(0.03, 0.004, collar_distance_mm=150, **SIZE)
    centres = between_centres(0.03, 0.004, collar_distance_mm=200, between_centres_mm=300, **SIZE)
    assert separate_causes([level]).ask_next == (ADVICE["headstock"], ADVICE["tailstock"])
    assert separate_causes([chuck]).ask_next == (ADVICE["twist"], ADVICE["tailstock"])
    assert separate_causes([centres]).ask_next == (ADVICE["twist"], ADVICE["headstock"])
    assert separate_causes([chuck, centres]).ask_next == (ADVICE["twist"],)
    assert separate_causes([chuck, level]).ask_next == (ADVICE["tailstock"],)
    # A share of just one is a share.
    one = in_the_chuck(0.03, 0.004, collar_distance_mm=500, centre_height_mm=1000)
    assert one.shares == (1.0, 1.0, 0.0)
    assert separate_causes([one]).ask_next == (ADVICE["twist"], ADVICE["tailstock"])
    with pytest.raises(
        RangeError,
        match=r"^There is no test yet. Begin: turn two collars on a bar held in the chuck alone\.$",
    ):
        separate_causes([])


@few
@given(st.floats(0.02, 0.4), st.integers(1, 9), st.floats(0.05, 0.45))
def test_marks_of_nearly_a_whole_number_a_feed_are_seen_folded(feed_mm, whole, part):
    # Frequencies fold about whole multiples of that of the feed (sampling theorem), from either side.
    for times in (whole + part, whole - part):
        assert seen_along_the_bar_mm(feed_mm / times, feed_mm) == pytest.approx(feed_mm / part)
    assert seen_along_the_bar_mm(feed_mm / whole, feed_mm) == inf
    together = seen_along_the_bar_mm(feed_mm / np.array([whole, whole + part]), feed_mm)
    assert together[0] == inf
    assert together[1] == pytest.approx(feed_mm / part)


def test_a_mark_as_long_as_a_thousand_feeds_is_seen_as_it_is():
    assert seen_along_the_bar_mm(100.0, 0.1) == pytest.approx(100.0)
    assert seen_along_the_bar_mm(0.1 / (1 + 1e-7), 0.1) == pytest.approx(0.1 / 1e-7, rel=1e-6)


def test_marks_that_come_a_whole_number_of_times_in_a_turn_never_show_however_many():
    for times in (1, 7, 300, 999_999):
        for feed_mm in (0.1, 0.15, 0.3, 0.7):
            assert seen_along_the_bar_mm(feed_mm / times, feed_mm) == inf


YES_SHARES = {(row["suspect"], row["test"]): float(row["yes_share"]) for row in read("scratch_suspects")}
SUSPECTS = list(dict.fromkeys(suspect for suspect, _ in YES_SHARES))


def bits(share):
    """The entropy of a question that is answered yes in this share of cases."""
    return -sum(one * np.log2(one) for one in (share, 1 - share))


def test_without_an_answer_all_suspects_are_as_probable_and_stand_as_in_the_table():
    found = rank_suspects({})
    assert found.suspects == tuple(SUSPECTS)
    assert found.probability == pytest.approx([1 / len(SUSPECTS)] * len(SUSPECTS))
    assert not found.decided


@pytest.mark.parametrize("said", [{}, {"turns loose": True}, {"nose moves": True, "post moves": False}])
@pytest.mark.parametrize("more", [{}, {"work shifts": None}, {"at load reversal": True}])
def test_the_next_test_is_the_one_whose_answer_depends_the_most_on_who_it_was(said, more):
    """What an answer tells about the suspect is what the suspect tells about the answer: less counting."""
    answers = said | more
    chances = []
    for suspect in SUSPECTS:
        shares = [YES_SHARES[suspect, test] for test, yes in answers.items() if yes]
        shares += [1 - YES_SHARES[suspect, test] for test, yes in answers.items() if yes is False]
        chances.append(np.prod(shares))
    chances = np.array(chances) / sum(chances)
    found = rank_suspects(answers)
    assert sorted(found.probability) == pytest.approx(sorted(chances))

    def told(test):
        shares = [YES_SHARES[suspect, test] for suspect in SUSPECTS]
        return bits(chances @ shares) - chances @ [bits(share) for share in shares]

    still_open = [test for test in TESTS if answers.get(test) is None]
    assert found.next_test == max(still_open, key=told)


def test_harmonics_keep_their_mother_and_grow_rarer():
    belt = DriveElement("belt", "time", 4.0, rate_share=0.02, prior=0.6)
    first, second, third = harmonics(belt, 3)
    assert first == belt
    assert second == DriveElement("belt, 2 a turn", "time", 8.0, rate_share=0.02, prior=0.3)
    assert third.prior == pytest.approx(0.2)


CUT = {"feed_mm": 0.1, "speed_rpm": 300, "screw_lead_mm": 3.0}


def test_a_spacing_that_fits_one_part_is_that_part_by_bayes_rule():
    screw, belt = DriveElement("leadscrew", "screw", 1.0), DriveElement("belt", "spindle", 1 / 31)
    found = rank_elements([screw, belt], observed_mm=3.01, observed_sd_mm=0.02, feed_share=0.01, **CUT)

    def normal(away, sd):
        return np.exp(-(away**2) / 2 / sd**2) / sd / np.sqrt(2 * np.pi)

    # The belt's marks follow the feed, whose share of one in a hundred adds to the doubt; the screw's do not.
    weights = np.array(
        [
            0.5 * normal(0.01, 0.02),
            0.5 * normal(0.09, np.hypot(0.02, 0.031)),
            0.5 / (9.9 * 3.01),
        ]
    )
    hand = weights / weights.sum()
    assert found.names == ("leadscrew", "belt", NONE_OF_THESE)
    assert found.probability == pytest.approx(hand, rel=1e-6)
    assert found.spacing_mm[:2] == pytest.approx((3.0, 3.1))
    assert np.isnan(found.spacing_mm[2])


def test_a_spacing_that_fits_nothing_is_none_of_these_and_not_decided():
    screw = DriveElement("leadscrew", "screw", 1.0)
    found = rank_elements([screw], observed_mm=7.0, observed_sd_mm=0.02, feed_share=0.01, **CUT)
    assert found.names[0] == NONE_OF_THESE
    assert not found.decided
    assert found.cannot_tell == ()
    with pytest.raises(
        RangeError, match=r"^There is no part to suspect; describe the drive on the page of the"
    ):
        rank_elements([], observed_mm=7.0, observed_sd_mm=0.02, feed_share=0.01, **CUT)


@pytest.mark.parametrize(("sd_mm", "alike"), [(1.9, False), (2.0, False), (2.1, True)])
def test_parts_within_two_uncertainties_of_each_other_are_alike(sd_mm, alike):
    """Marks at 4 and 8 mm of a screw of 8 mm; at 1 mm only the place of the second counts."""
    parts = [DriveElement("worm", "screw", 2.0), DriveElement("screw", "screw", 1.0)]
    cut = CUT | {"feed_mm": 0.125, "screw_lead_mm": 8.0}
    found = rank_elements(
        parts, observed_mm=1.0, observed_sd_mm=sd_mm, feed_share=0.01, none_prior=1e-9, **cut
    )
    assert found.spacing_mm[:2] == (4.0, 8.0)
    assert found.cannot_tell == (("screw",) if alike else ())


@pytest.mark.parametrize(("prior", "alike"), [(1.0, False), (1.3, True)])
def test_a_part_that_is_a_tenth_as_probable_cannot_be_told_from_the_first(prior, alike):
    """At 2.2 uncertainties the normal law is 0.089 of its height: a tenth is missed, and reached with 1.3."""
    parts = [DriveElement("worm", "screw", 2.0), DriveElement("screw", "screw", 8 / 6.2, prior=prior)]
    cut = CUT | {"screw_lead_mm": 8.0}
    found = rank_elements(parts, observed_mm=4.0, observed_sd_mm=1.0, feed_share=0.0, none_prior=1e-9, **cut)
    assert found.cannot_tell == (("screw",) if alike else ())


def test_parts_that_are_as_probable_stand_in_the_order_given():
    parts = [DriveElement(name, "screw", 1.0) for name in ("worm", "nut", "screw", "gear")]
    found = rank_elements(parts, observed_mm=3.0, observed_sd_mm=0.02, feed_share=0.01, **CUT)
    assert found.names == ("worm", "nut", "screw", "gear", NONE_OF_THESE)


def test_parts_that_print_alike_cannot_be_told_and_the_telling_test_parts_them():
    screw, belt = DriveElement("leadscrew", "screw", 1.0), DriveElement("belt", "spindle", 1 / 30)
    found = rank_elements([screw, belt], observed_mm=3.0, observed_sd_mm=0.02, feed_share=0.01, **CUT)
    assert not found.decided
    assert len(found.cannot_tell) == 1
    told = telling_test([screw, belt], feeds_mm=[0.11, 0.2], speeds_rpm=[600], **CUT)
    assert (told.feed_mm, told.speed_rpm) == (0.2, 300)
    assert told.foretold_mm == pytest.approx((3.0, 6.0))


@few
@given(st.floats(1.5, 6.0), st.floats(0.5, 20), st.floats(0, 6.28))
def test_a_profile_gives_back_its_spacing_and_height_through_line_and_bow(spacing_mm, amplitude_um, phase):
    x = np.linspace(0, 40, 400)
    wave = amplitude_um * np.sin(2 * np.pi * x / spacing_mm + phase)
    found = profile_spacing(x, wave + 3 * x - 0.05 * x**2 + 7)
    low, high = found.spacing_mm.interval
    assert found.spacing_mm.value == pytest.approx(spacing_mm, rel=0.01)
    assert found.amplitude_um == pytest.approx(amplitude_um, rel=0.05)
    assert low < found.spacing_mm.value < high
    assert found.false_alarm < 1e-6
    assert found.finest_mm == pytest.approx(2 * 40 / 399)
    assert 0.8 < found.share.max() < 1 + 1e-9
    # Five steps of the search for each wave more in the length.
    np.testing.assert_allclose(np.diff(found.frequency_per_mm), 1 / 5 / 40)
    assert found.frequency_per_mm[0] == pytest.approx(2 / 40)
    assert found.frequency_per_mm[-1] < 1 / found.finest_mm
    assert 1 / found.frequency_per_mm[np.argmax(found.share)] == pytest.approx(spacing_mm, rel=0.1)


def test_a_profile_too_short_or_too_coarse_is_refused_and_the_least_is_taken():
    x = np.linspace(0, 19, 20)
    assert profile_spacing(x, np.sin(x)).spacing_mm.value == pytest.approx(2 * np.pi, rel=0.05)
    with pytest.raises(
        RangeError, match=r"^19 readings over 18 mm are too few to find a spacing; take at least 20"
    ):
        profile_spacing(x[:19], np.sin(x[:19]))
    with pytest.raises(RangeError, match=r"^0 readings over 0 mm are too few"):
        profile_spacing([], [])
    with pytest.raises(RangeError, match=r"^20 readings over 0 mm are too few"):
        profile_spacing(np.zeros(20), np.sin(x))
    with pytest.raises(RangeError, match=r"^The profile is flat: there is no mark in it whose spacing could"):
        profile_spacing(x, np.zeros(20))
    coarse = np.tile([0.0, 1, 2, 3], 6)
    with pytest.raises(
        RangeError, match=r"^The readings stand 1 mm apart over 3 mm; take them closer together\.$"
    ):
        profile_spacing(coarse, np.arange(24.0))


def test_readings_at_five_places_are_too_coarse_and_at_six_they_are_not():
    """The finest that is asked about is two steps, the coarsest half the length: the same on four steps."""
    with pytest.raises(RangeError, match=r"^The readings stand 1 mm apart over 4 mm"):
        profile_spacing(np.tile(np.arange(5.0), 4), np.arange(20.0) % 3)
    assert profile_spacing(np.tile(np.arange(6.0), 4), np.arange(24.0) % 5).finest_mm == 2


def test_how_well_a_spacing_is_known_does_not_hang_on_the_unit_of_height():
    x = np.linspace(0, 40, 400)
    wave = np.sin(2 * np.pi * x / 2.7)
    by_height = [profile_spacing(x, height * wave).spacing_mm.interval for height in (1e-3, 1.0, 1e3)]
    np.testing.assert_allclose(by_height, by_height[1:2] * 3, rtol=1e-9)


def test_the_false_alarm_of_a_profile_is_that_of_the_whole_band_that_was_searched():
    """Baluev, 2008, from memory: the band is the highest frequency times a length of the places."""
    x = np.linspace(0, 40, 200)
    height = np.sin(2 * np.pi * x / 3.3) + 3 * np.random.default_rng(5).normal(size=200)
    found = profile_spacing(x, height)
    frequency = 1 / found.spacing_mm.value
    bowed = np.column_stack([np.ones_like(x), x, x**2])
    wave = height - bowed @ np.linalg.lstsq(bowed, height, rcond=None)[0]
    swing = np.column_stack([np.sin(2 * np.pi * frequency * x), np.cos(2 * np.pi * frequency * x)])
    left = wave - swing @ np.linalg.lstsq(swing, wave, rcond=None)[0]
    power = -(x.size - 3) / 2 * np.log(left @ left / (wave @ wave))
    band = found.frequency_per_mm[-1] * np.sqrt(4 * np.pi * np.var(x))
    assert 1e-6 < found.false_alarm < 0.2
    assert found.false_alarm == pytest.approx(band * np.exp(-power) * np.sqrt(power), rel=0.1)


def test_the_chance_of_a_false_alarm_is_that_of_any_of_many_frequencies():
    # One minus the chance that none of them is so high (Scargle).
    assert false_alarm_chance(3.0, 50) == pytest.approx(1 - (1 - np.exp(-3)) ** 50)
    assert false_alarm_chance(0.0, 50) == 1
    assert false_alarm_chance(40.0, 50) == pytest.approx(50 * np.exp(-40), rel=1e-9)


@few
@given(st.floats(0.001, 0.05), st.floats(0.0, 0.02), st.floats(0.005, 0.05))
def test_a_part_whose_rate_is_doubtful_is_looked_for_in_a_wider_place(rate_share, feed_share, sd):
    # Seen folded at 4.05 a feed: a small change of the rate moves what is seen by seen over true.
    gear = DriveElement("gear", "spindle", 4.05, rate_share=rate_share)
    seen, true = 0.1 / 0.05, 0.1 / 4.05
    wide = np.hypot(sd, np.hypot(rate_share * seen**2 / true, feed_share * seen))
    found = rank_elements([gear], observed_mm=2.02, observed_sd_mm=sd, feed_share=feed_share, **CUT)
    density = np.exp(-(0.02**2) / 2 / wide**2) / wide / np.sqrt(2 * np.pi)
    hand = density / (density + 0.5 / (9.9 * 2.02))
    assert found.probability[found.names.index("gear")] == pytest.approx(hand, rel=1e-6)


def test_a_setting_at_which_a_candidate_prints_nothing_is_no_telling_test():
    # At a feed of 0.2 the screw's marks of 3 mm fall on whole feeds, and those of the belt stay.
    gear, belt = DriveElement("gear", "spindle", 3.0), DriveElement("belt", "spindle", 1 / 30)
    told = telling_test([gear, belt], feeds_mm=[0.2], speeds_rpm=[], **CUT)
    assert told.foretold_mm[0] == inf
    clock, other = DriveElement("clock", "time", 20.0), DriveElement("mark", "spindle", 1 / 30)
    # Twenty a second are four a turn at 300 rpm, and nothing is seen of them; at 310 they show.
    seen = telling_test([clock, other], feeds_mm=[0.4], speeds_rpm=[310], **CUT)
    assert (seen.feed_mm, seen.speed_rpm) != (0.4, 300)
    assert np.all(np.isfinite(seen.foretold_mm))
