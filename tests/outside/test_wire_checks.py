"""Wires over threads against printed constants, numbers worked out elsewhere, and bare contact."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import EXAMPLE, EXCERPT, MEMORY, Source, by_hand, run_here, source_of
from scipy.optimize import brentq, minimize, minimize_scalar

from machinelab.errors import RangeError
from machinelab.threads.wire_reading import pitch_diameter_from_wires, wire_doubt_mm, wire_flattening_um
from machinelab.threads.wires import (
    best_wire_mm,
    lead_angle_correction_mm,
    lead_angle_deg,
    over_wires_mm,
    wire_contact_height_mm,
    wire_range,
)
from machinelab.threads.wires_on_helix import over_wires_on_helix_mm, pitch_diameter_on_helix_mm

ROOM = "threads"
TREATISE = Source(EXAMPLE, "60 and 55 degrees as printed in a treatise of the 1910s", EXCERPT)
HANDBOOK = Source(
    EXAMPLE, "handbooks: d + 3 w - 1.5155 P for 60 degrees, d + 3.1657 w - 1.6008 P for 55", MEMORY
)

DATA = Path(__file__).parent / "data" / "thread_measuring.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}
THREADS = [row for row in ROWS.values() if row["id"].startswith("A-wire")]
FORMS = {"metric": 60, "Whitworth": 55, "trapezoidal": 30, "Acme": 29}


def measured(row) -> dict:
    """A row's thread with its best wire."""
    angle, pitch = 2 * row["inputs"]["half_angle"], row["inputs"]["P"]
    return {"wire_mm": best_wire_mm(pitch, angle), "pitch_mm": pitch, "included_angle_deg": angle}


@pytest.mark.parametrize("row", THREADS, ids=lambda row: row["id"])
def test_reading_climb_and_first_order_term_agree_with_contact_found_elsewhere(compare, row):
    thread, d2 = measured(row), row["inputs"]["d2"]
    lead = row["inputs"]["P"] * row["inputs"]["starts"]
    rings = over_wires_mm(d2, **thread)
    helix = over_wires_on_helix_mm(d2, thread_lead_mm=lead, **thread)
    term = lead_angle_correction_mm(
        thread["wire_mm"],
        lead_angle_deg=lead_angle_deg(d2, thread_lead_mm=lead),
        included_angle_deg=thread["included_angle_deg"],
    )
    reading, exact_um, term_um = row["expected"]
    compare(f"{row['id']}: reading over wires", rings, reading, source_of(row), abs=5e-5, unit="mm")
    compare(
        f"{row['id']}: climb of the wire",
        1000 * (helix - rings),
        exact_um,
        source_of(row),
        abs=0.006,
        unit="um",
    )
    compare(f"{row['id']}: climb to first order", 1000 * term, term_um, source_of(row), abs=0.006, unit="um")


@pytest.mark.parametrize("angle", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("starts", [1, 4])
def test_a_straight_wire_laid_on_the_flank_by_numbers_alone_settles_at_the_same_height(
    compare, angle, starts
):
    """The flank's nearest point to a straight, tilted wire is searched; the wire tilts to lie deepest."""
    d2, pitch = 18.0, 3.0
    wire, slope, climb = best_wire_mm(pitch, angle), np.tan(np.radians(angle / 2)), starts * pitch / 2 / np.pi

    def gap(height, tilt):
        along = np.array([0, np.cos(tilt), np.sin(tilt)])

        def distance(place):
            radius, turned = place
            flank = pitch / 4 + (radius - d2 / 2) * slope + climb * turned
            point = np.array([radius * np.cos(turned) - height, radius * np.sin(turned), flank])
            return np.linalg.norm(np.cross(point, along))

        start = (d2 / 2, 0.0)
        found = minimize(
            distance, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 2000}
        )
        return found.fun - wire / 2

    def rests_at(tilt):
        return brentq(lambda height: gap(height, tilt), d2 / 2, d2 / 2 + 2 * wire, xtol=1e-9)

    climbs = np.arctan(climb / (d2 / 2))
    deepest = minimize_scalar(rests_at, bounds=(0.7 * climbs, 1.4 * climbs), options={"xatol": 1e-5}).fun
    thread = {"wire_mm": wire, "pitch_mm": pitch, "included_angle_deg": angle}
    found = over_wires_on_helix_mm(d2, thread_lead_mm=starts * pitch, **thread)
    compare(
        f"reading over wires on a helix, {angle} degrees, {starts} starts",
        found,
        2 * deepest + wire,
        run_here("nearest point of a straight, tilted wire searched by scipy", "how closely the search ends"),
        abs=2e-5,
        unit="mm",
    )


def test_best_wires_of_the_four_forms(compare):
    found = [best_wire_mm(1, angle) for angle in FORMS.values()]
    compare(
        "best wire, pitch 1",
        found,
        ROWS["A-bestwire"]["expected"],
        source_of(ROWS["A-bestwire"]),
        abs=6e-6,
        each=FORMS,
    )


