"""Motor, belt and knob against figures that were published or worked out elsewhere; sources beside each."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import HANDED_OVER, WORKED, Source, by_hand, run_here, source_of
from scipy.integrate import solve_ivp

from machinelab.spindle.back_emf import back_emf_at_load_v_s_per_rad
from machinelab.spindle.belt_grip import belt_speed_m_s
from machinelab.spindle.motor import armature_current_a
from machinelab.spindle.motor_bench import ohmmeter
from machinelab.spindle.motor_heat import continuous_current_a, form_factor
from machinelab.spindle.motor_overload import minutes_to_limit
from machinelab.spindle.motor_regulation import droop_rpm, knob_rpm_per_deg
from machinelab.spindle.motor_temperature import hot_back_emf_v_s_per_rad, hot_resistance_ohm
from machinelab.spindle.pulleys import belt_length_mm, centre_distance_mm, nearly_belt_length_mm, wrap_deg
from machinelab.units import number

ROOM = "spindle"
SUMS = Source(HANDED_OVER, "mean, median and deviation of the published readings, derived", WORKED)

DATA = Path(__file__).parent / "data" / "motor_and_pulleys.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
RAD_S = np.pi / 30


def row(name):
    return ROWS[name]["inputs"], ROWS[name]["expected"]


def test_fifty_published_ohmmeter_readings_are_called_film_and_contact(compare):
    """Lab notes on a university wiki: one motor, random angles of the shaft."""
    inputs, expected = row("A-Ra-ohmmeter")
    found = ohmmeter(inputs["readings"])
    figures = (found.mean_ohm, found.median_ohm, found.sd_ohm)
    compare(
        "fifty ohmmeter readings",
        figures,
        [expected["mean"], expected["median"], expected["sd"]],
        SUMS,
        abs=1e-3,
        unit="ohm",
        each=("mean", "median", "standard deviation"),
    )
    assert (min(inputs["readings"]), max(inputs["readings"])) == (expected["min"], expected["max"])
    assert found.film_dominated
    assert "film and contact dominate" in found.meaning


def test_a_textbook_machine_of_220_volts_makes_215_of_its_own(compare):
    """Textbook exercise with a posted solution: 220 V, 100 A, 0.05 ohm, 970 rpm."""
    inputs, expected = row("A-Ke-1")
    back_emf = back_emf_at_load_v_s_per_rad(
        inputs["rpm"],
        voltage_v=inputs["V"],
        current_a=inputs["I"],
        armature_resistance_ohm=inputs["Ra"],
        brush_drop_v=0.0,
    )
    compare(
        "back EMF of a textbook machine",
        back_emf,
        expected["Ke"],
        Source(HANDED_OVER, "derived from the exercise's 215 V at 970 rpm", WORKED),
        abs=1e-4,
        unit="V s/rad",
    )
    compare(
        "textbook machine's own voltage",
        back_emf * inputs["rpm"] * RAD_S,
        expected["E"],
        source_of(ROWS["A-Ke-1"]),
        abs=1e-9,
        unit="V",
    )


def test_plugging_the_same_machine_wants_the_published_resistance(compare):
    """The same book: supply reversed at 1000 rpm, resistance in series for twice the rated current."""
    inputs, expected = row("A-Ke-2")
    current = armature_current_a(
        -inputs["rpm"],
        supply_v=inputs["V"],
        brush_drop_v=0.0,
        back_emf_v_s_per_rad=inputs["Ke"],
        armature_resistance_ohm=expected["R_ext"] + 0.05,
    )
    compare("current when it is plugged", current, inputs["I"], source_of(ROWS["A-Ke-2"]), rel=1e-3, unit="A")
    compare(
        "torque when it is plugged",
        inputs["Ke"] * current,
        expected["T"],
        source_of(ROWS["A-Ke-2"]),
        abs=0.5,
        unit="N m",
    )


def test_volts_at_a_thousand_turns_are_not_volts_for_each_radian(compare):
    """Derived: 0.657 V s/rad is 68.80 V/krpm and 0.657 N m/A."""
    inputs, expected = row("A-Ke-units")
    compare(
        "volts at a thousand turns in volts for each radian",
        number(f"{expected['V_per_krpm']} V/krpm", "V s/rad"),
        inputs["Ke"],
        source_of(ROWS["A-Ke-units"]),
        rel=1e-4,
        unit="V s/rad",
    )
    compare(
        "newton metres an ampere in volts for each radian",
        number(f"{inputs['Ke']} N m/A", "V s/rad"),
        expected["Kt"],
        source_of(ROWS["A-Ke-units"]),
        rel=1e-6,
        unit="V s/rad",
    )


@pytest.mark.parametrize(("drop_v", "name"), [(0.0, "Ke"), (2.0, "Ke_2V")])
def test_back_emf_from_a_rated_point(compare, drop_v, name):
    """Derived: 180 V, 5 A, 2500 rpm, 1.6 ohm, without and with 2 V lost at the brushes."""
    inputs, expected = row("A-Ke-3")
    found = back_emf_at_load_v_s_per_rad(
        inputs["rpm"],
        voltage_v=inputs["V"],
        current_a=inputs["I"],
        armature_resistance_ohm=inputs["Ra"],
        brush_drop_v=drop_v,
    )
    compare(
        f"back EMF from a rated point, {drop_v} V at the brushes",
        found,
        expected[name],
        source_of(ROWS["A-Ke-3"]),
        abs=1e-4,
        unit="V s/rad",
    )


def test_the_example_motor_droops_116_rpm(compare):
    """Derived: 5 A through 1.6 ohm; gone with full compensation, turned round with more."""
    inputs, expected = row("A-droop")
    motor = {"armature_resistance_ohm": inputs["Ra"], "back_emf_v_s_per_rad": inputs["Ke"]}
    compare(
        "droop of the example motor under 5 A",
        droop_rpm(inputs["dI"], compensation_ohm=0.0, **motor),
        expected["droop_rpm"],
        source_of(ROWS["A-droop"]),
        abs=0.05,
        unit="rpm",
    )
    assert droop_rpm(inputs["dI"], compensation_ohm=inputs["Ra"], **motor) == 0.0
    assert droop_rpm(inputs["dI"], compensation_ohm=1.05 * inputs["Ra"], **motor) < 0.0


def test_form_factors_of_half_sine_and_full_wave(compare):
    """Textbook: 1.5708 and 1.1107."""
    _, expected = row("A-ff-2")
    angle = np.linspace(0, 2 * np.pi, 200_000, endpoint=False)
    half, full = np.maximum(np.sin(angle), 0), np.abs(np.sin(angle))
    compare(
        "form factor of a half sine", form_factor(half), expected["half"], source_of(ROWS["A-ff-2"]), abs=1e-4
    )
    compare(
        "form factor of a full wave", form_factor(full), expected["full"], source_of(ROWS["A-ff-2"]), abs=1e-4
    )
    compare(
        "form factor of direct current",
        form_factor(np.full(10, 3.0)),
        1.0,
        by_hand("mean and rms of a constant are the same"),
        rel=1e-6,
    )


def test_a_form_factor_of_1_40_heats_1_78_times_and_costs_a_quarter_of_the_torque(compare):
    """Derived from torque by the average and heat by the rms current: (1.40/1.05)^2 = 1.778, 1.05/1.40."""
    carried = [
        continuous_current_a(
            4000,
            rated_current_a=6,
            rated_motor_speed_rpm=4000,
            standstill_share=0.35,
            form_factor=factor,
            rated_form_factor=1.05,
        )
        for factor in (1.05, 1.40)
    ]
    compare(
        "current that a form factor of 1.40 leaves",
        carried[1] / carried[0],
        0.75,
        by_hand("1.05 / 1.40"),
        rel=1e-6,
    )
    compare(
        "heat at a form factor of 1.40",
        (carried[0] / carried[1]) ** 2,
        1.778,
        by_hand("(1.40 / 1.05)^2"),
        abs=5e-4,
    )


def test_a_hundred_kelvin_raise_resistance_by_39_percent_and_take_a_fifth_of_the_flux(compare):
    """Textbook coefficients, from memory."""
    inputs, expected = row("A-hot")
    rise = inputs["dT"]
    compare(
        "resistance a hundred kelvin hotter over cold",
        hot_resistance_ohm(1.0, winding_degc=20 + rise),
        expected["Ra_factor"],
        source_of(ROWS["A-hot"]),
        abs=0.005,
    )
    ferrite = hot_back_emf_v_s_per_rad(1.0, magnet_rise_k=rise, flux_loss_per_k=0.002)
    compare(
        "back EMF of ferrite a hundred kelvin hotter over cold",
        ferrite,
        expected["Ke_factor"],
        source_of(ROWS["A-hot"]),
        abs=0.005,
    )


def test_a_published_belt_of_59_inches(compare):
    """Belt formula quoted in a forum: pulleys of 4 in and 3 in, 24 in apart, answer 59."""
    inputs, expected = row("A-belt-1")
    length = belt_length_mm(inputs["C"], motor_pulley_mm=inputs["d"], spindle_pulley_mm=inputs["D"])
    compare("length of a published belt", length, 59.0, source_of(ROWS["A-belt-1"]), abs=0.02, unit="in")
    compare(
        "exact length of a published belt",
        length,
        expected["L"],
        Source(HANDED_OVER, "exact value derived from the published example", WORKED),
        abs=5e-4,
        unit="in",
    )


def test_length_and_wrap_of_a_worked_belt(compare):
    """Derived: 60 mm and 180 mm, 400 mm apart."""
    inputs, expected = row("A-belt-2")
    pulleys = {"motor_pulley_mm": inputs["d"], "spindle_pulley_mm": inputs["D"]}
    compare(
        "length of a belt on 60 and 180 mm",
        belt_length_mm(inputs["C"], **pulleys),
        expected["L_exact"],
        source_of(ROWS["A-belt-2"]),
        abs=0.001,
        unit="mm",
    )
    compare(
        "length by the near formula",
        nearly_belt_length_mm(inputs["C"], **pulleys),
        expected["L_approx"],
        source_of(ROWS["A-belt-2"]),
        abs=0.001,
        unit="mm",
    )
    wrap = wrap_deg(inputs["d"], other_pulley_mm=inputs["D"], centre_distance_mm=inputs["C"])
    compare(
        "wrap on the small pulley",
        wrap,
        expected["wrap_deg"],
        source_of(ROWS["A-belt-2"]),
        abs=0.001,
        unit="deg",
    )


def test_centre_distance_back_from_the_length_and_from_the_closed_rule(compare):
    """Derived; the rule (B + sqrt(B^2 - 32 (D - d)^2)) / 16, B = 4 L - 2 pi (D + d), agrees to 0.02."""
    inputs, expected = row("A-belt-3")
    found = centre_distance_mm(inputs["L"], motor_pulley_mm=inputs["d"], spindle_pulley_mm=inputs["D"])
    compare(
        "centre distance from the length",
        found,
        expected["C"],
        source_of(ROWS["A-belt-3"]),
        abs=0.01,
        unit="mm",
    )
    b = 4 * inputs["L"] - 2 * np.pi * (inputs["D"] + inputs["d"])
    rule = (b + np.sqrt(b**2 - 32 * (inputs["D"] - inputs["d"]) ** 2)) / 16
    compare(
        "centre distance by the closed rule",
        found,
        rule,
        by_hand("(B + sqrt(B^2 - 32 (D - d)^2)) / 16"),
        abs=0.02,
        unit="mm",
        why="the rule is a near one",
    )


def test_belt_speed_of_a_small_pulley(compare):
    """Derived: 60 mm at 3000 rpm."""
    inputs, expected = row("A-belt-v")
    found = belt_speed_m_s(inputs["d_mm"], motor_speed_rpm=inputs["rpm"])
    compare(
        "belt speed of 60 mm at 3000 rpm",
        found,
        expected["v"],
        source_of(ROWS["A-belt-v"]),
        abs=1e-3,
        unit="m/s",
    )


def test_rpm_for_each_degree_of_three_knobs(compare):
    """Derived: 0-2000 rpm over 270 degrees, over ten turns, and a fine knob of 5 %."""
    inputs, expected = row("A-pot-1")
    span = inputs["span"]
    found = [knob_rpm_per_deg(span, turn_angle_deg=angle) for angle in (270, 3600)]
    compare(
        "rpm for a degree of knob",
        found,
        [expected["single"], expected["ten_turn"]],
        source_of(ROWS["A-pot-1"]),
        abs=1e-3,
        unit="rpm/deg",
        each=("one turn", "ten turns"),
    )
    compare(
        "rpm for a degree of a fine knob",
        knob_rpm_per_deg(0.05 * span, turn_angle_deg=270),
        expected["fine"],
        source_of(ROWS["A-pot-1"]),
        abs=1e-3,
        unit="rpm/deg",
    )


def test_one_time_constant_gives_the_textbook_logarithm_of_the_overload(compare):
    """Textbook: t = tau ln(1 / (1 - (I_cont / I)^2)) for a single body."""
    minutes = minutes_to_limit(8, continuous_current_a=5, winding_share=0.0, frame_time_min=30)
    compare(
        "minutes to the limit of one warming body",
        minutes,
        30 * np.log(1 / (1 - (5 / 8) ** 2)),
        by_hand("tau ln(1 / (1 - (I_cont / I)^2)), textbook"),
        rel=1e-9,
        unit="min",
    )


def test_minutes_to_limit_equal_two_warming_bodies_integrated(compare):
    """Two bodies, each warming to its share of the loss, by an ODE solver; a rise of 1 is the limit."""
    share, winding_min, frame_min, load = 0.35, 2.0, 30.0, (9 / 4) ** 2

    def warming(_, rise):
        return [(share * load - rise[0]) / winding_min, ((1 - share) * load - rise[1]) / frame_min]

    def limit(_, rise):
        return sum(rise) - 1

    limit.terminal = True
    stop = solve_ivp(warming, (0, 500), [0, 0], events=limit, rtol=1e-11, atol=1e-12)
    found = minutes_to_limit(
        9, continuous_current_a=4, winding_share=share, winding_time_min=2, frame_time_min=30
    )
    compare(
        "minutes to the limit of two warming bodies",
        found,
        stop.t_events[0][0],
        run_here("two bodies warmed by an ODE solver", "error of the solver"),
        rel=1e-8,
        unit="min",
    )
