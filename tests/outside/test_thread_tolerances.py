"""The tables of metric tolerances against their formulas, preferred numbers and a tap catalogue."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import EXAMPLE, EXCERPT, MEMORY, STANDARD, Source, source_of

from machinelab import tables
from machinelab.threads.form import parse
from machinelab.threads.limits import limits
from machinelab.threads.metric_limits import diameter_step
from machinelab.threads.pitch_tolerance import (
    R40,
    nearest_preferred_number,
    pitch_diameter_tolerance_um,
    preferred_number_on,
)

ROOM = "threads"
TAPS = Source(EXAMPLE, "a tap maker's catalogue", EXCERPT)
ISO_965 = Source(STANDARD, "ISO 965-1", MEMORY)
DATA = Path(__file__).parent / "data"
ROWS = {row["id"]: row for row in json.loads((DATA / "threads.json").read_text(encoding="utf-8"))}
CRESTS = [row for row in tables.read("thread_crest_tolerances") if row["form"] == "metric"]
CELLS = [row for row in tables.read("thread_pitch_tolerances") if row["form"] == "metric"]
# Where ISO 965-1 is not its own formula rounded to the nearest preferred number: what stands there, by pitch,
# and for pitch diameters by pitch and the start of the step of diameters.
EXCEPTIONS = {
    ("es g", 0.75): 22,
    ("Td", 4): 475,
    ("TD1", 0.5): 140,
    ("TD1", 1): 236,
    ("TD1", 2.5): 450,
    ("Td2", 0.5, 2.8): 75,
    ("Td2", 5, 45): 250,
    ("Td2", 3, 180): 250,
    ("Td2", 4, 180): 280,
    ("TD2", 0.45, 1.4): 95,
    ("TD2", 0.5, 2.8): 100,
    ("TD2", 0.75, 2.8): 118,
    ("TD2", 1.5, 5.6): 180,
    ("TD2", 1.25, 11.2): 180,
    ("TD2", 1.5, 11.2): 190,
    ("TD2", 4.5, 22.4): 315,
    ("TD2", 3, 180): 335,
    ("TD2", 4, 180): 375,
}


@pytest.mark.parametrize(("tolerance_class", "pitch_tolerance_um"), [("4H", 45), ("5H", 56)])
def test_finer_grades_of_the_smallest_nuts_are_those_of_a_tap_catalogue(
    compare, tolerance_class, pitch_tolerance_um
):
    """A tap maker's catalogue (read as an excerpt): M1x0.25 4H 45 um, 5H 56 um."""
    low, high = limits(parse("M1"), tolerance_class).pitch_mm
    compare(
        f"M1 nut {tolerance_class}: pitch tolerance",
        round(1000 * (high - low)),
        pitch_tolerance_um,
        TAPS,
        unit="um",
    )


@pytest.mark.parametrize(
    ("thread", "um"),
    [("M1.6", 85), ("M2", 90), ("M2.5", 95), ("M3", 100), ("M3.5", 112), ("M4", 118), ("M5", 125)],
)
def test_pitch_tolerances_of_small_nuts_are_those_of_a_tap_catalogue(compare, thread, um):
    """A tap maker's catalogue (read as an excerpt), 6H."""
    low, high = limits(parse(thread), "6H").pitch_mm
    compare(f"{thread} 6H: pitch tolerance", round(1000 * (high - low)), um, TAPS, unit="um")


@pytest.mark.parametrize("name", [name for name in ROWS if name.startswith(("A-Td6", "A-TD1", "A-Td2"))])
def test_the_formulas_behind_the_tables_give_what_the_standard_rounded(compare, name):
    given, (raw, printed) = ROWS[name]["inputs"], ROWS[name]["expected"]
    if name.startswith("A-Td2"):
        step = diameter_step(parse(f"M{given['d']}x{given['P']} special"))
        formula = pitch_diameter_tolerance_um(given["P"], step_from_mm=step[0], step_to_mm=step[1])
        stands = {(float(row["step_from_mm"]), float(row["pitch_mm"])): row["screw_um"] for row in CELLS}
        compare(
            f"{name.removeprefix('A-')}: tolerance as printed",
            int(stands[step[0], given["P"]]),
            printed,
            source_of(ROWS[name]),
            unit="um",
        )
    else:
        formula = crest_formulas(given["P"])["Td" if name.startswith("A-Td6") else "TD1"]
        column = "screw_major_um" if name.startswith("A-Td6") else "nut_minor_um"
        assert printed in [int(row[column]) for row in CRESTS if float(row["pitch_mm"]) == given["P"]]
    compare(
        f"{name.removeprefix('A-')}: tolerance before rounding",
        formula,
        raw,
        Source(STANDARD, "ISO 965-1, formula", MEMORY, "its factors are remembered to two and three figures"),
        abs=0.05,
        unit="um",
    )


