"""Readings typed as a table in the units of the instrument: a first line of units says which."""

import numpy as np
import pytest

from machinelab.errors import LogError
from machinelab.workbook.typed_table import read_columns

DIAL = ("target mm", "rising mm", "falling mm")


@pytest.mark.parametrize(
    ("heading", "columns", "line", "meant"),
    [
        ("in thou", DIAL, "4 0.5 -4.5", [101.6, 0.0127, -0.1143]),
        ("in thou in", DIAL, "4 0.5 -0.0045", [101.6, 0.0127, -0.1143]),
        ("in lbf thou", ("overhang mm", "force N", "moved mm"), "5 10 1", [127, 44.482216, 0.0254]),
        ("deg thou", ("angle degrees", "dial mm"), "90 2", [90, 0.0508]),
        (
            "in rpm in",
            ("feed mm", "speed rpm", "length mm", "number of spacings"),
            "1 310 1 20",
            [25.4, 310, 25.4, 20],
        ),
    ],
)
def test_a_first_line_of_units_says_in_what_the_figures_stand(heading, columns, line, meant):
    assert read_columns(f"{heading}\n{line}", columns, "")[0] == pytest.approx(meant, rel=1e-6)


@pytest.mark.parametrize(
    "heading", ["target rising falling", "place in", "# thou", "mm", "in lbf", "thou thou thou thou"]
)
def test_any_other_heading_leaves_the_figures_as_they_are(heading):
    assert np.array_equal(read_columns(f"{heading}\n4 0.5 -4.5", DIAL, ""), [[4, 0.5, -4.5]])


@pytest.mark.parametrize(
    "line", ["1_0 2 3", "nan 2 3", "inf 2 3", "0x1F 2 3", "1e400 2 3", "1,5 2 3", "5mm 2 3"]
)
def test_a_figure_goes_through_the_door_of_every_typed_number(line):
    with pytest.raises(LogError, match=r"^Line 2: "):
        read_columns(f"# a remark\n{line}", DIAL, "4 0.5 -4.5")


def test_fractions_and_other_signs_for_minus_are_figures_here_as_everywhere():
    assert np.array_equal(read_columns("1/4 1e-3 \N{MINUS SIGN}4.5", DIAL, ""), [[0.25, 0.001, -4.5]])
