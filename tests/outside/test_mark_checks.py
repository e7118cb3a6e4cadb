"""Marks in the finish: spacings worked by hand, periodograms against trials, planted culprits found."""

import numpy as np
import pytest
from inspection.source import by_hand, library, run_here

from machinelab.accuracy.mark_profile import (
    false_alarm_chance,
    profile_spacing,
    spatial_frequency_sd_per_mm,
)
from machinelab.accuracy.mark_ranking import counted_spacing_sd_mm, rank_elements, telling_test
from machinelab.accuracy.marks import (
    SCREW,
    SPINDLE,
    TIME,
    DriveElement,
    screw_locked_mm,
    seen_along_the_bar_mm,
    spindle_locked_mm,
    time_locked_mm,
)

ROOM = "accuracy"
FREQUENCY = by_hand("sqrt(6 / N) sigma / (pi T A), astronomers' formula, from memory")
SCARGLE = by_hand("1 - (1 - exp(-z))^M, Scargle 1982, from memory")
FOURIER = library(
    "numpy", np.__version__, "fft.rfft of a wave sampled once a turn", "half a line of the spectrum"
)
SAMPLED = run_here("readings sampled and drawn by chance", "chance, with so many trials")

LEAD_MM = 3.0
PARTS = [
    DriveElement("feed", SPINDLE, 1.0),
    DriveElement("drive belt", SPINDLE, 0.236, 0.005),
    DriveElement("motor", SPINDLE, 2.05, 0.01),
    DriveElement("encoder pulley", SPINDLE, 36 / 32),
    DriveElement("leadscrew", SCREW, 1.0),
    DriveElement("stepper", SCREW, 2.0),
    DriveElement("teeth of the screw's belt", SCREW, 40.0),
    DriveElement("mains", TIME, 120.0, 0.002),
]


@pytest.mark.parametrize(
    ("orders", "expected"),
    [(1, 3.0), (2, 1.5), (2 * 200 / 4, 0.03), (2 * 200, 0.0075), (40, 0.075)],
    ids=["screw", "stepper at two to one", "electrical cycle", "full step", "tooth of a 40-tooth pulley"],
)
def test_parts_of_a_three_millimetre_screw_mark_at_shares_of_its_lead(compare, orders, expected):
    """Derived by hand: lead over events a turn of the screw."""
    compare(
        f"spacing of marks, {orders:g} events a turn of a 3 mm screw",
        screw_locked_mm(3, orders),
        expected,
        by_hand("lead over events a turn"),
        rel=1e-5,
        unit="mm",
    )


def test_a_pinion_of_module_1_and_14_teeth_marks_at_its_pitch_circle(compare):
    """Derived by hand: pi times module times teeth; here as a lead of the carriage for each turn."""
    compare(
        "spacing of marks of a pinion of module 1, 14 teeth",
        screw_locked_mm(np.pi * 14, 1),
        43.9823,
        by_hand("pi times module times teeth"),
        rel=1e-5,
        unit="mm",
    )


def test_folding_makes_near_whole_ratios_into_long_lazy_bands(compare):
    """Derived by hand: 2.05 turns a feed of 0.1 stand at 0.049 mm and seem to stand at 2 mm."""
    true = spindle_locked_mm(0.1, 2.05)
    compare(
        "spacing of 2.05 turns at a feed of 0.1 mm", true, 0.0488, by_hand("0.1 / 2.05"), abs=1e-4, unit="mm"
    )
    compare(
        "what is seen of it along the bar",
        seen_along_the_bar_mm(true, 0.1),
        2.0,
        compare.by_hand,
        rel=1e-9,
        unit="mm",
    )


def test_a_hundred_hertz_hides_at_600_rpm_and_shows_at_610(compare):
    """Derived by hand: ten times a turn exactly at 600 rpm; 9.836 times at 610."""
    assert np.isinf(seen_along_the_bar_mm(time_locked_mm(0.1, 600, 100), 0.1))
    compare(
        "what is seen of 100 Hz at 610 rpm",
        seen_along_the_bar_mm(time_locked_mm(0.1, 610, 100), 0.1),
        0.61,
        compare.by_hand,
        rel=1e-6,
        unit="mm",
    )


def test_folding_agrees_with_sampling_a_wave_once_a_turn(compare):
    """Another way: count the waves in a sampled sine by its Fourier transform."""
    feed, turns = 0.1, 4000
    for orders in (0.137, 0.4, 1.23, 2.05, 3.81):
        sampled = np.sin(2 * np.pi * orders * np.arange(turns))
        peak = np.argmax(np.abs(np.fft.rfft(sampled))[1:]) + 1
        seen = seen_along_the_bar_mm(spindle_locked_mm(feed, orders), feed)
        compare(
            f"peak of a spectrum of {orders} waves a turn",
            turns * feed / seen,
            peak,
            FOURIER,
            abs=0.51,
            unit="line",
        )


