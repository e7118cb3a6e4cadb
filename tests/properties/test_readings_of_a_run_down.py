"""Which rows of a log of speeds belong to the coast, row for row, in logs whose kinks stand at known rows.

The speeds are straight lines of time, so that every row is worked out in the head: at 50 rpm a second and ten
rows a second each row is 5 rpm lower than the one before.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from machinelab.errors import LogError
from machinelab.spindle.coast_falls import _falls, calmed, steepest_fall
from machinelab.spindle.coast_readings import coast_readings, resolution
from machinelab.spindle.log_speeds import speeds_of

ROWS_A_SECOND = 10
TOO_FEW = (
    "A coast-down fit needs at least 8 readings between 90 % and 10 % of the start speed; this log has {}. "
    "Log faster, start from a higher speed, or let it run down further."
)
NOT_TRUSTED = (
    "Rows from {} s on were left out: below {} rpm the meter cannot be trusted, and zeros after standstill "
    "say nothing about the coast."
)


def straight(*kinks, rows_a_second=ROWS_A_SECOND):
    """Rows of a speed that goes straight from kink to kink, each a moment [s] and a speed [rpm]."""
    at_s, rpm = np.array(kinks, float).T
    time_s = np.arange(round(at_s[0] * rows_a_second), round(at_s[-1] * rows_a_second) + 1) / rows_a_second
    return time_s, np.round(np.interp(time_s, at_s, rpm), 6)


COAST = ((0, 1000), (5, 1000), (25, 0), (28, 0))


def test_a_coast_is_kept_from_the_first_steady_row_to_the_last_that_the_meter_can_be_trusted_with():
    """It lets go where the speed falls below 98.5 %, 985 rpm, and ends above 15 rpm."""
    time_s, speed_rpm = straight(*COAST)
    found = coast_readings(time_s, speed_rpm)
    assert found.time_s == pytest.approx(time_s[:248])
    assert found.speed_rpm == pytest.approx(speed_rpm[:248])
    assert found.speed_rpm[-1] == pytest.approx(15)
    assert (found.let_go_s, found.top_rpm, found.resolution_rpm) == pytest.approx((5.3, 1000, 5))
    assert found.plateau is True
    assert (found.update_s, found.time_doubt) == (None, 0.0)
    assert found.notes == (NOT_TRUSTED.format("24.8", "15"),)


@pytest.mark.parametrize(
    ("cutoff_rpm", "last_rpm", "floor"), [(10.0, 15, "15"), (20.0, 30, "26"), (23, 30, "29.9")]
)
def test_a_meters_cutoff_raises_the_lowest_speed_that_counts_by_three_tenths(cutoff_rpm, last_rpm, floor):
    found = coast_readings(*straight(*COAST), cutoff_rpm=cutoff_rpm)
    assert found.speed_rpm[-1] == pytest.approx(last_rpm)
    assert f"below {floor} rpm" in found.notes[0]


def test_a_coarse_display_is_trusted_down_to_two_of_its_steps():
    found = coast_readings(*straight((0, 1000), (5, 1000), (15, 0), (18, 0)))
    assert found.resolution_rpm == pytest.approx(10)
    assert found.speed_rpm[-1] == pytest.approx(20)


@pytest.mark.parametrize(("steady_s", "plateau"), [(2.6, False), (2.7, True)])
def test_three_seconds_of_steady_speed_are_a_plateau_and_less_is_left_out_with_two_seconds_of_bend(
    steady_s, plateau
):
    """The row of 985 rpm comes 0.3 s after the drive let go, so that 2.7 s of steady speed make 3 s."""
    time_s, speed_rpm = straight((0, 1000), (steady_s, 1000), (steady_s + 20, 0), (steady_s + 21, 0))
    found = coast_readings(time_s, speed_rpm)
    assert found.plateau is plateau
    assert found.let_go_s == pytest.approx(steady_s + 0.3)
    if plateau:
        assert found.time_s[0] == 0
        return
    assert found.time_s[0] == pytest.approx(steady_s + 0.3 + 2)
    # Where the meter's lag cannot be told, the last 8 of 100 are left to it.
    assert found.speed_rpm[-1] == pytest.approx(80)
    assert found.notes == (
        "Rows before 4.9 s, while the speed was still changing, were left out.",
        NOT_TRUSTED.format("21.1", "80"),
    )


def test_five_steady_rows_are_the_fewest_of_a_plateau():
    """One row a second and 10 rpm a row: one row more is above 985 rpm."""
    for steady_s, plateau in ((4, True), (3, False)):
        kinks = ((0, 1000), (steady_s, 1000), (steady_s + 100, 0), (steady_s + 102, 0))
        assert coast_readings(*straight(*kinks, rows_a_second=1)).plateau is plateau


def test_a_log_that_begins_at_the_very_fall_is_used_from_its_first_row():
    """The second row, 982 rpm, is below 98.5 % already."""
    found = coast_readings(*straight((0, 1000), (5.5, 10)))
    assert found.time_s[0] == 0
    assert found.plateau is False
    assert found.let_go_s == 0


def test_a_run_up_before_the_steady_speed_is_left_out():
    """Steady is within two in a hundred: at 250 rpm a second from 980 rpm on, which is not within."""
    time_s, speed_rpm = straight((0, 0), (4, 1000), (9, 1000), (29, 0), (30, 0))
    found = coast_readings(time_s, speed_rpm)
    assert found.time_s[0] == pytest.approx(4.0)
    assert found.plateau is True
    assert found.notes[0] == "Rows before 4 s, while the speed was still changing, were left out."


AGAIN = "the spindle stops slowing before it stands, as if the drive had been switched on again"


def test_where_the_drive_comes_on_again_the_coast_ends_two_seconds_before():
    time_s, speed_rpm = straight((0, 1000), (5, 1000), (20, 250), (30, 1000))
    found = coast_readings(time_s, speed_rpm)
    assert found.time_s[-1] == pytest.approx(17.9)
    assert found.notes == (f"Rows from 18 s on were left out: {AGAIN}.",)


@pytest.mark.parametrize(("last_rpm", "driven"), [(260, False), (290, True)])
def test_a_last_reading_a_little_higher_is_no_drive_that_comes_on_again(last_rpm, driven):
    """A flicker of the meter, within two in a hundred of the steady speed, is no spindle that speeds up."""
    time_s, speed_rpm = straight((0, 1000), (5, 1000), (20, 250), (22, last_rpm))
    (note,) = coast_readings(time_s, speed_rpm).notes
    told = AGAIN if driven else "the speed falls no further, and the log ends before the spindle stands"
    assert note == f"Rows from 18 s on were left out: {told}."


def test_too_short_a_coast_before_the_drive_comes_on_again_is_told_with_its_moment():
    time_s, speed_rpm = straight((0, 1000), (5, 1000), (10, 750), (15, 1000))
    with pytest.raises(LogError) as refusal:
        coast_readings(time_s, speed_rpm)
    assert str(refusal.value) == (
        "The log follows the spindle from 1000 rpm down to 855 rpm only, too little to tell how it stops. "
        f"Log until the chuck stands. At 8 s {AGAIN}."
    )


@pytest.mark.parametrize(("lowest_rpm", "enough"), [(700, True), (705, False)])
def test_a_fall_by_three_tenths_is_enough_to_fit(lowest_rpm, enough):
    time_s, speed_rpm = straight((0, 1000), (5, 1000), (5 + (1000 - lowest_rpm) / 50, lowest_rpm))
    if enough:
        assert coast_readings(time_s, speed_rpm).speed_rpm[-1] == pytest.approx(lowest_rpm)
        return
    with pytest.raises(LogError, match="from 1000 rpm down to 705 rpm only"):
        coast_readings(time_s, speed_rpm)


def test_eight_readings_between_nine_tenths_and_one_tenth_are_the_fewest():
    """The rows at nine tenths and at one tenth themselves do not lie between."""
    eight = [1000.0] * 50 + [960, 900, 860, 770, 690, 570, 430, 330, 210, 150, 100, 60, 30, 0, 0]
    assert coast_readings(np.arange(65) / 10, np.array(eight)).speed_rpm[-1] == 30
    with pytest.raises(LogError) as refusal:
        coast_readings(np.arange(64) / 10, np.delete(eight, 54))
    assert str(refusal.value) == TOO_FEW.format(7)


def test_missing_rows_are_passed_over_and_too_few_known_ones_are_told():
    time_s, speed_rpm = straight(*COAST)
    speed_rpm[[40, 120]] = np.nan
    time_s[[60, 200]] = np.nan
    found = coast_readings(time_s, speed_rpm)
    assert found.time_s.size == 248 - 4
    assert np.all(np.isfinite([found.time_s, found.speed_rpm]))
    with pytest.raises(LogError) as refusal:
        coast_readings(time_s[:7], speed_rpm[:7])
    assert str(refusal.value) == TOO_FEW.format(7)


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ([0.0, 0.5, 1.5, 7.0], 0.5),
        ([0.0, 3.0, 6.0, 15.0], 3.0),
        ([*range(0, 190, 10), 183.0], 10.0),  # One of twenty may be off.
        ([*range(0, 90, 10), 83.0], 0.0),  # One of ten is too many.
        (np.sqrt([1.0, 2.0, 3.0, 5.0, 7.0, 11.0, 13.0]), 0.0),
        ([4.0, 4.0, 4.0], 0.0),
    ],
)
def test_the_step_of_a_display_is_the_coarsest_of_which_nearly_all_readings_are_multiples(values, step):
    assert resolution(np.array(values, float)) == pytest.approx(step)


def held_rows(*, phase_s=0.13, period_s=0.25, every_s=0.1):
    """Rows of a display that takes a new number every quarter of a second, and the numbers that it took."""
    wobble = np.resize([0.0, 0.011, -0.017, 0.006, 0.019, -0.008, -0.013], 301)
    time_s = np.arange(301) * every_s + wobble
    number = np.floor((time_s - phase_s) / period_s)
    return time_s, np.clip(1000 - 12 * np.maximum(number - 20, 0), 0, None), number


def test_a_held_number_counts_once_and_is_dated_to_the_moment_at_which_the_display_took_it():
    time_s, speed_rpm, number = held_rows()
    found = coast_readings(time_s, speed_rpm)
    assert found.update_s == pytest.approx(0.25, rel=2e-3)
    taken = np.unique(number)
    kept = found.time_s.size
    assert found.time_s == pytest.approx(0.13 + 0.25 * taken[:kept], abs=0.02)
    assert found.speed_rpm == pytest.approx(np.maximum(1000 - 12 * np.maximum(taken[:kept] - 20, 0), 0))
    assert found.notes[0] == (
        f"The display holds each number for 0.25 s: 301 rows are {taken.size} readings, each dated to the "
        "moment the display changed."
    )


def test_the_rhythm_of_a_display_keeps_as_far_as_it_can_from_the_rows_between_which_each_change_came():
    time_s, speed_rpm, _ = held_rows()
    found = coast_readings(time_s, speed_rpm)
    changed = np.flatnonzero(np.diff(speed_rpm))
    early, late = time_s[changed], time_s[changed + 1]
    tooth = np.round((early / 2 + late / 2 - found.time_s[0]) / found.update_s)
    at = found.time_s[0] + tooth * found.update_s
    room = min(np.min(at - early), np.min(late - at))
    # A change of the period by this share would move the outermost teeth by the room that is left.
    assert found.time_doubt == pytest.approx(room / (found.update_s * np.ptp(tooth) / 2), rel=0.02)
    for moved_s in (-0.002, 0.002):
        assert min(np.min(at + moved_s - early), np.min(late - at - moved_s)) <= room


def test_many_rows_are_averaged_in_groups_and_a_wild_one_is_left_out_of_its_group():
    time_s, speed_rpm = straight((0, 1000), (10, 1000), (45, 0), (50, 0), rows_a_second=50)
    time_s, speed_rpm = time_s[:2500], speed_rpm[:2500]
    speed_rpm[1002] *= 2
    found = coast_readings(time_s, speed_rpm)
    groups = time_s.reshape(500, 5)
    assert found.time_s[199] == pytest.approx(groups[199].mean())
    assert found.time_s[200] == pytest.approx(np.mean(np.delete(groups[200], 2)))
    assert found.speed_rpm[200] == pytest.approx(np.mean(np.delete(speed_rpm[1000:1005], 2)))
    assert found.speed_rpm[300] == pytest.approx(speed_rpm[1500:1505].mean())
    assert found.notes[0] == (
        "2500 rows were averaged into 500 groups; single wild rows were left out of them."
    )


def test_a_thousand_rows_are_not_yet_averaged():
    for rows, averaged in ((1000, False), (1001, True)):
        time_s = np.arange(rows) / 20
        found = coast_readings(time_s, np.clip(1000 - 25 * (time_s - 8), 20, 1000))
        assert any("averaged" in note for note in found.notes) is averaged


# --- Which fall of several.


@pytest.mark.parametrize(
    ("speeds", "falls"),
    [
        ([10, 9, 8, 7, 6], [(0, 4)]),
        ([0, 5, 10, 7, 4, 6, 9, 3], [(2, 4), (6, 7)]),
        ([10, 7, 10, 7], []),  # A fall by the threshold is none yet.
        ([10, 6, 9, 5, 5, 12], [(0, 4)]),  # Nor is a rise by it an end.
        ([3, 10, 10, 2], [(2, 3)]),  # Of equal rows the last is the top, and the last is the bottom.
    ],
)
def test_a_fall_goes_from_a_turning_point_to_the_next_beyond_a_threshold(speeds, falls):
    assert _falls(np.array(speeds, float), 3) == falls


def test_wild_rows_are_replaced_by_what_is_usual_around_them_and_no_other_row_is_touched():
    _, speed_rpm = straight(*COAST)
    wild = speed_rpm.copy()
    wild[[70, 71, 150]] = [2000, 0, 1000]
    calm = calmed(wild)
    assert calm[[70, 71, 150]] == pytest.approx(speed_rpm[[70, 71, 150]], abs=10)
    others = np.delete(np.arange(wild.size), [70, 71, 150])
    assert np.array_equal(calm[others], wild[others])
    assert np.array_equal(calmed(speed_rpm), speed_rpm)


@pytest.mark.parametrize(("rows", "calm"), [(60, False), (61, True)])
def test_three_wild_rows_side_by_side_are_seen_in_more_than_sixty_rows(rows, calm):
    speed_rpm = np.linspace(1000, 200, rows)
    wild = speed_rpm.copy()
    wild[30:33] = 0
    assert bool(abs(calmed(wild)[31] - speed_rpm[31]) < 20) is calm


@pytest.mark.parametrize(("off_rpm", "is_wild"), [(17, True), (14, False)])
def test_a_row_is_wild_beyond_fifteen_in_a_thousand_of_the_highest_speed(off_rpm, is_wild):
    speed_rpm = np.full(100, 1000.0)
    speed_rpm[50] += off_rpm
    assert bool(calmed(speed_rpm)[50] == 1000) is is_wild


def test_of_two_falls_the_deeper_is_taken_and_the_other_named():
    time_s, speed_rpm = straight((0, 800), (4, 800), (14, 200), (20, 1000), (24, 1000), (34, 0), (36, 0))
    notes = []
    top, bottom = steepest_fall(time_s, speed_rpm, 1.0, notes)
    assert (time_s[top], speed_rpm[bottom]) == pytest.approx((24, 0))
    assert notes == [
        "The speed falls more than once; the fall that starts near 24 s was fitted and the one near 4 s left "
        "out."
    ]


@pytest.mark.parametrize(("first_rpm", "named"), [(500, True), (480, False)])
def test_a_fall_of_less_than_three_tenths_of_the_deepest_is_not_worth_a_word(first_rpm, named):
    """The first falls by 310 or 290 rpm, the second by 1000."""
    time_s, speed_rpm = straight(
        (0, first_rpm), (4, first_rpm), (9, 190), (14, 1000), (18, 1000), (28, 0), (30, 0)
    )
    notes = []
    steepest_fall(time_s, speed_rpm, 1.0, notes)
    assert bool(notes) is named


def test_of_falls_that_are_alike_the_first_is_taken():
    for second_rpm, first_s in ((1010, 4), (1030, 20)):
        time_s, speed_rpm = straight(
            (0, 1000), (4, 1000), (14, 0), (16, 0), (18, second_rpm), (20, second_rpm), (30, 0), (32, 0)
        )
        top, _ = steepest_fall(time_s, speed_rpm, 1.0, [])
        assert time_s[top] == pytest.approx(first_s)


def test_a_speed_that_never_falls_is_told_with_the_time_that_was_looked_at():
    with pytest.raises(LogError) as refusal:
        steepest_fall(*straight((1, 0), (9, 800), (12, 800)), 1.0, [])
    assert str(refusal.value) == (
        "The speed never falls in this log, from 1 s to 12 s: is the drive still on, or is this a run-up? "
        "Start logging at a steady speed, switch the drive off, and log until the chuck stands still."
    )


SHELF = ((0, 1000), (2, 1000), (10, 600), (18, 600), (30, 0), (31, 0))


def test_a_fall_is_parted_at_a_shelf():
    """Looked at in windows of 1.5 s, from 2 s on, the last one that rests ends at 17 s.

    What is reached is within a hundredth of the top speed and two steps: 400 + 10 + 2 * 5 rpm.
    """
    time_s, speed_rpm = straight(*SHELF)
    notes = []
    top, bottom = steepest_fall(time_s, speed_rpm, 5.0, notes)
    assert (time_s[top], speed_rpm[bottom]) == pytest.approx((16.9, 0))
    assert "the one near 2 s left out" in notes[0]
    # With the lower part less deep than the upper one, the upper one is taken, down to where it settles.
    time_s, speed_rpm = straight((0, 1000), (2, 1000), (14, 400), (22, 400), (29, 50), (29.1, 50))
    top, bottom = steepest_fall(time_s, speed_rpm, 5.0, [])
    assert (time_s[top], speed_rpm[bottom]) == pytest.approx((2, 420))


def test_a_fall_with_two_shelves_is_parted_in_three():
    """Windows of 1.5 s from 2 s on end where the shelves end, at 14 s and at 26 s."""
    notes = []
    top, bottom = steepest_fall(
        *straight((0, 1000), (2, 1000), (8, 700), (14, 700), (20, 400), (26, 400), (34, 0), (35, 0)),
        5.0,
        notes,
    )
    assert (top, bottom) == (259, 350)
    assert notes == [
        "The speed falls more than once; the fall that starts near 25.9 s was fitted and the one near 2 s, "
        "13.9 s left out."
    ]


@pytest.mark.parametrize(("creep_rpm_s", "parted"), [(0, True), (10, True), (15, False)])
def test_a_stretch_that_falls_by_less_than_a_quarter_of_what_comes_later_is_a_shelf(creep_rpm_s, parted):
    """Later the speed falls by 50 rpm a second."""
    ends = 600 - 8 * creep_rpm_s
    time_s, speed_rpm = straight((0, 1000), (2, 1000), (10, 600), (18, ends), (18 + ends / 50, 0), (31, 0))
    top, _ = steepest_fall(time_s, speed_rpm, 1.0, [])
    assert bool(speed_rpm[top] < 700) is parted


# --- Pulses and counts as speeds.


def test_stamps_and_counts_are_mean_speeds_between_neighbours_dated_to_the_middle():
    """Two marks a turn at 0.1 s are 300 rpm; 90 counts of 2700 in 0.2 s are 10 rpm, either way."""
    stamps = SimpleNamespace(speed_rpm=None, pulse_s=[0.0, 0.1, 0.3, 0.4], marks_per_turn=2)
    time_s, speed_rpm = speeds_of(stamps)
    assert (time_s, speed_rpm) == (pytest.approx([0.05, 0.2, 0.35]), pytest.approx([300, 150, 300]))
    counts = SimpleNamespace(time_s=[0.0, 0.2, 0.6], count=[100, 10, 370], marks_per_turn=2700)
    time_s, speed_rpm = speeds_of(counts)
    assert (time_s, speed_rpm) == (pytest.approx([0.1, 0.4]), pytest.approx([10, 20]))
    speeds = SimpleNamespace(time_s=[0, 1], speed_rpm=[5, 6], pulse_s=[0, 1], marks_per_turn=None)
    assert speeds_of(speeds) == ([0, 1], [5, 6])
    for no_marks in (None, 0):
        with pytest.raises(
            LogError, match=r"^This log holds counts or pulses\. Give how many .* and teeth\)\.$"
        ):
            speeds_of(SimpleNamespace(time_s=[0.0, 1.0], count=[0, 5], marks_per_turn=no_marks))
