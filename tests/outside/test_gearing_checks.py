"""Leadscrew gearing against published worked examples and hand calculations; the data name each source."""

import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from inspection.source import EXAMPLE, MEMORY, Source, by_hand, source_of

from machinelab.leadscrew.gearing import (
    change_gears,
    nearest_ratio,
    pitch_error_ppm,
    screw_steps,
    steps_per_count,
)
from machinelab.leadscrew.geartrain import driven_teeth, geared_train_ratio, train_ratio
from machinelab.leadscrew.lead import (
    INCH_MM,
    diametral_pitch_lead_mm,
    module_lead_mm,
    pitch_lead_mm,
    tpi_lead_mm,
)
from machinelab.leadscrew.lead_accuracy import (
    compare_with_screw,
    pitch_diameter_equivalent_mm,
    screw_error_ppm,
    slip_length_mm,
    thermal_growth_mm,
)
from machinelab.leadscrew.screw_drive import (
    motor_turns_per_screw_turn,
    position_quantum_mm,
    steps_per_screw_turn,
    steps_per_spindle_turn,
)
from machinelab.leadscrew.step_pattern import (
    pattern_frequency_hz,
    ratio_cautions,
    rounding_error_steps,
    turns_before_overflow,
)
from machinelab.tables import read

ROOM = "leadscrew"
NUMBER_THEORY = Source(EXAMPLE, "series of best fractions for pi, textbooks of number theory", MEMORY)

DATA = Path(__file__).parent / "data" / "motion_a_c.json"
CHECKS = {check["id"]: check for check in json.loads(DATA.read_text(encoding="utf-8"))}


def inputs(check: str) -> dict:
    return CHECKS[check]["inputs"]


def expected(check: str):
    return CHECKS[check]["expected"]


@pytest.mark.parametrize("check", ["A01", "A02", "A03", "A05"])
def test_the_ratio_is_the_exact_fraction_worked_out_by_hand(compare, check):
    given = inputs(check)
    steps = steps_per_screw_turn(given["full_steps"], given["microstep"], given["motor_revs_per_screw_rev"])
    counts = given["counts_per_encoder_rev"] * Fraction(given["encoder_revs_per_spindle_rev"])
    ratio = steps_per_count(Fraction(given["lead_mm"]), Fraction(given["screw_lead_mm"]), steps, counts)
    compare.row(CHECKS[check], ratio.as_integer_ratio())


def test_an_inch_is_exactly_127_fifths_of_a_millimetre(compare):
    compare.row(CHECKS["A08"], INCH_MM.as_integer_ratio())


def test_eight_tpi_is_exactly_127_fortieths_of_a_millimetre():
    assert tpi_lead_mm(8) == Fraction(127, 40)


@pytest.mark.parametrize("check", ["A09", "A10", "A11", "A12", "A13"])
def test_the_textbook_stand_ins_for_pi_are_out_by_the_textbook_ppm(compare, check):
    fraction = Fraction(inputs(check)["p"], inputs(check)["q"])
    compare.row(CHECKS[check], pitch_error_ppm(fraction, math.pi), unit="ppm")


def test_widening_limits_find_the_best_fractions_for_pi_one_after_another(compare):
    # Series of best fractions for pi: textbooks of number theory, from memory. Most are no convergents.
    found = dict.fromkeys(nearest_ratio(math.pi, limit, limit) for limit in range(3, 400))
    compare("best fractions for pi under widening limits", [str(one) for one in found], [
        "3", "13/4", "16/5", "19/6", "22/7", "179/57", "201/64", "223/71", "245/78", "267/85", "289/92",
        "311/99", "333/106", "355/113",
    ], NUMBER_THEORY)  # fmt: skip
    compare(
        "best fraction for pi up to 52163",
        nearest_ratio(math.pi, 52163, 52162),
        Fraction(52163, 16604),
        NUMBER_THEORY,
    )