@pytest.mark.slow
def test_a_frequency_is_known_as_the_astronomers_say(compare):
    """sqrt(6/N) sigma / (pi T A), from memory; and found here by many trials of fitting a sine."""
    told = spatial_frequency_sd_per_mm(400, 60, 1, 1)
    compare(
        "standard uncertainty of a spatial frequency, 400 readings over 60 mm",
        told,
        0.00064975,
        FREQUENCY,
        rel=1e-4,
        unit="1/mm",
    )
    compare(
        "standard uncertainty of a spacing of 3 mm", told * 3**2, 0.0058477, FREQUENCY, rel=1e-4, unit="mm"
    )
    generator = np.random.default_rng(40)
    x = np.linspace(0, 60, 400) + generator.uniform(-0.05, 0.05, 400)
    found = []
    for _ in range(150):
        profile = profile_spacing(x, np.sin(2 * np.pi * x / 3.0) + generator.normal(0, 1, 400))
        found.append(1 / profile.spacing_mm.value)
    compare(
        "scatter of the frequency over 150 fits",
        np.std(found),
        told,
        FREQUENCY,
        rel=0.18,
        unit="1/mm",
        why="scatter of 150 trials",
    )
    compare(
        "mean of the frequency over 150 fits",
        np.mean(found),
        1 / 3,
        SAMPLED,
        abs=4 * told / np.sqrt(150),
        unit="1/mm",
    )


def test_the_chance_of_a_false_alarm_is_scargles(compare):
    """1 - (1 - exp(-z))^M, Scargle 1982, from memory; its inverse for one in a hundred."""
    compare(
        "chance of a false alarm at a power of 12 among 200",
        false_alarm_chance(12, 200),
        0.00122803,
        SCARGLE,
        rel=1e-4,
    )
    compare(
        "chance of a false alarm at a power of 9.8985 among 200",
        false_alarm_chance(9.8985, 200),
        0.01,
        SCARGLE,
        rel=1e-3,
    )


@pytest.mark.slow
def test_noise_rarely_passes_for_marks():
    generator = np.random.default_rng(41)
    alarms = [
        profile_spacing(np.arange(200) * 0.1, generator.normal(0, 1, 200)).false_alarm < 0.01
        for _ in range(300)
    ]
    assert np.mean(alarms) < 0.04


def test_ten_bands_in_thirty_millimetres_point_to_the_screw(compare):
    """Invented: 30.2 mm over ten bands with a steel rule; a screw of 3 mm lead is 0.6 of a deviation away."""
    found = rank_elements(
        PARTS,
        observed_mm=3.02,
        observed_sd_mm=float(counted_spacing_sd_mm(0.25, 10)),
        feed_mm=0.1,
        feed_share=0.005,
        speed_rpm=310,
        screw_lead_mm=LEAD_MM,
    )
    compare(
        "what ten bands in 30.2 mm point to",
        found.names[0],
        "leadscrew",
        by_hand("a 3 mm screw lies 0.6 of a deviation away"),
    )
    assert found.decided
    assert sum(found.probability) == pytest.approx(1)


def test_two_parts_that_mark_alike_are_not_told_apart_and_the_feed_tells_them(compare):
    """A belt of 1/30 turn at a feed of 0.1 marks at 3 mm as the screw does."""
    slow = DriveElement("long belt", SPINDLE, 1 / 30, 0.005)
    found = rank_elements(
        [*PARTS, slow],
        observed_mm=3.0,
        observed_sd_mm=0.03,
        feed_mm=0.1,
        feed_share=0.005,
        speed_rpm=310,
        screw_lead_mm=LEAD_MM,
    )
    assert not found.decided
    assert {found.names[0], *found.cannot_tell} >= {"leadscrew", "long belt"}
    test = telling_test(
        [PARTS[4], slow],
        feed_mm=0.1,
        speed_rpm=310,
        screw_lead_mm=LEAD_MM,
        feeds_mm=[0.05, 0.2],
        speeds_rpm=[155, 620],
    )
    assert test.feed_mm != 0.1
    compare(
        "spacing foretold for the screw", test.foretold_mm[0], 3.0, by_hand("the lead"), rel=1e-6, unit="mm"
    )
    assert test.foretold_mm[1] != pytest.approx(3.0, rel=0.3)


def test_a_spacing_of_nothing_in_the_machine_is_none_of_these():
    found = rank_elements(
        PARTS,
        observed_mm=7.7,
        observed_sd_mm=0.02,
        feed_mm=0.1,
        feed_share=0.001,
        speed_rpm=310,
        screw_lead_mm=LEAD_MM,
    )
    assert found.names[0] == "none of these"
    assert not found.decided


def test_planted_culprits_come_first_nine_times_in_ten_and_no_wrong_one_is_sure():
    """Each part in turn prints marks; a rule reads ten bands of them, the feed is known to half a percent."""
    generator = np.random.default_rng(42)
    right, sure_of_wrong, tried = 0, 0, 0
    for culprit in (1, 3, 4, 5):
        for _ in range(200):
            rates = [part.rate * (1 + part.rate_share * generator.normal()) for part in PARTS]
            if PARTS[culprit].locked_to == SCREW:
                true = LEAD_MM / rates[culprit]
            else:
                true = float(seen_along_the_bar_mm(0.1 / rates[culprit], 0.1))
            sd = float(counted_spacing_sd_mm(0.1, 10))
            found = rank_elements(
                PARTS,
                observed_mm=abs(true + generator.normal(0, sd)),
                observed_sd_mm=sd,
                feed_mm=0.1 * (1 + generator.normal(0, 0.005)),
                feed_share=0.005,
                speed_rpm=310,
                screw_lead_mm=LEAD_MM,
            )
            tried += 1
            right += found.names[0] == PARTS[culprit].name
            sure_of_wrong += found.names[0] != PARTS[culprit].name and found.probability[0] > 0.95
    assert right / tried >= 0.9
    assert sure_of_wrong / tried <= 0.02
