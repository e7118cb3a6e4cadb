"""Page 05 and its reader on what people really hand in: the right answer, or words that say what is wrong."""

import numpy as np
import pytest
from simulate.coast_log import Display, Truth, displayed, write_log
from simulate.driven_log import driven_again
from simulate.sound_log import a_recording, music_like, wav

from machinelab.errors import LogError
from machinelab.spindle.coastdown import fit
from machinelab.workbook import speed_log
from machinelab.workbook.machine import empty
from machinelab.workbook.pages.coast_down import NO_LOG, CoastDownPage

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

SPINDLE = Truth(1200, 3.0, 0.02, 1e-4)
CLEAN = Display(glitches=0.0)
STOP_S, TURNS = SPINDLE.stop(1200)


def a_csv(time_s, speed_rpm):
    rows = (f"{time:.2f};{speed:.0f}" for time, speed in zip(time_s, speed_rpm, strict=True))
    return ("time [s];speed [rpm]\n" + "\n".join(rows) + "\n").encode()


def holds(estimate, truth):
    return estimate.interval[0] <= truth <= estimate.interval[1]


@pytest.fixture
def page():
    return CoastDownPage(empty())


@pytest.fixture
def hand_in(page):
    """Drop a file on the page and give back everything that it says."""
    bench = page.bench

    def dropped(raw, name="run.csv"):
        bench.entry.take(raw, name)
        return bench.entry.notice.value + bench.notice.value + bench.meaning.value

    return dropped


RUN_UP = np.minimum(60 * np.arange(0, 30, 0.1), 1200.0)
NOT_A_COAST = {
    "silence": (wav(np.zeros(44100 * 5), 44100, np.int16), "spindle.wav", "silent"),
    "music": (music_like(1), "spindle.wav", "no ticks that follow each other regularly"),
    "a run-up": (a_csv(np.arange(0, 30, 0.1), RUN_UP), "run.csv", "run-up"),
    "a steady speed": (a_csv(np.arange(0, 30, 0.1), np.full(300, 1200.0)), "run.csv", "drive still on"),
    "the first moments": (
        a_csv(*write_log(SPINDLE, Display(lag_s=0.0, hold_s=None), 3, until_s=5 + 0.15 * STOP_S)),
        "run.csv",
        "Log until the chuck stands",
    ),
    "two clocks": (2 * a_csv(*write_log(SPINDLE, CLEAN, 1)), "run.csv", "the file holds 2 runs"),
}


@pytest.mark.parametrize("what", NOT_A_COAST)
def test_what_is_no_coast_is_told_and_gives_no_figure(page, hand_in, what):
    raw, name, words = NOT_A_COAST[what]
    said = hand_in(raw, name)
    assert words in said
    assert "Please look" in said
    assert page.found is None
    assert page.picture is NO_LOG


@pytest.mark.parametrize("what", NOT_A_COAST)
def test_the_reader_or_the_fit_refuses_it_as_a_fault_of_the_log(what):
    raw, name, words = NOT_A_COAST[what]
    with pytest.raises(LogError, match=words):
        fit(speed_log.read(raw, name=name))


@pytest.mark.parametrize("what", NOT_A_COAST)
def test_a_good_run_after_a_bad_one_clears_the_notice(page, hand_in, what):
    raw, name, _ = NOT_A_COAST[what]
    hand_in(raw, name)
    said = hand_in(a_csv(*write_log(SPINDLE, CLEAN, 4)))
    assert "Please look" not in said
    assert page.found.stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.005)


def test_a_recording_of_ticks_dropped_on_the_page_gives_the_stop_time(page, hand_in):
    said = hand_in(a_recording(SPINDLE, seed=3), "spindle.wav")
    assert "to standstill" in said
    assert page.found.stop_time_s(1000).value == pytest.approx(SPINDLE.stop(1000)[0], rel=1e-3)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_a_coast_cut_off_before_standstill_is_predicted_with_its_doubt_or_said_to_be_too_short(
    page, hand_in, share
):
    said = hand_in(a_csv(*write_log(SPINDLE, CLEAN, 3, until_s=5 + share * STOP_S)))
    assert holds(page.found.stop_time_s(1200), STOP_S)
    assert ("before the spindle stood still" in said) == (share < 0.7)
    assert ("leave the time to standstill open" in said) == (share < 0.4)


