"""What the bench tests of motor, encoder and meter say, word for word, and where one finding ends."""

import math
from fractions import Fraction

import numpy as np
import pytest

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.spindle.back_emf import _shows, compare_back_emf, generator_test
from machinelab.spindle.belt_grip import arc_factor
from machinelab.spindle.brake_contact import dc_breaking_current_a, opening_speed_rpm
from machinelab.spindle.inertia import inertia_from_drag_ratio_kg_m2
from machinelab.spindle.meter_calibration import calibrate
from machinelab.spindle.meter_pickup import is_mains_hum
from machinelab.spindle.meter_trust import settled
from machinelab.spindle.motor_bench import locked_shaft, ohmmeter, running_test
from machinelab.spindle.motor_overload import minutes_to_limit
from machinelab.spindle.turn_test import turn_test

RPM = math.pi / 30
BOTH_WAYS_RPM = np.array([-3000.0, -1900.0, -800.0, 700.0, 1600.0, 2400.0, 3000.0])
BACK_EMF = 0.3


def test_a_straight_line_through_zero_both_ways_has_nothing_to_tell():
    found = generator_test(BOTH_WAYS_RPM, voltage_v=BACK_EMF * RPM * BOTH_WAYS_RPM)
    assert found.back_emf.value == pytest.approx(BACK_EMF)
    assert found.straight
    assert found.warnings == ()


def test_an_offset_a_bend_and_one_way_only_are_each_told_with_their_size():
    volts = BACK_EMF * RPM * BOTH_WAYS_RPM
    offset = generator_test(BOTH_WAYS_RPM, voltage_v=volts + 3)
    assert offset.intercept.value == pytest.approx(3)
    assert offset.warnings == ("Standing still it would show 3 V: one of the meters is off.",)
    assert not offset.straight
    top = np.max(abs(BOTH_WAYS_RPM))
    bent = generator_test(BOTH_WAYS_RPM, voltage_v=volts * (1 + 0.06 * abs(BOTH_WAYS_RPM) / top))
    # By least squares the line through zero takes the bend at the mean of the cubes over that of the squares.
    over = 1 + 0.06 * np.sum(abs(BOTH_WAYS_RPM) ** 3) / (top * np.sum(BOTH_WAYS_RPM**2))
    assert bent.back_emf.value == pytest.approx(BACK_EMF * over)
    assert bent.bend_share.value == pytest.approx(0.06 / over)
    assert bent.warnings == ("The line bends by +5.7 % at the top: a drive that slips, or an rms meter.",)
    assert not bent.straight
    for way in (1, -1):
        rpm = way * np.array([500.0, 900.0, 1500.0, 2200.0, 3000.0])
        one_way = generator_test(rpm, voltage_v=BACK_EMF * RPM * rpm)
        assert one_way.warnings == ("Turned one way only; turn it the other way as well.",)
        assert one_way.straight
        standing = generator_test(np.append(rpm, 0.0), voltage_v=BACK_EMF * RPM * np.append(rpm, 0.0))
        assert standing.warnings == one_way.warnings


def test_five_speeds_that_turn_are_the_fewest_of_a_generator_test():
    rpm = np.array([0.0, 500.0, -900.0, 1500.0, 2200.0, 2200.0])
    with pytest.raises(RangeError, match=r"^There are 4 speeds; the test needs at least 5\.$"):
        generator_test(rpm, voltage_v=0.03 * rpm)
    assert generator_test(np.append(rpm, 3000), voltage_v=0.03 * np.append(rpm, 3000)).straight


@pytest.mark.parametrize(
    ("value", "interval", "shows"),
    [
        (0.03, (0.001, 0.059), True),
        (-0.03, (-0.059, -0.001), True),
        (0.03, (0.0, 0.06), False),  # Nothing may still be within the interval.
        (-0.03, (-0.06, 0.0), False),
        (0.02, (0.019, 0.021), False),  # Too little to tell, however sure.
        (0.0201, (0.019, 0.021), True),
    ],
)
def test_a_fault_shows_where_it_is_proven_and_large_enough(value, interval, shows):
    assert _shows(Estimate(value, interval), 0.02) is shows