def test_best_wire_of_eight_threads_to_the_inch_as_the_army_taught_it(compare):
    """U.S. Army ordnance course OD1645: 0.57735 divided by the threads to the inch."""
    compare(
        "best wire of eight threads to the inch",
        best_wire_mm(25.4 / 8) / 25.4,
        0.57735 / 8,
        Source(
            EXAMPLE,
            "U.S. Army ordnance course OD1645: 0.57735 over threads to the inch",
            EXCERPT,
            "the factor has five figures",
        ),
        abs=1e-6,
        unit="in",
    )


@pytest.mark.parametrize(
    ("angle", "of_wire", "of_pitch"),
    [(60, 3.0, 0.866025), (55, 3.165681, 0.960491), (30, 4.863703, 1.866025), (29, 4.993929, 1.933357)],
)
def test_constants_of_the_textbook_rule(compare, angle, of_wire, of_pitch):
    """60 and 55 degrees as printed in a treatise of the 1910s; 30 and 29 worked out by hand."""
    found = over_wires_mm(10, wire_mm=1, pitch_mm=1, included_angle_deg=angle)
    compare(
        f"reading with wire 1 and pitch 1 on 10 mm, {angle} degrees",
        found,
        10 + of_wire - of_pitch,
        TREATISE if angle > 50 else compare.by_hand,
        abs=1e-6,
        unit="mm",
    )


def test_constant_from_the_outside_diameter_of_a_basic_thread(compare):
    """Handbooks print d + 3 w - 1.5155 P for 60 degrees and d + 3.1657 w - 1.6008 P for 55."""
    compare(
        "reading from the outside diameter, 60 degrees",
        over_wires_mm(10 - 0.6495191, wire_mm=1, pitch_mm=1),
        10 + 3 - 1.515544,
        HANDBOOK,
        abs=1e-6,
        unit="mm",
    )
    whitworth = over_wires_mm(10 - 0.6403274, wire_mm=1, pitch_mm=1, included_angle_deg=55)
    compare(
        "reading from the outside diameter, 55 degrees",
        whitworth,
        10 + 3.165681 - 1.600818,
        HANDBOOK,
        abs=1e-6,
        unit="mm",
    )


def test_wires_that_can_be_used_on_a_metric_thread(compare):
    """From 0.5052 pitches, where the reading just clears the crests, to 1.0104, on their corners."""
    height = 3 / 8 * np.sqrt(3) / 2
    found = wire_range(1, crest_height_mm=height, flank_height_mm=height, flank_depth_mm=height)
    compare(
        "wires that can be used, pitch 1",
        (found.smallest_wire_mm, found.largest_wire_mm),
        (0.5052, 1.0104),
        compare.by_hand,
        abs=5e-5,
        unit="mm",
        each=("smallest", "largest"),
    )
    for wire in (found.smallest_wire_mm, found.largest_wire_mm):
        assert abs(wire_contact_height_mm(wire, pitch_mm=1)) <= height + 1e-12
    clears = over_wires_mm(9, wire_mm=found.smallest_wire_mm, pitch_mm=1)
    assert clears == pytest.approx(9 + 2 * height)


def test_a_rounded_crest_takes_fewer_wires_than_a_flat_one():
    """Cycle thread: the straight flank ends where the rounding of a sixth of the pitch begins."""
    crest, radius = 0.5326921 / 2, 1 / 6
    straight = crest - radius * (1 - np.sin(np.radians(30)))
    ends = {"crest_height_mm": crest, "flank_depth_mm": straight}
    round_crest = wire_range(1, flank_height_mm=straight, **ends)
    flat_crest = wire_range(1, flank_height_mm=crest, **ends)
    assert round_crest.largest_wire_mm < flat_crest.largest_wire_mm
    assert round_crest.smallest_wire_mm < round_crest.best_wire_mm < round_crest.largest_wire_mm


def test_a_thread_that_no_wire_fits_is_told():
    with pytest.raises(RangeError, match="nut or a gauge"):
        wire_range(1, crest_height_mm=0.9, flank_height_mm=0.05, flank_depth_mm=0.05)


