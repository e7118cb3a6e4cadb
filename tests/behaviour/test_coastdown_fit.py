"""The coast-down fit on logs as people have them: truth found, doubts told, nonsense refused."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from simulate.coast_log import RPM, Display, Truth, a_machine, write_log
from simulate.pulse_log import write_counts, write_pulses

from machinelab.errors import LogError, RangeError
from machinelab.spindle.coast_inertia import inertia_from_disc
from machinelab.spindle.coastdown import fit
from machinelab.spindle.speed_meter import Meter
from machinelab.workbook import speed_log

MACHINE = Truth(1200, 3.0, 0.02, 1e-4)


def a_log(display=Display(), seed=1, truth=MACHINE, **ending):  # noqa: B008 - Display is frozen
    time_s, speed_rpm = write_log(truth, display, seed, **ending)
    return SimpleNamespace(time_s=time_s, speed_rpm=speed_rpm)


def holds(estimate, truth):
    return estimate.interval[0] <= truth <= estimate.interval[1]


def test_an_awkward_file_gives_the_stop_time_within_two_percent_and_its_interval_holds_the_truth(tmp_path):
    """Semicolons, decimal commas, a lagging held display, two doubled readings, drive on at first."""
    time_s, speed_rpm = write_log(MACHINE, Display(glitches=0.0), seed=11)
    coasting = np.flatnonzero((speed_rpm < 1000) & (speed_rpm > 300))
    speed_rpm[coasting[[20, 90]]] *= 2
    rows = [f"{t:.2f};{n:.0f}".replace(".", ",") for t, n in zip(time_s, speed_rpm, strict=True)]
    file = tmp_path / "auslauf.csv"
    file.write_bytes(
        ("# Spindel frei\r\nZeit [s];Drehzahl [U/min]\r\n" + "\r\n".join(rows)).encode("latin-1")
    )
    before = file.read_bytes()
    stop_s, turns = MACHINE.stop(1200)
    found = fit(speed_log.read(file))
    assert found.stop_time_s(1200).value == pytest.approx(stop_s, rel=0.02)
    assert holds(found.stop_time_s(1200), stop_s)
    assert holds(found.turns_to_stop(1200), turns)
    assert file.read_bytes() == before


@pytest.fixture(scope="module")
def sixty_messy_logs():
    """Sixty machines with their fits; the seeds are fixed."""
    machines = [(*a_machine(seed), seed) for seed in range(60)]
    return [(truth, display, fit(a_log(display, seed, truth))) for truth, display, seed in machines]


def share_held(pairs):
    return np.mean([holds(estimate, truth) for estimate, truth in pairs])


# 95 of 100 are promised; 3 standard deviations of a binomial count of 60 below that are 87 %.
LEAST_HELD = 0.87


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.8, 1.0, 1.3])
def test_stop_times_and_turns_lie_in_their_intervals_in_most_of_sixty_messy_logs(sixty_messy_logs, share):
    """The long run of many more logs prints the coverage itself (tests/bench)."""
    times, turns = [], []
    for truth, _, found in sixty_messy_logs:
        speed_rpm = share * truth.start_rpm
        stop_s, turned = truth.stop(speed_rpm)
        times.append((found.stop_time_s(speed_rpm), stop_s))
        turns.append((found.turns_to_stop(speed_rpm), turned))
    assert share_held(times) > LEAST_HELD
    assert share_held(turns) > LEAST_HELD


@pytest.mark.slow
@pytest.mark.parametrize("drag", ["coulomb_rad_s2", "viscous_per_s", "windage_per_rad"])
def test_each_drag_lies_in_its_interval_in_most_of_sixty_messy_logs(sixty_messy_logs, drag):
    pairs = [(getattr(found, drag), getattr(truth, drag)) for truth, _, found in sixty_messy_logs]
    assert share_held(pairs) > LEAST_HELD


@pytest.mark.slow
def test_letting_go_and_lag_lie_in_their_intervals_in_most_of_sixty_messy_logs(sixty_messy_logs):
    assert share_held((found.start_s, truth.start_s) for truth, _, found in sixty_messy_logs) > LEAST_HELD
    assert share_held((found.lag_s, display.lag_s) for _, display, found in sixty_messy_logs) > LEAST_HELD


@pytest.mark.parametrize("seed", [125, 141, 267])
def test_wild_readings_side_by_side_are_not_taken_for_a_drive_that_comes_on_again(seed):
    """With these seeds some of them follow each other on the way down, or just before the drive lets go."""
    truth, display = a_machine(seed)
    found = fit(a_log(display, seed, truth))
    assert found.warnings == ()
    stop_s, _ = truth.stop(truth.start_rpm)
    assert found.stop_time_s(truth.start_rpm).value == pytest.approx(stop_s, rel=0.003)


def test_the_drives_letting_go_and_the_meters_lag_are_found_from_the_log():
    found = fit(a_log())
    assert holds(found.start_s, MACHINE.start_s)
    assert holds(found.lag_s, 0.8)
    assert found.model == "abc"


def test_a_held_display_is_collapsed_and_the_person_is_told():
    found = fit(a_log())
    assert found.readings.update_s == pytest.approx(0.25, rel=2e-3)
    assert any("holds each number for 0.25 s" in note for note in found.notes)


def test_a_fast_log_of_a_slow_display_counts_each_number_once():
    found = fit(a_log(Display(row_every_s=0.01)))
    assert found.readings.update_s == pytest.approx(0.25, rel=2e-3)
    assert found.readings.time_s.size < 200
    assert holds(found.stop_time_s(1200), MACHINE.stop(1200)[0])


def test_an_encoder_log_has_no_lag():
    found = fit(a_log(Display(lag_s=0.0, hold_s=None, noise_rpm=0.1, resolution_rpm=0.01, glitches=0.0)))
    assert found.lag_s is None
    assert holds(found.stop_time_s(1200), MACHINE.stop(1200)[0])
    assert found.start_s.value == pytest.approx(MACHINE.start_s, abs=0.1)


def test_without_a_steady_start_the_lag_is_not_invented():
    log = a_log()
    late = log.time_s > MACHINE.start_s + 1
    found = fit(SimpleNamespace(time_s=log.time_s[late], speed_rpm=log.speed_rpm[late]))
    assert found.start_s is None
    assert found.lag_s is None
    assert any("lag cannot be told" in warning for warning in found.warnings)
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=0.02)


def test_a_known_lag_is_used_where_the_log_cannot_tell_it():
    log = a_log()
    late = log.time_s > MACHINE.start_s + 1
    cut = SimpleNamespace(time_s=log.time_s[late], speed_rpm=log.speed_rpm[late])
    found = fit(cut, meter=Meter(lag_s=0.8))
    assert found.lag_s.value == pytest.approx(0.8)
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=0.01)


def test_a_log_cut_off_before_standstill_says_that_the_end_is_extrapolated():
    stop_s, _ = MACHINE.stop(1200)
    found = fit(a_log(until_s=MACHINE.start_s + 0.5 * stop_s))
    assert any("ends at" in warning for warning in found.warnings)
    assert holds(found.stop_time_s(1200), stop_s)


def typed_from_a_film(every_s):
    log = a_log(Display(glitches=0.0))
    moments = np.arange(MACHINE.start_s + 2.5, MACHINE.start_s + 24, every_s)
    picked = np.searchsorted(log.time_s, moments)
    return SimpleNamespace(time_s=log.time_s[picked], speed_rpm=log.speed_rpm[picked])


def test_a_dozen_readings_typed_from_a_film_still_give_an_answer_with_its_doubt():
    found = fit(typed_from_a_film(every_s=2.0))
    assert any("intervals are wide" in warning for warning in found.warnings)
    assert holds(found.stop_time_s(1000), MACHINE.stop(1000)[0])
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=0.03)


def test_nine_readings_leave_windage_out_and_say_so():
    found = fit(typed_from_a_film(every_s=2.6))
    assert found.fitted == "ab"
    assert any("Windage was left out" in warning for warning in found.warnings)


def test_pulse_stamps_find_the_run_down_a_hundred_times_finer():
    found = fit(SimpleNamespace(pulse_s=write_pulses(MACHINE, seed=3), marks_per_turn=1))
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=1e-4)
    assert found.coulomb_rad_s2.value == pytest.approx(3.0, rel=1e-3)
    assert any("missed pulses" in note for note in found.notes)


def test_marks_that_stand_unevenly_do_not_spoil_the_pulse_fit():
    stamps = write_pulses(MACHINE, seed=4, marks=4, offsets_deg=(0.0, 2.0, -1.5, 1.0))
    found = fit(SimpleNamespace(pulse_s=stamps, marks_per_turn=4))
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=1e-4)


@pytest.mark.parametrize("runout_rad", [0.0, 2e-3])
def test_encoder_counts_find_the_run_down_even_where_the_pulley_runs_out(runout_rad):
    time_s, count = write_counts(
        MACHINE, seed=5, counts_per_turn=2700, runout_rad=runout_rad, encoder_turns=1.125
    )
    found = fit(SimpleNamespace(time_s=time_s, count=count, marks_per_turn=2700))
    assert found.stop_time_s(1000).value == pytest.approx(MACHINE.stop(1000)[0], rel=2e-4)
    assert found.start_s.value == pytest.approx(MACHINE.start_s, abs=1e-3)


def test_encoder_counts_without_the_counts_of_a_turn_are_asked_for():
    time_s, count = write_counts(MACHINE, seed=5, counts_per_turn=2700)
    with pytest.raises(LogError, match="counts for one spindle turn"):
        fit(SimpleNamespace(time_s=time_s, count=count, marks_per_turn=None))


def test_one_free_run_gives_no_newton_metres():
    log = a_log()
    with pytest.raises(RangeError, match="moment of inertia"):
        fit(log).friction_torque_nm(1000)
    with pytest.raises(RangeError, match="second run"):
        fit(log, added_inertia_kg_m2=0.01)


def pair_with_disc(seed, inertia=0.030, added=0.0117, disc_windage=1.0):
    torques = {"coulomb_rad_s2": 0.09, "viscous_per_s": 6e-4, "windage_per_rad": 3e-6}
    free = Truth(1200, **{name: torque / inertia for name, torque in torques.items()})
    torques["windage_per_rad"] *= disc_windage
    loaded = Truth(1200, **{name: torque / (inertia + added) for name, torque in torques.items()})
    return a_log(seed=2 * seed, truth=free), a_log(seed=2 * seed + 1, truth=loaded)


def test_a_second_run_with_a_disc_of_known_inertia_gives_the_inertia_and_newton_metres():
    found = fit(pair_with_disc(seed=1), added_inertia_kg_m2=0.0117)
    assert found.inertia_kg_m2.value == pytest.approx(0.030, rel=0.01)
    assert holds(found.inertia_kg_m2, 0.030)
    expected = 0.09 + 6e-4 * 1000 * RPM + 3e-6 * (1000 * RPM) ** 2
    assert found.friction_torque_nm(1000) == pytest.approx(expected, rel=0.01)
    assert any("three pairs" in warning for warning in found.warnings)


@pytest.mark.slow
def test_the_inertia_lies_in_its_interval_in_most_of_forty_pairs():
    held = [
        holds(fit(pair_with_disc(seed), added_inertia_kg_m2=0.0117).inertia_kg_m2, 0.030)
        for seed in range(40)
    ]
    assert np.mean(held) > 0.87


def test_three_pairs_let_the_scatter_speak():
    runs = [
        tuple(map(fit, pair_with_disc(seed, inertia=0.030 * factor)))
        for seed, factor in enumerate((0.97, 1, 1.03))
    ]
    told = inertia_from_disc(*zip(*runs, strict=True), added_inertia_kg_m2=0.0117)
    assert not any("One pair" in warning for warning in told.warnings)
    assert holds(told.inertia_kg_m2, 0.030)
    assert told.inertia_kg_m2.expanded_uncertainty > 0.03 * 0.030


def test_a_disc_that_beats_the_air_is_found_out():
    found = fit(pair_with_disc(seed=3, disc_windage=2.0), added_inertia_kg_m2=0.0117)
    assert any("do not share one ratio" in warning for warning in found.warnings)


def test_two_runs_told_by_dry_friction_alone_still_give_the_inertia():
    dry = Truth(1200, 3.0, 0.0, 0.0)
    light, heavy = (replace(dry, coulomb_rad_s2=3.0 / (1 + added / 0.03)) for added in (0.0, 0.0117))
    runs = [fit(a_log(seed=seed, truth=truth), model="a") for seed, truth in ((8, light), (9, heavy))]
    told = inertia_from_disc(runs[:1], runs[1:], added_inertia_kg_m2=0.0117)
    assert told.inertia_kg_m2.value == pytest.approx(0.030, rel=0.02)


def test_a_disc_too_light_to_tell_is_refused():
    log = a_log(seed=5)
    with pytest.raises(RangeError, match="heavier disc"):
        fit((log, log), added_inertia_kg_m2=0.0001)


def test_with_a_known_inertia_the_torque_is_inertia_times_deceleration():
    torque_nm = fit(a_log()).friction_torque_nm(1000, inertia_kg_m2=0.05)
    assert torque_nm == pytest.approx(0.05 * MACHINE.deceleration(1000 * RPM), rel=0.01)


def test_predictions_stop_at_one_and_a_half_times_the_tested_speed():
    found = fit(a_log())
    assert found.stop_time_s(1.49 * 1200).value > found.stop_time_s(1200).value
    with pytest.raises(RangeError, match="log a run from a higher speed"):
        found.stop_time_s(2000)
    with pytest.raises(RangeError, match="ask for 0 to"):
        found.turns_to_stop(-5)


def test_the_interval_widens_where_the_run_was_not_tested():
    found = fit(a_log())
    inside, outside = found.stop_time_s(900), found.stop_time_s(1700)
    assert outside.expanded_uncertainty / outside.value > inside.expanded_uncertainty / inside.value


def test_no_interval_is_quoted_finer_than_a_thousandth():
    found = fit(SimpleNamespace(pulse_s=write_pulses(MACHINE, seed=3), marks_per_turn=1))
    stop = found.stop_time_s(1000)
    assert stop.expanded_uncertainty == pytest.approx(1e-3 * stop.value, rel=1e-6)


def test_a_run_up_is_called_a_run_up():
    time_s = np.arange(0, 20, 0.1)
    with pytest.raises(LogError, match="run-up"):
        fit(SimpleNamespace(time_s=time_s, speed_rpm=60 * time_s))


def test_a_run_up_before_the_steady_stretch_is_left_out_and_said():
    log = a_log(Display(glitches=0.0))
    run_up = np.arange(0.0, 6.0, 0.1)
    whole = SimpleNamespace(
        time_s=np.concatenate([run_up, log.time_s + 6.0]),
        speed_rpm=np.concatenate([np.round(195 * run_up), log.speed_rpm]),
    )
    found = fit(whole)
    assert any("still changing" in note for note in found.notes)
    assert holds(found.stop_time_s(1200), MACHINE.stop(1200)[0])


def test_a_drive_switched_on_again_during_the_coast_parts_it_in_two():
    log = a_log(Display(glitches=0.0))
    again = (log.time_s > 12) & (log.time_s < 14)
    speed_rpm = np.where(again, log.speed_rpm + 250 * np.sin(np.pi * (log.time_s - 12) / 2), log.speed_rpm)
    found = fit(SimpleNamespace(time_s=log.time_s, speed_rpm=speed_rpm))
    assert any("falls more than once" in note for note in found.notes)


def test_too_few_readings_are_counted_in_the_refusal():
    with pytest.raises(LogError, match="has 3"):
        fit(SimpleNamespace(time_s=np.array([0.0, 10, 20]), speed_rpm=np.array([1200.0, 600, 50])))


def test_of_two_coasts_in_one_file_one_is_fitted_and_the_other_named():
    first, second = a_log(seed=1), a_log(seed=2)
    both = SimpleNamespace(
        time_s=np.concatenate([first.time_s, second.time_s + first.time_s[-1] + 0.1]),
        speed_rpm=np.concatenate([first.speed_rpm, second.speed_rpm]),
    )
    found = fit(both)
    assert any("falls more than once" in note for note in found.notes)
    assert found.stop_time_s(1200).value == pytest.approx(MACHINE.stop(1200)[0], rel=0.005)


def test_a_simpler_machine_is_described_by_fewer_drags():
    plain = replace(MACHINE, viscous_per_s=0.0, windage_per_rad=0.0)
    assert fit(a_log(truth=plain)).model == "a"
    assert fit(a_log(truth=plain), model="a").fitted == "a"
    with pytest.raises(RangeError, match="choose auto"):
        fit(a_log(), model="quadratic")


def test_shown_speed_of_the_fit_runs_through_the_readings():
    found = fit(a_log())
    trusted = found.weights > 0.05
    miss = found.shown_rpm(found.readings.time_s)[trusted] - found.readings.speed_rpm[trusted]
    assert np.std(miss) < 0.7
    assert np.allclose(found.residuals_rpm[trusted], -miss, atol=1e-6)