@pytest.mark.parametrize(
    ("other", "agree", "meaning"),
    [
        (0.3, True, "the two ways agree, +0.0 % apart."),
        (0.309, True, "the two ways agree, +3.0 % apart."),
        (0.292, True, "the two ways agree, -2.7 % apart."),
        (0.31, False, "+3.3 % apart, a little much: repeat both with a warm motor."),
        (0.2855, False, "-5.0 % apart, a little much: repeat both with a warm motor."),
        (
            0.33,
            False,
            "+9.5 % apart: the brushes stand off neutral (run it light both ways and compare the speeds), "
            "the magnets are partly demagnetised, or a meter gives the rms of pulses and not their average.",
        ),
    ],
)
def test_two_ways_to_the_back_emf_are_compared_by_the_mean_of_both(other, agree, meaning):
    found = compare_back_emf(0.3, other_back_emf_v_s_per_rad=other)
    assert found.difference_share == pytest.approx(2 * (other - 0.3) / (other + 0.3))
    assert (found.agree, found.meaning) == (agree, meaning)


# --- A hundred turns by hand: 2700 counts each, over a belt of 36 on 32 teeth.

QUARTER = "one edge of each line is counted, not four"
BACKWARDS = "the count runs backwards: exchange the two channels"
LITTLE = "the count is a little out both ways alike: set the mark again, and count the turns again"
NO_REASON = "the turns give other counts than expected: check the lines, the teeth and the turns made"
LOST = (
    "counts are lost or made up on the way: look for a loose coupling or belt, a poor screen, or a counter "
    "that is too slow"
)
BELT_FORGOTTEN = "the encoder turns with the spindle one to one, whatever the teeth given"


@pytest.mark.parametrize(
    ("forward", "back", "meaning"),
    [
        (270_000, 0, "the counts hold"),
        (270_001, -1, "the counts hold"),
        (269_999, 1, "the counts hold"),
        (270_002, 0, LITTLE),
        (270_000, 2, LOST),
        (270_002, -2, LOST),
        (270_027, 1, LITTLE),
        (269_973, -1, LITTLE),
        (270_028, 0, NO_REASON),
        (67_500, 0, QUARTER),
        (67_473, 0, QUARTER),
        (67_472, 0, NO_REASON),
        (135_000, 0, "two edges of each line are counted, not four"),
        (1_080_000, 0, "the lines given are four times too few"),
        (240_000, 0, BELT_FORGOTTEN),
        (213_333, 0, "the two pulleys are given the wrong way round"),
        (-270_000, 0, BACKWARDS),
        (-269_973, 0, BACKWARDS),
        (-67_500, 0, f"{BACKWARDS}; and {QUARTER}"),
        (-240_000, 0, f"{BACKWARDS}; and {BELT_FORGOTTEN}"),
    ],
)
def test_the_count_of_a_hundred_turns_says_what_is_wrong(forward, back, meaning):
    found = turn_test(
        forward, back, counts_per_spindle_turn=2700, encoder_turns_per_spindle_turn=Fraction(36, 32)
    )
    assert found.meaning == meaning
    assert found.counts_hold is (meaning == "the counts hold")
    assert (found.expected_count, found.forward_error_count) == (270_000, forward - 270_000)
    assert found.return_error_count == back


def test_no_count_at_all_may_be_allowed_and_fewer_turns_made():
    assert turn_test(2700, 0, counts_per_spindle_turn=2700, turns=1, allowed_count=0).counts_hold
    assert not turn_test(2701, 0, counts_per_spindle_turn=2700, turns=1, allowed_count=0).counts_hold
    for name, value in (("turns", 0), ("allowed_count", -1), ("forward_count", 1.0), ("return_count", 0.5)):
        typed = {"forward_count": 2700, "return_count": 0, "counts_per_spindle_turn": 2700} | {name: value}
        with pytest.raises(RangeError, match=name):
            turn_test(**typed)


