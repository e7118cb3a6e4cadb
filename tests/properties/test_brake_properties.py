"""What must hold for every braked stop, whatever the motor, the resistor and the drags."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.spindle.brake import resistor_for_turns, stop
from machinelab.spindle.brake_circuit import brake_time_constant_s, frictionless_turns, peak_brake_current_a
from machinelab.spindle.brake_contact import dc_breaking_current_a, opening_speed_rpm
from machinelab.spindle.brake_design import late_stop, two_stage_stop
from machinelab.spindle.brake_law import (
    braked_deceleration_rad_s2,
    braked_speed_rad_s,
    braked_turns_made,
    two_pieces,
)
from machinelab.spindle.brake_limits import binding_limit
from machinelab.spindle.coast_law import coast_stop_time_s, coast_turns

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

RPM = np.pi / 30
RELAYS = sorted({row["relay"] for row in tables.read("dc_breaking")})


def powers_of_ten(low, high):
    return st.floats(low, high).map(lambda exponent: 10.0**exponent)


speeds = powers_of_ten(1.0, 3.5)
drags = st.fixed_dictionaries(
    {
        "coulomb_rad_s2": powers_of_ten(-2, 1.5),
        "viscous_per_s": st.one_of(st.just(0.0), powers_of_ten(-6, -0.5)),
        "windage_per_rad": st.one_of(st.just(0.0), powers_of_ten(-8, -2)),
    }
)
motors = st.fixed_dictionaries(
    {
        "spindle_emf_v_s_per_rad": powers_of_ten(-1, 0.5),
        "armature_resistance_ohm": powers_of_ten(-1, 1),
        "brush_drop_v": st.one_of(st.just(0.0), st.floats(0.1, 3.0)),
        "inertia_kg_m2": powers_of_ten(-3, 0),
    }
)
resistors = st.one_of(st.just(0.0), powers_of_ten(-1, 2))
brakes = st.fixed_dictionaries(
    {
        "brake_drag_per_s": powers_of_ten(-3, 2),
        "brush_speed_rad_s": st.one_of(st.just(0.0), st.floats(1e-3, 20)),
    }
)
starts = powers_of_ten(0, 2.5)


def cut_at_the_brushes(start, brake, law):
    names = ("coulomb_rad_s2", "viscous_per_s", "windage_per_rad")
    return two_pieces(
        start, brake["brake_drag_per_s"], brake["brush_speed_rad_s"], *(law[name] for name in names)
    )


@given(speeds, motors, resistors, drags)
def test_all_the_energy_ends_as_heat(speed, motor, resistor, law):
    found = stop(speed, resistor_ohm=resistor, **motor, **law)
    parts = (
        found.resistor_energy_j,
        found.armature_energy_j,
        found.brush_energy_j,
        found.friction_energy_j,
    )
    assert all(part >= 0 for part in parts)
    assert sum(parts) == pytest.approx(motor["inertia_kg_m2"] * (speed * RPM) ** 2 / 2, rel=1e-6)


@given(speeds, motors, resistors)
def test_without_friction_and_brushes_the_turns_are_speed_times_time_constant(speed, motor, resistor):
    motor = motor | {"brush_drop_v": 0.0}
    found = stop(speed, resistor_ohm=resistor, coulomb_rad_s2=0.0, **motor)
    tau_s = brake_time_constant_s(
        resistor_ohm=resistor, **{name: one for name, one in motor.items() if name != "brush_drop_v"}
    )
    assert found.turns == pytest.approx(frictionless_turns(speed, brake_time_constant_s=tau_s), rel=1e-9)
    assert found.time_s == np.inf


@given(speeds, motors, drags)
def test_an_infinite_resistor_is_the_free_spindle(speed, motor, law):
    found = stop(speed, resistor_ohm=np.inf, **motor, **law)
    assert found.time_s == pytest.approx(coast_stop_time_s(speed * RPM, **law), rel=1e-7)
    assert found.turns == pytest.approx(coast_turns(speed * RPM, **law), rel=1e-7)
    assert found.peak_current_a == found.resistor_energy_j == found.brush_energy_j == 0


@given(starts, brakes, drags)
@settings(deadline=None)
def test_both_pieces_are_the_integral_of_the_law_even_where_its_textbook_constant_is_negative(
    start, brake, law
):
    run = cut_at_the_brushes(start, brake, law)
    cut = float(run.below_rad_s)

    def slowness(speed):
        return 1 / braked_deceleration_rad_s2(speed, **brake, **law)

    # The braked law has its corner at the cut; decades above it are integrated one by one.
    edges = cut + (start - cut) * np.concatenate([[0], np.logspace(-6, 0, 13)])
    pieces = list(pairwise(edges))
    braked_s = sum(quad(slowness, *edge, epsabs=0, epsrel=1e-11)[0] for edge in pieces)
    angle = sum(quad(lambda w: w * slowness(w), *edge, epsabs=0, epsrel=1e-11)[0] for edge in pieces)
    assert run.braked_s == pytest.approx(braked_s, rel=1e-8, abs=1e-12)
    assert run.braked_turns == pytest.approx(angle / (2 * np.pi), rel=1e-8, abs=1e-12)
    assert run.tail_s == pytest.approx(coast_stop_time_s(cut, **law))


@given(starts, brakes, drags, st.floats(0.01, 0.99))
def test_a_braked_run_cut_in_two_makes_the_same_turns(start, brake, law, share):
    run = cut_at_the_brushes(start, brake, law)
    total_s, all_turns = run.braked_s + run.tail_s, run.braked_turns + run.tail_turns
    moment = share * total_s
    speed = braked_speed_rad_s(moment, start_speed_rad_s=start, **brake, **law)
    assume(speed > 1e-6 * start)
    made = braked_turns_made(moment, start_speed_rad_s=start, **brake, **law)
    rest = cut_at_the_brushes(speed, brake, law)
    assert made + rest.braked_turns + rest.tail_turns == pytest.approx(all_turns, rel=1e-6)
    assert moment + rest.braked_s + rest.tail_s == pytest.approx(total_s, rel=1e-6)


@given(starts, brakes, drags)
def test_the_braked_spindle_slows_all_the_way_and_then_stands(start, brake, law):
    run = cut_at_the_brushes(start, brake, law)
    times = float(run.braked_s + run.tail_s) * np.linspace(-0.2, 1.3, 60)
    down = braked_speed_rad_s(times, start_speed_rad_s=start, **brake, **law)
    assert np.all(np.diff(down) <= 1e-9 * start)
    assert np.all(down[times <= 0] == pytest.approx(start))
    assert np.all(np.abs(down[times > 1.0001 * float(run.braked_s + run.tail_s)]) < 1e-7 * start)


@given(speeds, motors, st.lists(powers_of_ten(-1, 3), min_size=2, max_size=6), drags)
def test_a_larger_resistor_never_stops_it_sooner_and_never_draws_more(speed, motor, ohms, law):
    found = stop(speed, resistor_ohm=np.sort(ohms), **motor, **law)
    assert np.all(np.diff(found.turns) >= -1e-9 * found.turns[1:])
    assert np.all(np.diff(found.time_s) >= -1e-9 * found.time_s[1:])
    assert np.all(np.diff(found.peak_current_a) <= 0)


@given(speeds, motors, drags, st.floats(0.02, 0.98))
@settings(deadline=None)
def test_the_resistor_for_some_turns_gives_those_turns(speed, motor, law, share):
    least = float(stop(speed, resistor_ohm=0.0, **motor, **law).turns)
    free = float(coast_turns(speed * RPM, **law))
    assume(free > 1.05 * least)
    wanted = least + share * (free - least)
    resistor = resistor_for_turns(wanted, speed, **motor, **law)
    assert stop(speed, resistor_ohm=resistor, **motor, **law).turns == pytest.approx(wanted, rel=1e-6)
    with pytest.raises(RangeError, match="No resistor stops it"):
        resistor_for_turns(0.98 * least, speed, **motor, **law)
    with pytest.raises(RangeError, match="No brake is needed"):
        resistor_for_turns(1.02 * free, speed, **motor, **law)


@given(speeds, motors, powers_of_ten(-0.5, 2), drags, st.floats(0, 2))
def test_a_late_contact_only_adds_time_and_turns(speed, motor, resistor, law, delay_s):
    prompt = stop(speed, resistor_ohm=resistor, **motor, **law)
    late = late_stop(speed, contact_delay_s=delay_s, resistor_ohm=resistor, **motor, **law)
    assert late.turns >= prompt.turns * (1 - 1e-9)
    assert late.turns <= prompt.turns + speed / 60 * delay_s * (1 + 1e-9)
    assert late.peak_current_a <= prompt.peak_current_a
    assert late.time_s <= coast_stop_time_s(speed * RPM, **law) * (1 + 1e-9)


@given(speeds, motors, powers_of_ten(0, 2), st.floats(0, 1), drags)
def test_two_stages_lie_between_one_stage_and_the_ideal(speed, motor, resistor, share, law):
    assume(speed * RPM * motor["spindle_emf_v_s_per_rad"] > 1.5 * motor["brush_drop_v"])
    one = stop(speed, resistor_ohm=resistor, **motor, **law)
    two = two_stage_stop(speed, resistor_ohm=resistor, second_resistor_ohm=share * resistor, **motor, **law)
    assert two.ideal_turns <= two.turns * (1 + 1e-9)
    assert two.turns <= one.turns * (1 + 1e-9)
    assert two.time_s <= one.time_s * (1 + 1e-9)


def test_a_second_resistor_that_is_larger_is_refused_in_words():
    with pytest.raises(RangeError, match="Swap them"):
        two_stage_stop(
            900, resistor_ohm=5.0, second_resistor_ohm=6.0, spindle_emf_v_s_per_rad=0.9,
            armature_resistance_ohm=1.0, inertia_kg_m2=0.05, coulomb_rad_s2=3.0,
        )  # fmt: skip


@given(st.sampled_from(RELAYS), st.floats(0, 1), st.integers(1, 3))
def test_breaking_capacity_lies_on_straight_lines_in_logarithms(relay, share, poles):
    rows = [row for row in tables.read("dc_breaking") if row["relay"] == relay]
    points = [(float(row["voltage_v"]), float(row["current_a"])) for row in rows]
    for (low_v, low_a), (high_v, high_a) in pairwise(points):
        voltage = min(max(low_v * (high_v / low_v) ** share, low_v), high_v)
        wanted = low_a * (high_a / low_a) ** share
        found = dc_breaking_current_a(poles * voltage, relay=relay, poles=poles)
        assert found == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("relay", RELAYS)
@pytest.mark.parametrize("voltage", [29.9, 220.1, 0.0])
def test_breaking_capacity_is_never_guessed_beyond_the_data_sheet(relay, voltage):
    with pytest.raises(RangeError, match="from 30 to 220 V"):
        dc_breaking_current_a(voltage, relay=relay)


def test_an_unknown_relay_is_refused_with_those_there_are():
    with pytest.raises(RangeError, match="8 A relay"):
        dc_breaking_current_a(60, relay="mine")


@given(st.sampled_from(RELAYS), st.floats(0.3, 2.0), st.floats(6, 60), st.floats(0, 2.5))
def test_at_the_opening_speed_the_current_is_what_the_contact_can_break(relay, emf, resistor, drop):
    ohms = {"armature_resistance_ohm": 1.2, "resistor_ohm": resistor}
    speed = opening_speed_rpm(spindle_emf_v_s_per_rad=emf, brush_drop_v=drop, relay=relay, **ohms)
    current = peak_brake_current_a(speed, spindle_emf_v_s_per_rad=emf, brush_drop_v=drop, **ohms)
    assert dc_breaking_current_a(emf * speed * RPM, relay=relay) == pytest.approx(current, rel=1e-6)


def test_a_current_that_no_relay_breaks_even_at_its_lowest_voltage_is_said_so():
    with pytest.raises(RangeError, match="only at standstill"):
        opening_speed_rpm(
            spindle_emf_v_s_per_rad=0.9, armature_resistance_ohm=0.5, resistor_ohm=1.0, relay="8 A relay"
        )


@given(st.dictionaries(st.text(min_size=1), st.floats(0.1, 100) | st.just(float("nan"))))
def test_the_binding_limit_is_the_least_of_the_known_ones(limits):
    known = [limit for limit in limits.values() if not np.isnan(limit)]
    found = binding_limit(limits)
    assert (found is None) == (not known)
    if known:
        assert found.limit_a == min(known)
        assert limits[found.concern] == found.limit_a


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("spindle_emf_v_s_per_rad", 0.0),
        ("armature_resistance_ohm", -1.0),
        ("resistor_ohm", -0.1),
        ("brush_drop_v", -2.0),
        ("inertia_kg_m2", 0.0),
    ],
)
def test_a_number_out_of_range_is_refused_by_its_name(field, wrong):
    inputs = {
        "spindle_emf_v_s_per_rad": 0.9,
        "armature_resistance_ohm": 1.0,
        "resistor_ohm": 10.0,
        "brush_drop_v": 2.0,
        "inertia_kg_m2": 0.05,
        "coulomb_rad_s2": 3.0,
    }
    with pytest.raises(RangeError, match=field):
        stop(900, **(inputs | {field: wrong}))
    with pytest.raises(RangeError, match="start_speed_rpm"):
        stop(-1.0, **inputs)