def test_a_worm_of_module_one_gets_the_best_fraction_within_255(compare):
    wanted = steps_per_count(module_lead_mm(1), 3, 3200, 4000)
    assert float(wanted) == pytest.approx(inputs("A14")["target"], rel=1e-15)
    used = nearest_ratio(wanted, inputs("A14")["bound"], inputs("A14")["bound"])
    compare.row(CHECKS["A14"], used.as_integer_ratio())
    compare.row(CHECKS["A17"], pitch_error_ppm(used, wanted), unit="ppm")


def test_a_controller_without_room_for_127_gets_the_best_fraction_within_100(compare):
    used = nearest_ratio(Fraction(inputs("A18")["target"]), inputs("A18")["bound"], inputs("A18")["bound"])
    compare.row(CHECKS["A18"], used.as_integer_ratio())
    compare.row(CHECKS["A19"], pitch_error_ppm(used, Fraction(inputs("A19")["target"])), unit="ppm")


def test_a_limit_on_the_denominator_alone_breaks_the_limit_on_the_numerator():
    target, bound = inputs("A21")["target"], inputs("A21")["bound"]
    assert Fraction(target).limit_denominator(bound).as_integer_ratio() == tuple(expected("A21"))
    assert nearest_ratio(target, bound, bound).numerator <= bound


def test_the_rounding_stays_within_half_a_step_and_reaches_the_range_simulated(compare):
    errors = rounding_error_steps(np.arange(-4000, 4001), Fraction(inputs("A22")["p"], inputs("A22")["q"]))
    compare.row(CHECKS["A22"], [errors.min(), errors.max()], unit="step", each=("lowest", "highest"))


def test_truncation_toward_zero_would_make_a_dead_zone_and_the_floor_does_not(compare):
    counts = np.arange(-6, 7)
    p, q = inputs("A23")["p"], inputs("A23")["q"]
    assert [int(p * count / q) for count in counts.tolist()] == expected("A23")
    compare.row(CHECKS["A24"], screw_steps(counts, Fraction(p, q)).tolist(), unit="step")


def test_a_ratio_keyed_with_four_decimals_is_out_by_98_ppm(compare):
    compare.row(
        CHECKS["A25"], pitch_error_ppm(inputs("A25")["used"], Fraction(inputs("A25")["exact"])), unit="ppm"
    )


def test_a_short_float_loses_the_count_that_a_whole_number_keeps():
    count = inputs("A26")["count"]
    assert int(np.float32(count)) == expected("A26")
    assert screw_steps(count, 1) == count


def test_one_step_moves_the_carriage_by_less_than_a_micrometre(compare):
    compare.row(
        CHECKS["A27"],
        float(position_quantum_mm(inputs("A27")["screw_lead_mm"], inputs("A27")["steps"])),
        unit="mm",
    )


def test_the_pattern_of_127_in_375_repeats_18_times_a_second_at_100_rpm(compare):
    compare(
        "how often the pattern of 127/375 repeats at 100 rpm",
        pattern_frequency_hz(100, 4000, Fraction(127, 375)),
        17.8,
        by_hand("100 / 60 x 4000 / 375"),
        abs=0.05,
        unit="Hz",
    )


def test_a_32_bit_product_overflows_after_2114_turns(compare):
    turns = turns_before_overflow(Fraction(127, 375), 4000)
    compare(
        "turns until a 32-bit product overflows",
        round(turns),
        2114,
        by_hand("2^31 over 2 x 127 x 4000"),
        unit="turn",
    )
    count = math.ceil(turns * 4000)
    assert 2 * 127 * (count - 1) < 2**31 <= 2 * 127 * count


def test_three_millimetres_on_a_screw_constant_of_six_needs_90_to_127(compare):
    ratio = train_ratio(inputs("A30")["lead_mm"], tpi_lead_mm(inputs("A30")["constant_tpi"]))
    compare.row(CHECKS["A30"], ratio.as_integer_ratio())