# --- A meter held against a better one.

TRUE_RPM = np.array([100.0, 250.0, 400.0, 700.0, 1100.0, 1500.0])


def test_each_fault_of_a_meter_is_told_in_full():
    marks = calibrate(TRUE_RPM, TRUE_RPM * 3 / 2)
    assert marks.notes == (
        "It shows 3/2 of the true speed: 3 marks pass the pickup where the meter is set for 2. Count the "
        "magnets and set the meter.",
    )
    high = calibrate(TRUE_RPM, TRUE_RPM + 4).notes
    assert high[0] == (
        "The line does not go through zero: +4.0 rpm at standstill. The display rounds one way, or the drive "
        "was still changing when it was read."
    )
    scale = calibrate(TRUE_RPM, 0.97 * TRUE_RPM).notes
    assert scale == ("It reads -3.00 % off at speed; set its scale, or keep this figure.",)
    missed, twice = TRUE_RPM.copy(), TRUE_RPM.copy()
    missed[-1] *= 0.8
    twice[0] *= 1.5
    assert calibrate(TRUE_RPM, missed).notes[0] == (
        "At 1500 rpm it shows 80% of what the other readings make likely: pulses are missed."
    )
    assert calibrate(TRUE_RPM, twice).notes[0] == (
        "At 100 rpm it shows 150% of what the other readings make likely: pulses are counted twice, or noise "
        "is counted."
    )


@pytest.mark.parametrize(
    ("shown_rpm", "hum"), [(1500, 1), (1515, 1), (1485, 1), (1516, 0), (3030, 1), (2969, 0), (0, 0)]
)
def test_a_reading_within_one_in_a_hundred_of_the_mains_or_twice_it_is_hum(shown_rpm, hum):
    """At 50 Hz and two marks a turn: 60 * 50 / 2."""
    assert bool(is_mains_hum(shown_rpm, mains_frequency_hz=50, marks_per_turn=2)) is bool(hum)
    assert list(is_mains_hum(["1500", 1516], mains_frequency_hz=50, marks_per_turn=2)) == [True, False]


def test_a_reading_is_believed_once_it_has_stood_still_on_both_sides():
    """A reading 0.5 s old is watched for 1 s on either side; 10 rpm in 1 s are 5 rpm in its age."""
    time_s = np.arange(0, 8, 0.25)
    watch = {"reading_age_s": 0.5, "tolerance_rpm": 5.0}
    for change_rpm, steady in ((9.9, True), (10.0, False)):
        shown = np.where(time_s < 4, 300.0, 300.0 + change_rpm)
        believed = settled(time_s, shown, **watch)
        near = np.abs(time_s - 3.875) < 1
        assert np.all(believed[near]) == steady
    # What stood still before a change and stands still after it is believed on either side.
    step = settled(time_s, np.where(time_s < 4, 300.0, 400.0), **watch)
    assert np.array_equal(step, (time_s >= 1) & (time_s <= 6.75) & (np.abs(time_s - 3.875) > 1))
    even = settled(time_s, np.full(time_s.size, 300.0), **watch)
    assert np.array_equal(even, (time_s >= 1) & (time_s <= 6.75))
    assert not np.any(settled(time_s, np.zeros(time_s.size), **watch))
    assert not np.any(settled(time_s, np.full(time_s.size, 300.0), **watch, cutoff_rpm=300))
    # A step of the display may hide in what stands still: it needs a longer watch, or is never believed.
    coarse = settled(time_s, np.full(time_s.size, 300.0), **watch, resolution_rpm=10)
    assert np.array_equal(coarse, (time_s >= 2) & (time_s <= 5.75))