@pytest.mark.parametrize("angle", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("lead", [0.0, 1.5, 6.0, -6.0])
def test_reading_and_pitch_diameter_lead_to_each_other(angle, lead):
    d2 = np.array([8.0, 11.0, 40.0])
    thread = {"wire_mm": best_wire_mm(1.5, angle), "pitch_mm": 1.5, "included_angle_deg": angle}
    reading = over_wires_on_helix_mm(d2, thread_lead_mm=lead, **thread)
    back = pitch_diameter_on_helix_mm(reading, thread_lead_mm=lead, **thread)
    assert back == pytest.approx(d2, abs=1e-9)


def test_a_thread_without_lead_follows_the_textbook_rule():
    thread = {"wire_mm": 0.9, "pitch_mm": 1.5, "included_angle_deg": 55}
    found = over_wires_on_helix_mm(9.0, thread_lead_mm=0, **thread)
    assert found == pytest.approx(over_wires_mm(9.0, **thread), abs=1e-12)


def test_a_wrong_wire_moves_the_pitch_diameter_threefold_and_nearly_fivefold(compare):
    for angle, times in ((60, 3.0), (30, 4.8637)):
        thread = {"wire_mm": best_wire_mm(2, angle), "pitch_mm": 2, "included_angle_deg": angle}
        doubt = wire_doubt_mm(0, diameter_doubt_mm=0.001, **thread)
        compare(
            f"pitch diameter for a wire 1 um wrong, {angle} degrees",
            doubt,
            0.001 * times,
            by_hand("1 + 1 / sin of the half angle"),
            rel=1e-4,
            unit="mm",
        )


def test_the_best_wire_does_not_feel_a_wrong_flank_angle_and_others_do(compare):
    """By the readings themselves: a half angle that is a third of a degree out moves them by so much."""
    best, other = best_wire_mm(2), 1.2 * best_wire_mm(2)
    for wire in (best, other):
        thread = {"wire_mm": wire, "pitch_mm": 2}
        moved = over_wires_mm(18, included_angle_deg=60 + 1 / 3, **thread) - over_wires_mm(18, **thread)
        told = wire_doubt_mm(0, diameter_doubt_mm=0, flank_doubt_deg=1 / 6, **thread)
        compare(
            f"reading moved by a third of a degree, wire of {wire:.3f} mm",
            told,
            abs(moved),
            run_here("the reading itself with another angle", "a formula to first order"),
            abs=3e-5,
            unit="mm",
        )
    assert told > 0.001


def test_flattening_follows_hertz_for_a_ball_and_a_textbooks_approximation_for_an_ellipse(compare):
    """Hertz for equal radii; Brewe and Hamrock (1977, from memory), good to two parts in a hundred."""
    from machinelab.threads.wire_reading import CONTACT_N_MM2, _approach_mm

    ball = np.cbrt(9 * 10**2 / (16 * 2.0 * CONTACT_N_MM2**2))
    assert _approach_mm(10, 2.0, 2.0) == pytest.approx(ball, rel=1e-5)
    small, large = 0.433, 9.0
    uneven = 1.0339 * (large / small) ** 0.636
    first, second = 1.5277 + 0.6023 * np.log(large / small), 1.0003 + 0.5968 * small / large
    together, modulus = small * large / (small + large), 2 * CONTACT_N_MM2
    squeezed = first * np.cbrt(4.5 / (second * together) * (10 / (np.pi * uneven * modulus)) ** 2)
    compare(
        "approach of a wire and a thread of 10 N",
        _approach_mm(10, small, large),
        squeezed,
        Source(
            EXAMPLE,
            "Brewe and Hamrock (1977), approximation for an ellipse",
            MEMORY,
            "good to two parts in a hundred",
        ),
        rel=0.02,
        unit="mm",
    )


def test_the_micrometers_push_is_a_few_micrometres_and_grows_as_the_two_thirds_power():
    wires = {"wire_mm": 0.866, "pitch_diameter_mm": 9.026}
    assert 2 < wire_flattening_um(10, **wires) < 6
    assert wire_flattening_um(8, **wires) / wire_flattening_um(1, **wires) == pytest.approx(4, rel=1e-9)
    assert wire_flattening_um(0, **wires) == 0
    assert np.isnan(wire_flattening_um(np.nan, **wires))


def test_a_reading_gives_the_pitch_diameter_with_its_doubt(compare):
    thread = {"wire_mm": 0.866, "pitch_mm": 1.5, "thread_lead_mm": 1.5}
    reading = over_wires_on_helix_mm(8.95, **thread)
    doubts = {"reading_doubt_mm": 0.004, "diameter_doubt_mm": 0.002}
    found = pitch_diameter_from_wires(reading, **doubts, **thread)
    compare(
        "pitch diameter from wires",
        found.value,
        8.95,
        run_here("reading made from a pitch diameter", "rounding of the computer"),
        abs=1e-9,
        unit="mm",
    )
    compare(
        "doubt of a pitch diameter from wires",
        found.expanded_uncertainty,
        np.hypot(0.004, 3 * 0.002),
        by_hand("root of the squares of 0.004 and 3 x 0.002"),
        rel=1e-3,
        unit="mm",
        why="the lever is that of the helix",
    )
    pressed = pitch_diameter_from_wires(reading, measuring_force_n=10, **doubts, **thread)
    assert 0.002 < pressed.value - found.value < 0.006
    assert pressed.expanded_uncertainty > found.expanded_uncertainty


def test_a_reading_without_wires_is_refused_in_words():
    with pytest.raises(RangeError, match="without the wires"):
        pitch_diameter_on_helix_mm(0.8, wire_mm=0.866, pitch_mm=1.5, thread_lead_mm=1.5)
