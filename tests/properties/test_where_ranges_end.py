"""Where each calculation stops to mean anything: the last that it takes, and the first that it refuses.

The ends are those that the calculations' own sections "Range" and "Raises" name. Whatever is not said here is
as in the calculation's own example.
"""

import re
from fractions import Fraction
from math import inf, nan, nextafter

import numpy as np
import pytest
from physics_rooms import example_inputs, public_functions

from machinelab.accuracy.mark_ranking import telling_test
from machinelab.accuracy.marks import DriveElement
from machinelab.errors import RangeError
from machinelab.work.holding import held_bar

FUNCTIONS = {function.__name__: function for function in public_functions()}
TURN = list(range(0, 360, 30))


def after(value: float) -> float:
    return nextafter(value, inf)


def before(value: float) -> float:
    return nextafter(value, -inf)


def of(count: int) -> np.ndarray:
    return np.arange(count, dtype=float)


# The calculation, what is changed, the last that is taken, the first that is refused, and what is told then.
ENDS = [
    # Sizes that fit into each other.
    ("tap_drill_mm", "thread_height_mm", before(10 / 1.54), 10 / 1.54, "higher than the bolt is thick"),
    ("minor_diameter_mm", "thread_depth_mm", before(5), 5, "deeper than the blank is thick"),
    ("full_form_depth_mm", "minor_diameter_mm", before(10.1), 10.1, "nothing is left to cut"),
    ("thread_depth_mm", "pitch_diameter_mm", 11.299, 11.2991, "too blunt for the thread"),
    ("infeed_schedule", "last_cut_mm", 0.92, 0.9201, "is 0.9201, more than the whole depth of 0.92 mm"),
    ("mean_screw_diameter_mm", "thread_depth_mm", before(20), 20, "mean_screw_diameter_mm is 0; it must be"),
    ("bending_taper_mm", "far_mm", after(0), 0, "beyond the near one at 0 mm"),
    ("second_moment_mm4", "bore_mm", before(20), 20, "less than the diameter, 20 mm"),
    ("drilling", "pilot_mm", before(10), 10, "nothing is left to cut"),
    ("milling", "width_mm", 10, after(10), "width_mm is 10, more than the cutter's 10 mm"),
    ("peak_chip_mm", "width_mm", 10, 10.1, "width_mm is 10.1, more than the cutter's 10 mm"),
    ("dish_mm", "cut_width_mm", 50, 50.1, "cannot be wider than the cutter, 50 mm"),
    (
        "peak_to_valley_um",
        "feed_mm",
        0.8,
        0.81,
        "twice the nose radius of 0.4 mm; the nose leaves gaps. Type a",
    ),
    ("finger_travel_mm", "smallest_mm", 60, 60.1, "largest_mm is 60, less than the thinnest, 60.1"),
    ("walk_out_bend_mm", "place_mm", 250, after(250), "between chuck and steady rest"),
    ("walk_out_bend_mm", "place_mm", 0, -1e-9, "between chuck and steady rest"),
    ("tool_deflection_mm", "at_mm", [0, 300], [-0.1], "off the bar, which is 300 mm long"),
    ("tool_deflection_mm", "at_mm", [300], [300.1], "off the bar, which is 300 mm long"),
    ("best_steady_mm", "cut_from_mm", before(300), 300, "from 300 to 300 mm does not lie on the bar of 300"),
    ("best_steady_mm", "cut_to_mm", 300, 300.1, "from 0 to 300.1 mm does not lie on the bar of 300 mm"),
    # Angles.
    ("half_angle_rad", "included_angle_deg", before(180), 180, "is 180; type the whole angle"),
    ("pitch_diameter_equivalent_mm", "included_angle_deg", 1e-9, 0, "is 0; type the whole angle"),
    ("pitch_diameter_equivalent_mm", "included_angle_deg", before(180), 180, "is 180; type the whole angle"),
    ("compound_travel_mm", "compound_angle_deg", 30, 30.01, r"is 30.01, more than half .* \(30\)"),
    ("start_shift_mm", "compound_angle_deg", 30, 30.01, r"is 30.01, more than half .* \(30\)"),
    ("lead_angle_correction_mm", "lead_angle_deg", before(90), 90, "is 90; it must be below 90"),
    ("lever_over_reading", "lever_angle_deg", 60, after(60), "flatter, within 60 degrees"),
    ("lever_over_reading", "lever_angle_deg", -60, before(-60), "flatter, within 60 degrees"),
    ("seat_rise_mm", "roller_from_bottom_deg", 5, before(5), "rollers carry from 5 to 85 degrees"),
    ("seat_rise_mm", "roller_from_bottom_deg", 85, after(85), "rollers carry from 5 to 85 degrees"),
    ("axis_shift_mm", "finger_deg", [120, 297], [120, 298], "do not stand in one line"),
    # Shares.
    ("crash_chance", "crash_share", 1, after(1), "a share is from 0 to 1"),
    ("following_lag_mm", "torque_share", 1, 1.1, "is 1.1: more is asked than the stepper gives"),
    ("sagged_feed_mm", "sag_share", before(1), 1, "is 1: the spindle would stand"),
    ("settling_time_s", "share_left", 1, after(1), "before the wait all is missing, which is 1"),
    ("wiper_share", "turned_share", 1, after(1), "is 1; a knob fully up is 1"),
    ("sampling_speed_limit_rpm", "edge_share", 1, after(1), "the shortest edge is at most the average one"),
    ("even_knob_mm_min", "turned_share", 1, 1.1, "is 1.1; a knob fully up is 1"),
    ("ratio_knob_mm_min", "dead_band_share", before(1), 1, "dead_band_share is 1; type less than 1"),
    ("bow_growth", "whip_share", before(1), 1, "is 1; at the critical speed itself nothing bounds the bow"),
    ("highest_speed_rpm", "clear_share", 1, 1.1, "is 1.1; it must be more than 0 and at most 1"),
    ("highest_speed_rpm", "clear_share", 1e-9, 0, "is 0; it must be more than 0 and at most 1"),
    ("trimmed_lead_mm", "lead_error_ppm", 10_000, 10_001, "is 10001; no screw is a hundredth out"),
    ("trimmed_lead_mm", "lead_error_ppm", -10_000, -10_001, "is -10001; no screw is a hundredth out"),
    # Speeds.
    ("catch_up", "highest_travel_mm_s", after(10), 10, "is 10; it must be above the 10 mm/s of the thread"),
    ("lowest_limit", "limits", {"a": 0.0}, {"a": -0.1}, "below zero"),
    ("lowest_limit", "limits", {"a": 1.0}, [1.0], r"limits is \[1.0\]; give spindle speeds by what sets"),
    # How much must be read.
    ("groove_spread", "grooves_mm", [1.0], [], "empty"),
    ("reversal_um", "forward_um", [0, 2], [0], "1 readings forward and 3 backward; take at least two"),
    ("reversal_um", "backward_um", [0, 2], [0], "3 readings forward and 1 backward; take at least two"),
    ("own_reactions_s", "own_stops_s", of(10), [*of(9), nan], "There are 9 stops; make 10 at least"),
    ("slop", "force_n", [80, 90, 100], [81, 90, 100], "Forces of 81, 90, 100 N give only the sum"),
    ("slop", "force_n", [1, 40, 60], [0, 40, 60], "zero or less; give the size of push and pull"),
    ("tram", "angle_deg", [0, 90, 180, 270], [0, 30, 180, 190], "4 readings do not go round the sweep"),
    ("runout", "angle_deg", TURN, [*TURN[:-3], 272, 274, 276], "gap of 84 .* every 60 degrees all round"),
    ("chuck_stiffness", "overhangs_mm", [90, 90, 120, 120], [91, 91, 120, 120], "cannot tell how the bar"),
    ("proven_force_n", "at_mm", [20, 60, 100], [60, 60, 60], "gives alike at all these places"),
    # Counts.
    ("change_gears", "pairs", 3, 4, "pairs is 4; a train of more than 3 pairs is not searched"),
    ("change_gears", "gears", [8, 16], [7, 16], "gears is 7; it must be at least 8"),
    ("runout", "lobes", 4, 8, "lobes is 8; a dial read by hand tells up to"),
    ("copied_share", "lobes", [2], [1], "an oval has 2, and up to"),
    ("lobes_left_share", "lobes", [2, 3], [1, 3], "an oval has 2, and up to"),
    ("own_reactions_s", "draws", 1, 0, "draws is 0; it must be at least 1"),
    ("best_steady_mm", "places", 1, 0, "places is 0; it must be at least 1"),
    ("turns_before_overflow", "word_bits", 8, 7, "word_bits is 7; it must be at least 8"),
    ("screw_steps", "count", [1, 2], [1.0, 2.0], "type encoder counts without a decimal point"),
    ("nearest_ratio", "ratio", 0.5, inf, "ratio is inf; type a finite number"),
    ("slip_length_mm", "wanted_lead_mm", Fraction(1), Fraction(14, 11), "both 14/11: the threads never part"),
    # Names.
    ("standard_groove_mm", "groove", "short", "long", "no groove 'long'; there are: regular, short"),
    ("cutting_speed", "operation", "reaming", "singing", "knows no operation 'singing'. It knows: "),
    ("rank_suspects", "answers", {"turns loose": None}, {"sings": True}, "no test 'sings'; the tests are "),
]