def test_three_readings_are_the_fewest_that_stand_still():
    for every_s, believed in ((0.5, True), (1.0, False)):
        time_s = np.arange(0, 6.1, every_s)
        found = settled(time_s, np.full(time_s.size, 300.0), reading_age_s=0.5, tolerance_rpm=5.0)
        assert np.any(found) == believed


# --- The motor on the bench.

PLACES = np.repeat(np.arange(0, 360, 60), 4)
CURRENTS = np.tile([0.6, -1.5, 3.0, -3.0], 6)


def test_current_one_way_only_is_told_in_full_and_nothing_else_is():
    volts = 2 * np.sign(CURRENTS) + 1.2 * CURRENTS
    assert locked_shaft(volts, CURRENTS, angle_deg=PLACES).warnings == ()
    for way in (1, -1):
        one_way = locked_shaft(way * abs(volts), way * abs(CURRENTS), angle_deg=PLACES)
        assert one_way.warnings == (
            "Current was fed one way only: reverse it as well, so that an offset of the meter falls out.",
        )
        assert one_way.resistance.value == pytest.approx(1.2)


def test_sizes_of_current_less_than_a_fifth_apart_count_as_one():
    for middle_a, sizes in ((1.2, 2), (1.21, 3), (2.6, 2)):
        currents = np.tile([1.0, -middle_a, 3.0, -3.0], 6)
        volts = 2 * np.sign(currents) + 1.2 * currents
        if sizes == 3:
            assert locked_shaft(volts, currents, angle_deg=PLACES).brush_drop.value == pytest.approx(2)
            continue
        with pytest.raises(RangeError, match=r"^There are 2 sizes of current; the test needs at least 3\.$"):
            locked_shaft(volts, currents, angle_deg=PLACES)
    with pytest.raises(RangeError, match=r"^There are 5 angles of the shaft; the test needs at least 6\.$"):
        locked_shaft(volts[4:], currents[4:], angle_deg=PLACES[4:])


def test_six_points_are_the_fewest_of_a_running_test():
    rpm = np.array([500.0, 500.0, 1500.0, 1500.0, 3000.0, 3000.0])
    amperes = np.array([0.5, 6.0, 0.6, 5.0, 0.8, 6.5])
    volts = 2 + 0.3 * RPM * rpm + 1.1 * amperes
    found = running_test(rpm, voltage_v=volts, current_a=amperes)
    assert (found.brush_drop.value, found.back_emf.value, found.resistance.value) == pytest.approx(
        (2, 0.3, 1.1)
    )
    with pytest.raises(RangeError, match=r"^There are 5 points; the test needs at least 6\.$"):
        running_test(rpm[1:], voltage_v=volts[1:], current_a=amperes[1:])


def test_readings_of_an_ohmmeter_are_worth_something_while_they_scatter_by_less_than_fifteen_in_a_hundred():
    """Deviations of one from three readings m - d, m, m + d: d."""
    steady = ohmmeter([1.7, 2.0, math.nan, 2.3])
    assert (steady.median_ohm, steady.mean_ohm, steady.sd_ohm) == pytest.approx((2, 2, 0.3))
    assert steady.scatter_share == pytest.approx(0.15)
    assert not steady.film_dominated
    assert steady.meaning == (
        "the readings hold together, but the brush drop is still in them: take them for an upper bound."
    )
    scattered = ohmmeter([1.6, 2.0, 2.4])
    assert scattered.film_dominated
    assert scattered.meaning == (
        "film and contact dominate: these readings say nothing of the winding. Measure with the shaft held "
        "and a current of some amperes."
    )
    assert ohmmeter([0, 0, 0]).scatter_share == math.inf
    with pytest.raises(
        RangeError, match=r"^There are 2 readings of the ohmmeter; the test needs at least 3\.$"
    ):
        ohmmeter([1.7, 2.0, math.nan])