def crest_formulas(pitch):
    """ISO 965-1, formulas from memory."""
    nut = 433 * pitch - 190 * pitch**1.22 if pitch <= 0.8 else 230 * pitch**0.7
    return {"es g": 15 + 11 * pitch, "Td": 180 * pitch ** (2 / 3) - 3.15 / pitch**0.5, "TD1": nut}


def test_the_tables_are_the_formulas_to_the_nearest_preferred_number_but_for_eighteen_cells():
    found = {}
    for row in CRESTS:
        pitch = float(row["pitch_mm"])
        printed = {"es g": row["g_um"], "Td": row["screw_major_um"], "TD1": row["nut_minor_um"]}
        for name, formula in crest_formulas(pitch).items():
            # The standard has no grade 6 for the bores of the finest nuts.
            if name != "TD1" or pitch >= 0.3:
                found[name, pitch] = formula, int(printed[name])
    for row in CELLS:
        pitch, start = float(row["pitch_mm"]), float(row["step_from_mm"])
        formula = pitch_diameter_tolerance_um(pitch, step_from_mm=start, step_to_mm=float(row["step_to_mm"]))
        found["Td2", pitch, start] = formula, int(row["screw_um"])
        found["TD2", pitch, start] = 1.32 * formula, int(row["nut_um"])
    # Whole micrometres after the preferred number, a half to the even one.
    missed = {
        cell: printed
        for cell, (formula, printed) in found.items()
        if np.round(nearest_preferred_number(formula)) != printed
    }
    assert missed == EXCEPTIONS


@pytest.mark.parametrize(
    "row", CELLS + CRESTS, ids=lambda row: f"{row.get('step_from_mm', '')} {row['pitch_mm']}"
)
def test_every_tolerance_of_the_tables_is_a_preferred_number(row):
    series = {float(np.round(number * 10**power)) for number in R40 for power in range(1, 4)}
    cells = [row[name] for name in ("screw_um", "nut_um", "screw_major_um", "nut_minor_um") if name in row]
    assert {float(cell) for cell in cells} <= series


def test_a_misprint_in_a_table_would_be_no_preferred_number():
    """198, 365 and 335 stood in a public copy; 335 is in the series, the other two are noticed."""
    series = {float(np.round(number * 10**power)) for number in R40 for power in range(1, 4)}
    assert {198.0, 365.0} & series == set()


@pytest.mark.parametrize(
    ("thread", "step"),
    [
        ("M11x1", (5.6, 11.2)),
        ("M12", (11.2, 22.4)),
        ("M22", (11.2, 22.4)),
        ("M24", (22.4, 45)),
        ("M45", (22.4, 45)),
        ("M48", (45, 90)),
    ],
)
def test_a_step_of_diameters_holds_its_upper_end_and_not_its_lower(compare, thread, step):
    """ISO 965-1: 11 mm is in 5.6 to 11.2, 22 in 11.2 to 22.4, 45 in 22.4 to 45."""
    compare(f"step of diameters that holds {thread}", diameter_step(parse(thread)), step, ISO_965, unit="mm")


def test_a_calculator_of_the_formulas_would_be_wrong_for_the_nut_of_m10(compare):
    by_formula = (
        9.026
        + nearest_preferred_number(1.32 * pitch_diameter_tolerance_um(1.5, step_from_mm=5.6, step_to_mm=11.2))
        / 1000
    )
    assert by_formula == pytest.approx(9.196)
    compare(
        "M10-6H: largest pitch diameter, not by formula",
        limits(parse("M10"), "6H").pitch_mm[1],
        9.206,
        ISO_965,
        unit="mm",
    )


def test_the_play_of_a_screw_is_rounded_before_it_is_taken_off(compare):
    """6g of M10x1.5: 32 um and not 31.5."""
    compare(
        "M10-6g: largest outside diameter", limits(parse("M10"), "6g").major_mm[1], 9.968, ISO_965, unit="mm"
    )


def test_four_preferred_numbers_are_the_factor_between_two_grades():
    """ISO 965-1: grades 4, 5, 7, 8 are 0.63, 0.8, 1.25 and 1.6 of grade 6 (memory)."""
    series = np.round(100 * np.array(R40[:-1]))
    for grade, factor in {3: 0.5, 4: 0.63, 5: 0.8, 6: 1, 7: 1.25, 8: 1.6, 9: 2}.items():
        assert preferred_number_on(series, 4 * (grade - 6)) == pytest.approx(factor * series, rel=0.031)