@pytest.mark.parametrize(
    ("name", "changed", "taken", "refused", "told"), ENDS, ids=[f"{row[0]}-{row[1]}-{row[3]}" for row in ENDS]
)
def test_the_last_of_a_range_is_taken_and_the_next_refused(name, changed, taken, refused, told):
    inputs = example_inputs(FUNCTIONS[name])
    FUNCTIONS[name](**(inputs | {changed: taken}))
    with pytest.raises(RangeError, match=told) as refusal:
        FUNCTIONS[name](**(inputs | {changed: refused}))
    assert re.fullmatch(r"([A-Z]|\d+ |\w+_\w+ |\w+ is )[^X]*\.", str(refusal.value))


def test_a_steady_rest_stands_between_the_ends_of_the_bar():
    held = {"bar_diameter_mm": 20, "overhang_mm": 300}
    for share in (0.001, 0.999):
        assert held_bar("chuck and steady rest", steady_share=share, **held).supports[1].position_mm == (
            pytest.approx(300 * share)
        )
    for share in (0, 1, -0.2, 1.2):
        with pytest.raises(RangeError, match=f"stands at {share} of the length; it must stand between"):
            held_bar("chuck and steady rest", steady_share=share, **held)


def test_a_telling_test_needs_two_candidates_and_something_to_change():
    pulley, screw = DriveElement("pulley", "spindle", 0.5), DriveElement("screw", "screw", 1.0)
    cut = {"feed_mm": 0.1, "speed_rpm": 300, "screw_lead_mm": 3.0, "feeds_mm": []}
    assert telling_test([pulley, screw], speeds_rpm=[400], **cut).speed_rpm == 400
    with pytest.raises(RangeError, match=r"^There is nothing to tell apart: give at least two candidates\.$"):
        telling_test([screw], speeds_rpm=[400], **cut)
    with pytest.raises(RangeError, match=r"^There is no other feed or speed to choose .* at least one\.$"):
        telling_test([pulley, screw], speeds_rpm=[], **cut)