@pytest.mark.parametrize("check", ["A32", "A33", "A34", "A35", "A37"])
def test_the_driven_gear_is_the_one_in_the_old_books(compare, check):
    given, teeth = inputs(check), expected(check)
    ratio = train_ratio(tpi_lead_mm(Fraction(given["tpi"])), tpi_lead_mm(Fraction(given["screw_tpi"])))
    drivers = given["driver"] if isinstance(given["driver"], list) else [given["driver"]]
    wanted = [Fraction(*teeth)] if check == "A35" else teeth if isinstance(teeth, list) else [teeth]
    compare(
        f"driven gear for {given['tpi']} tpi on a screw of {given['screw_tpi']} tpi",
        [driven_teeth(driver, ratio) for driver in drivers],
        wanted,
        source_of(CHECKS[check]),
        unit="tooth",
    )


def test_a_gear_of_25_and_five_ninths_teeth_is_refused_and_two_pairs_solve_it():
    ratio = train_ratio(tpi_lead_mm(Fraction(23, 10)), tpi_lead_mm(Fraction(9, 5)))
    assert change_gears(ratio, [20, 24, 30, 40, 46, 50, 60], pairs=1) == []
    trains = change_gears(ratio, [20, 24, 30, 40, 46, 50, 60], pairs=2)
    assert trains
    assert {train.ratio for train in trains} == {Fraction(18, 23)}


def test_120_to_127_turns_an_inch_screw_of_8_tpi_into_3_mm_and_back(compare):
    train = Fraction(inputs("A39")["train"])
    compare.row(CHECKS["A39"], (tpi_lead_mm(inputs("A39")["screw_tpi"]) * train).as_integer_ratio())
    assert 3 / train == tpi_lead_mm(8)


def test_a_twentieth_of_an_inch_on_a_metric_screw_slips_a_turn_in_23_inches(compare):
    slip = slip_length_mm(Fraction(inputs("A40")["a_mm"]), Fraction(inputs("A40")["b_mm"]))
    compare.row(CHECKS["A40"], float(slip / INCH_MM), unit="in")


def test_the_college_exercises_give_their_ratios(compare):
    metric, metric_2, inch = inputs("A42")["cases"]
    ratios = [
        train_ratio(metric["lead_mm"], metric["screw_mm"]),
        train_ratio(Fraction(str(metric_2["lead_mm"])), metric_2["screw_mm"]),
        train_ratio(tpi_lead_mm(inch["tpi"]), tpi_lead_mm(inch["screw_tpi"])),
    ]
    compare(
        "ratios of college exercises",
        ratios,
        [Fraction(one) for one in expected("A42")],
        source_of(CHECKS["A42"]),
    )


@pytest.mark.parametrize("check", ["A44", "A45", "A46"])
def test_the_usual_stand_ins_for_127_are_out_by_the_usual_ppm(compare, check):
    used = Fraction(inputs(check)["p"], inputs(check)["q"])
    compare.row(CHECKS[check], pitch_error_ppm(used, Fraction(127, 100)), unit="ppm")


def test_the_electronic_ratio_and_the_change_gears_cut_the_same_thread(compare):
    given = inputs("A47")
    electronic = geared_train_ratio(Fraction(given["r"]), given["C"] * given["rho"], given["steps"])
    compare.row(CHECKS["A47"], electronic.as_integer_ratio())
    assert electronic == train_ratio(Fraction(3, 2), tpi_lead_mm(8))


def test_133_ppm_over_18_mm_uses_up_four_micrometres_of_pitch_diameter(compare):
    given = inputs("A56")
    compare.row(CHECKS["A56"], 1000 * pitch_diameter_equivalent_mm(given["ppm"], given["Le_mm"]), unit="um")