def test_runs_taken_for_each_other_are_told_in_full():
    with pytest.raises(RangeError) as refusal:
        inertia_from_drag_ratio_kg_m2(1.0, added_inertia_kg_m2=0.02)
    assert str(refusal.value) == (
        "drag_ratio: with a disc on it the spindle slows more gently, so the ratio is above 1; were the two "
        "runs taken for each other?"
    )


def test_how_long_a_motor_lasts_is_missing_where_either_current_is():
    assert math.isnan(minutes_to_limit(math.nan, continuous_current_a=5.0))
    assert math.isnan(minutes_to_limit(9.0, continuous_current_a=math.nan))
    assert minutes_to_limit(5.0, continuous_current_a=5.0) == math.inf


# --- What the brake's contact may break.

RELAY = "10 A relay of one maker"


def test_a_contact_opens_where_the_brake_current_is_what_its_poles_can_break():
    """At the speed that is found the current through the loop is the one that the data sheet gives."""
    circuit = {"spindle_emf_v_s_per_rad": 0.9, "armature_resistance_ohm": 1.2, "resistor_ohm": 12.0}
    for poles in (1, 2):
        rpm = opening_speed_rpm(**circuit, brush_drop_v=2.0, relay=RELAY, poles=poles)
        volts = 0.9 * RPM * rpm
        breakable_a = dc_breaking_current_a(volts, relay=RELAY, poles=poles)
        assert (volts - 2.0) / 13.2 == pytest.approx(float(breakable_a), rel=1e-6)
    # A large resistor lets so little current through that the end of the data sheet, 220 V, is the limit.
    light = circuit | {"resistor_ohm": 1e4}
    assert opening_speed_rpm(**light, relay=RELAY) == pytest.approx(220 / 0.9 / RPM)
    assert opening_speed_rpm(**light, relay=RELAY, poles=2) == pytest.approx(440 / 0.9 / RPM)
    with pytest.raises(RangeError) as refusal:
        opening_speed_rpm(**circuit | {"resistor_ohm": 0.3}, brush_drop_v=3.0, relay=RELAY)
    assert str(refusal.value) == (
        f"The {RELAY} cannot break this brake current: at 30 V it is 18 A. Open it only at standstill, or "
        "take a contactor made for direct current."
    )
    assert math.isnan(opening_speed_rpm(**circuit | {"resistor_ohm": math.nan}, relay=RELAY))


def test_beyond_a_data_sheet_and_for_an_unknown_relay_nothing_is_guessed():
    for volts in (30.0, 220.0):
        assert dc_breaking_current_a(volts, relay=RELAY) > 0
    for volts, told in ((29.9, "29.9"), (220.1, "220.1"), (np.array([100.0, math.nan, 230.0]), "230")):
        with pytest.raises(RangeError) as refusal:
            dc_breaking_current_a(volts, relay=RELAY)
        assert str(refusal.value) == (
            f"{told} V for each pole is asked for; the data sheet of the {RELAY} goes from 30 to 220 V. "
            "Below that the figure at 30 V holds at least; above it take a contactor made for direct current."
        )
    with pytest.raises(RangeError, match=rf"^There is no relay 'reed' in the table; there are: {RELAY}.*\.$"):
        dc_breaking_current_a(100.0, relay="reed")


def test_too_small_a_wrap_is_refused_with_the_smallest_that_was_asked():
    assert list(arc_factor(np.array([120.0, 135.0, 150.0, 165.0, 180.0]))) == pytest.approx(
        [0.82, 0.87, 0.92, 0.96, 1.0]
    )
    with pytest.raises(RangeError) as refusal:
        arc_factor(np.array([119.0, math.nan, 150.0]))
    assert str(refusal.value) == (
        "wrap_deg is 119; a V belt needs at least 120. Set the shafts farther apart, or take a less unequal "
        "pair of pulleys."
    )