@pytest.mark.parametrize("after_s", [12.0, 15.0, 22.0])
def test_a_re_start_in_the_middle_ends_the_coast_there_and_is_told(page, hand_in, after_s):
    """The drive comes on again and stays on; what the lagging meter still shows of it must not count."""
    run = driven_again(SPINDLE, after_s=after_s, up_to_rpm=1200.0, lasts_s=20.0, coasts_again=False)
    said = hand_in(a_csv(*displayed(*run, CLEAN, 1)))
    assert "as if the drive had been switched on again" in said
    assert holds(page.found.stop_time_s(1200), STOP_S)


@pytest.mark.parametrize("after_s", [3.0, 8.0])
def test_a_re_start_soon_after_switching_off_leaves_too_little_and_says_why(page, hand_in, after_s):
    run = driven_again(SPINDLE, after_s=after_s, up_to_rpm=1200.0, lasts_s=20.0, coasts_again=False)
    said = hand_in(a_csv(*displayed(*run, CLEAN, 1)))
    assert page.found is None
    assert "as if the drive had been switched on again" in said


@pytest.mark.parametrize("after_s", [3.0, 8.0, 15.0, 22.0])
def test_after_a_re_start_the_second_coast_is_taken_where_it_is_the_longer(page, hand_in, after_s):
    run = driven_again(SPINDLE, after_s=after_s, up_to_rpm=1200.0, lasts_s=12.0, coasts_again=True)
    hand_in(a_csv(*displayed(*run, CLEAN, 1)))
    assert page.found.readings.time_s[0] > SPINDLE.start_s + after_s
    assert page.found.stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.005)


@pytest.mark.parametrize("after_s", [3.0, 8.0])
def test_a_drive_that_catches_the_spindle_at_a_lower_speed_parts_the_fall_though_nothing_rises(
    page, hand_in, after_s
):
    run = driven_again(SPINDLE, after_s=after_s, up_to_rpm=700.0, lasts_s=12.0, coasts_again=True)
    time_s, speed_rpm = displayed(*run, CLEAN, 1)
    assert np.all(np.diff(run[1]) <= 1e-9)
    hand_in(a_csv(time_s, speed_rpm))
    assert page.found.tested_rpm == pytest.approx(700, abs=3)
    assert page.found.stop_time_s(700).value == pytest.approx(SPINDLE.stop(700)[0], rel=0.005)


@pytest.mark.parametrize("pause_s", [0.1, 60.0])
def test_of_two_coasts_in_one_file_one_is_fitted_and_the_other_named(page, hand_in, pause_s):
    first, second = (write_log(SPINDLE, CLEAN, seed) for seed in (1, 2))
    later = second[0] + first[0][-1] + pause_s
    said = hand_in(a_csv(np.concatenate([first[0], later]), np.concatenate([first[1], second[1]])))
    assert "falls more than once" in said
    assert page.found.stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.005)


def test_of_a_slow_and_a_fast_coast_the_fast_one_is_taken(page, hand_in):
    slow, fast = write_log(Truth(700, 3.0, 0.02, 1e-4), CLEAN, 2), write_log(SPINDLE, CLEAN, 1)
    later = fast[0] + slow[0][-1] + 5
    hand_in(a_csv(np.concatenate([slow[0], later]), np.concatenate([slow[1], fast[1]])))
    assert page.found.tested_rpm == pytest.approx(1200, abs=3)
    assert page.found.stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.005)


@pytest.mark.parametrize("seed", [1, 40, 53, 98, 119])
def test_wrong_numbers_that_a_display_holds_for_several_rows_do_not_hide_the_coast(seed):
    """One number in twelve is wrong; with these seeds some of them stand side by side."""
    log = speed_log.read(a_csv(*write_log(SPINDLE, Display(glitches=0.08), seed)))
    assert fit(log).stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.01)


@pytest.mark.parametrize("seed", range(4))
def test_a_display_in_tens_is_fitted_with_its_own_coarseness(seed):
    found = fit(speed_log.read(a_csv(*write_log(SPINDLE, Display(resolution_rpm=10.0), seed))))
    assert found.stop_time_s(1200).value == pytest.approx(STOP_S, rel=0.02)