def test_a_whitworth_thread_pays_1_921_times_the_pitch_error(compare):
    # cot(27.5 degrees), textbooks of thread metrology (from memory); the source prints four digits
    paid = pitch_diameter_equivalent_mm(1_000_000, 1, included_angle_deg=55)
    compare(
        "pitch diameter that a Whitworth thread pays for an error of pitch",
        paid,
        1.921,
        Source(EXAMPLE, "textbooks of thread metrology: cot 27.5 degrees", MEMORY),
        abs=5e-4,
    )


def test_ten_kelvin_lengthen_300_mm_of_steel_by_34_micrometres_and_that_is_115_ppm(compare):
    given = inputs("A58")
    growth = thermal_growth_mm(given["length_mm"], given["dT_K"], given["alpha_per_K"])
    compare.row(CHECKS["A58"], 1000 * growth, unit="um")
    compare(
        "growth of steel by ten kelvin over its length",
        1e6 * growth / given["length_mm"],
        115,
        by_hand("11.5e-6 times ten kelvin"),
        rel=1e-6,
        unit="ppm",
    )


def test_46_ppm_do_not_matter_beside_a_rolled_screw_but_matter_beside_a_lathe_leadscrew(compare):
    errors = {row["screw"]: screw_error_ppm(float(row["travel_error_um"]), float(row["over_mm"]))
              for row in read("leadscrews")}  # fmt: skip
    rolled = compare_with_screw(-46.2457, errors["rolled trapezoidal or Acme as usually bought"])
    lathe = compare_with_screw(-46.2457, errors["general lathe leadscrew"])
    assert rolled.screw_is_limit
    assert not lathe.screw_is_limit
    compare(
        "a ratio 46 ppm off beside a lathe leadscrew",
        lathe.error_share,
        46.2457 / 133.3333,
        by_hand("46.2457 over 133.3333"),
        rel=1e-5,
    )


def test_the_demo_machine_cuts_26_tpi_with_whole_numbers_below_128(compare):
    # invented demo machine: 8 tpi screw, 200 full steps of 8, 24:60 teeth, 600 lines on 36:32 teeth
    steps = steps_per_screw_turn(200, 8, motor_turns_per_screw_turn(24, 60))
    ratio = steps_per_count(tpi_lead_mm(26), tpi_lead_mm(8), steps, 2700)
    compare(
        "steps a count for 26 tpi on the demo machine",
        ratio,
        Fraction(8, 26) * Fraction(4000, 2700),
        by_hand("8/26 of 4000 steps over 2700 counts"),
    )
    compare(
        "steps a turn for 26 tpi on the demo machine",
        steps_per_spindle_turn(ratio, 2700),
        Fraction(8 * 4000, 26),
        by_hand("8 x 4000 / 26"),
        unit="step",
    )
    assert ratio.denominator == 351


def test_a_worm_of_diametral_pitch_25_4_is_a_worm_of_module_one():
    assert diametral_pitch_lead_mm(Fraction(127, 5)) == module_lead_mm(1)


def test_a_two_start_thread_is_geared_for_its_lead():
    assert pitch_lead_mm(Fraction(3, 2), 2) == 3
    assert tpi_lead_mm(16, 2) == tpi_lead_mm(8)


@pytest.mark.parametrize(
    ("ratio", "microsteps", "concerns"),
    [
        (Fraction(2, 5), 8, []),
        (Fraction(1, 2), 8, []),
        (Fraction(3, 5), 8, ["uneven steps"]),
        (Fraction(1), 8, ["uneven steps"]),
        (Fraction(3, 2), 8, ["bursts"]),
        (Fraction(-3, 2), 4, ["bursts", "coarse microsteps"]),
        (Fraction(48, 127), 8, ["inch and metric"]),
        (Fraction(254, 375), 2, ["uneven steps", "coarse microsteps", "inch and metric"]),
    ],
)
def test_a_ratio_is_warned_of_where_its_steps_do_not_run_evenly(ratio, microsteps, concerns):
    assert [caution.concern for caution in ratio_cautions(ratio, microsteps)] == concerns
