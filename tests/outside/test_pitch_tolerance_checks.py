"""The pitch-diameter tolerance against ISO 965-1 (from memory; its 6H values read in a tap catalogue)."""

import json
from pathlib import Path

import numpy as np
import pytest
from inspection.source import source_of

from machinelab.threads.pitch_tolerance import R40, nearest_preferred_number, pitch_diameter_tolerance_um

ROOM = "threads"

ROWS = json.loads((Path(__file__).parent / "data" / "pitch_tolerance.json").read_text())


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_tolerance_by_formula_and_rounded_equals_the_standards(compare, row):
    low, high = row["inputs"]["d_range"]
    formula = pitch_diameter_tolerance_um(row["inputs"]["P"], step_from_mm=low, step_to_mm=high)
    compare(
        f"pitch tolerance by formula, {row['id']} {row['inputs']['P']} mm",
        formula,
        row["expected"]["formula"],
        source_of(row),
        abs=0.005,
        unit="um",
    )
    compare(
        f"pitch tolerance of 6g, pitch {row['inputs']['P']} mm",
        nearest_preferred_number(formula),
        row["expected"]["table"],
        source_of(row),
        unit="um",
    )


def test_the_series_has_forty_steps_to_the_decade_of_nearly_equal_ratio():
    """ISO 3 defines R40 by the fortieth root of ten, rounded; no rounding moves a number by 1.5 %."""
    exact = 10 ** (np.arange(41) / 40)
    assert len(R40) == 41
    assert np.max(np.abs(np.array(R40) / exact - 1)) < 0.015


def test_a_number_of_the_series_is_its_own_nearest():
    series = np.round(100 * np.array(R40[:-1]))
    assert np.array_equal(nearest_preferred_number(series), series)
    assert np.isnan(nearest_preferred_number(np.nan))
