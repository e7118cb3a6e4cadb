"""Each fault that is put into the readings of an axis is found under its own name, with its own size."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import RangeError
from machinelab.leadscrew.axis_findings import axis_findings, reversal_uncertainty_um
from machinelab.leadscrew.periodic_error import periodic_error, periodic_targets_mm
from machinelab.leadscrew.positioning import positioning

few = settings(max_examples=25)
TARGETS = np.array([20.0, 71.0, 123.0, 174.0, 225.0])
RUNS = np.array([-1.0, 1.0, 0.0])
STICKS = "a slide that sticks or is loose"
PLAY = "play in nut or thrust bearing"
WORN = "a worn stretch of the screw"
LEAD = "the screw's own lead"
EVERY_TURN = "an error of every turn of the screw"


def table(play_um=0.0, lead_ppm=0.0, scatter_um=1.0, worn_um=None):
    """Readings of an axis whose play, lead and scatter are known; the scatter is alike everywhere."""
    up = lead_ppm * TARGETS[:, None] / 1000 + scatter_um * RUNS
    plays = play_um + (0.0 if worn_um is None else np.array(worn_um))
    return positioning(TARGETS, up, up - np.broadcast_to(plays, TARGETS.shape)[:, None])


def found(evaluated, doubt_um=5.0, periodic=None, allowed_um=150.0, allowed_ppm=130.0):
    return axis_findings(
        evaluated,
        periodic=periodic,
        reversal_uncertainty_um=doubt_um,
        allowed_reversal_um=allowed_um,
        allowed_lead_error_ppm=allowed_ppm,
    )


def test_a_sound_axis_has_no_fault_and_one_at_its_limit_has_none_yet():
    assert found(table(play_um=100.0)) == ()
    assert found(table(play_um=150.0)) == ()
    [just] = found(table(play_um=150.1))
    assert just.name == PLAY


@few
@given(st.floats(160, 900))
def test_play_is_named_with_its_size_and_what_it_is_over_its_limit(play_um):
    for sign in (1, -1):
        [only] = found(table(play_um=sign * play_um))
        assert only.name == PLAY
        assert only.size_um == pytest.approx(play_um)
        assert only.over_limit == pytest.approx(play_um / 150)
        assert only.meaning.startswith("The play is the same everywhere and comes back alike. Set a dial on")
        assert only.meaning.endswith(
            "if the screw moves, adjust its thrust bearing; if not, the nut is worn."
        )


def test_play_that_changes_by_more_than_twice_its_doubt_is_wear_at_the_place_where_it_is_largest():
    worn = table(play_um=150.0, worn_um=[0, 0, 10.5, 60, 0])
    [named] = found(worn, doubt_um=29.9)
    assert (named.name, named.size_um) == (WORN, pytest.approx(210))
    assert named.over_limit == pytest.approx(210 / 150)
    assert "changes by 60 um along the bed and is largest at 174 mm: the screw is worn" in named.meaning
    assert named.meaning.endswith("or take the play up over the whole of it.")
    [other_way] = found(table(play_um=-150.0, worn_um=[0, -60, 0, 0, 0]), doubt_um=29.9)
    assert "is largest at 71 mm" in other_way.meaning
    [alike] = found(worn, doubt_um=30.1)
    assert alike.name == PLAY


def test_a_slide_that_comes_back_anywhere_is_named_by_its_band_against_half_the_play_that_is_allowed():
    # Of -19, 19 and 0 the standard deviation is 19, and a band is four of them: 76, over half of 150.
    [only] = found(table(scatter_um=19.0))
    assert only.name == STICKS
    assert only.size_um == pytest.approx(76)
    assert only.over_limit == pytest.approx(2 * 76 / 150)
    assert only.meaning.startswith("The carriage does not come back to the same place from the same side:")
    assert only.meaning.endswith("do not correct for the play: it is not the same twice.")
    assert found(table(scatter_um=18.0)) == ()


def test_a_slide_that_sticks_on_one_way_only_is_found_all_the_same():
    still, sticks = np.zeros((5, 3)), 19.0 * np.tile(RUNS, (5, 1))
    for readings in ((still, sticks), (sticks, still)):
        [only] = found(positioning(TARGETS, *readings))
        assert only.size_um == pytest.approx(76)


@few
@given(st.floats(140, 2000), st.sampled_from([(1, "too far"), (-1, "not far enough")]))
def test_a_lead_that_is_out_is_named_with_its_sign_and_what_it_does_along_the_bed(ppm, way):
    sign, words = way
    [only] = found(table(lead_ppm=sign * ppm, scatter_um=0.0))
    assert only.name == LEAD
    assert only.size_um == pytest.approx(ppm * 205 / 1000)
    assert only.over_limit == pytest.approx(ppm / 130)
    assert (
        f"moves the carriage {words}: {ppm:.0f} ppm. Enter the lead as measured for feeds and" in only.meaning
    )
    assert only.meaning.endswith("a nut of ordinary length does not feel it.")


def test_the_sign_of_a_lead_tells_its_way_however_little_is_allowed():
    for ppm, way in ((0.5, "too far"), (-0.5, "not far enough")):
        [only] = found(table(lead_ppm=ppm, scatter_um=0.0), allowed_ppm=0.1)
        assert f"moves the carriage {way}: " in only.meaning


def test_a_lead_counts_only_by_what_is_sure_of_it():
    crooked = np.array([0, 40, 0, 40, 60.0])[:, None] + 0 * RUNS
    evaluated = positioning(TARGETS, crooked, crooked)
    low, high = evaluated.lead_error_ppm.interval
    assert low < 0 < high
    assert abs(evaluated.lead_error_ppm.value) > 130
    assert found(evaluated) == ()
    sure = positioning(TARGETS, crooked + 0.4 * TARGETS[:, None], crooked + 0.4 * TARGETS[:, None])
    [only] = found(sure)
    assert only.over_limit == pytest.approx(sure.lead_error_ppm.interval[0] / 130)
    [other_way] = found(
        positioning(TARGETS, -crooked - 0.4 * TARGETS[:, None], -crooked - 0.4 * TARGETS[:, None])
    )
    assert other_way.over_limit == pytest.approx(only.over_limit)


def test_a_swing_of_every_turn_counts_twice_its_amplitude_and_only_when_it_is_proven():
    at = periodic_targets_mm(3.0)
    swings = periodic_error(at, 20 * np.sin(2 * np.pi * at / 3.0), screw_lead_mm=3.0)
    [only] = found(table(), periodic=swings)
    assert only.name == EVERY_TURN
    assert only.size_um == pytest.approx(40)
    # Along 205 mm the lead that is allowed makes 26.65 um.
    assert only.over_limit == pytest.approx(40 / 26.65)
    assert only.meaning.startswith(
        "The carriage swings by 40 um in every turn of the screw: look for a thrust"
    )
    assert only.meaning.endswith("a bent end of the screw, or a coupling that is not true.")
    noise = np.random.default_rng(3).normal(0, 40, at.size)
    unproven = periodic_error(at, noise, screw_lead_mm=3.0)
    assert not unproven.proven
    assert found(table(), periodic=unproven) == ()


def test_the_worst_comes_first():
    both = table(play_um=300.0, lead_ppm=1300.0, scatter_um=1e-3)
    assert [one.name for one in found(both)] == [LEAD, PLAY]
    assert [one.name for one in found(both, allowed_um=20.0)] == [PLAY, LEAD]


@pytest.mark.parametrize("limit", ["allowed_um", "allowed_ppm"])
def test_a_limit_of_nothing_is_refused(limit):
    with pytest.raises(RangeError, match="must be more than zero"):
        found(table(), **{limit: 0.0})


@few
@given(st.floats(0.5, 20), st.integers(1, 12), st.floats(0.5, 5))
def test_the_doubt_of_a_reversal_adds_runs_and_dial_as_squares(scatter_um, runs, dial_um):
    evaluated = table(scatter_um=scatter_um)
    # Each way the three runs scatter by the same; twice the root of what adds up (GUM, k = 2).
    hand = 2 * np.sqrt(2 * scatter_um**2 / runs + 2 * dial_um**2)
    assert reversal_uncertainty_um(evaluated, runs=runs, reading_sd_um=dial_um) == pytest.approx(hand)


def test_the_doubt_of_a_reversal_is_that_of_the_target_that_scatters_most():
    up = np.array([1, 1, 1, 6, 1.0])[:, None] * RUNS
    evaluated = positioning(TARGETS, up, np.zeros((5, 3)))
    assert reversal_uncertainty_um(evaluated, runs=3, reading_sd_um=1.0) == pytest.approx(2 * np.sqrt(12 + 2))


@few
@given(st.floats(0.01, 0.6), st.floats(0.02, 3.0))
def test_a_swing_is_proven_by_its_share_of_the_scatter_and_not_by_its_size(scatter_um, times):
    at = periodic_targets_mm(4.0)
    # Three to the turn: neither the swing of a turn nor a slope sees it, so it is scatter alone.
    rest = np.sqrt(2) * scatter_um * np.cos(3 * 2 * np.pi * at / 4.0)
    found = periodic_error(at, times * scatter_um * np.sin(2 * np.pi * at / 4.0) + rest, screw_lead_mm=4.0)
    again = periodic_error(
        at, 1000 * (times * scatter_um * np.sin(2 * np.pi * at / 4.0) + rest), screw_lead_mm=4.0
    )
    assert found.proven == again.proven
    assert found.residual_um == pytest.approx(again.residual_um / 1000)
    assert found.residual_um == pytest.approx(scatter_um * np.sqrt(25 / 21), rel=0.03)
    # F of two added terms: n a^2 / 4 / s^2, to be above that of 99 in 100 (5.78 for 2 and 21, tables).
    share = 25 * times**2 / 4 / (25 / 21)
    if not 5.0 < share < 6.6:
        assert found.proven == (share > 5.78)
    low, high = found.amplitude_um.interval
    assert low <= found.amplitude_um.value <= high
    # Of an amplitude: 2.08 (t of 21) times the scatter times root two over n, textbook.
    reach = 2.0796 * found.residual_um * np.sqrt(2 / 25)
    assert high - found.amplitude_um.value == pytest.approx(reach, rel=0.05)
