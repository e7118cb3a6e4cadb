"""Limits of size of every listed thread and each of its classes: in order, and never in each other's way."""

import contextlib
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import MachinelabError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.form import parse
from machinelab.threads.limits import classes_of, limits
from machinelab.threads.standard_sizes import standard_sizes

SIZES = st.sampled_from(standard_sizes())


def every_limit():
    """Each listed size with each class that it has limits for."""
    for size in standard_sizes():
        try:
            thread = parse(size.designation)
            classes = classes_of(thread)
        except MachinelabError:
            continue
        for tolerance_class in classes:
            yield size.designation, thread, tolerance_class


def test_every_listed_size_has_its_limits_in_order():
    """The plain diameters lie in order as well: major above pitch above minor; an open end is no end."""
    seen = 0
    for name, thread, tolerance_class in every_limit():
        with contextlib.suppress(MachinelabError):
            found = limits(thread, tolerance_class)
            pairs = np.array([found.major_mm, found.pitch_mm, found.minor_mm], dtype=float)
            told = (name, tolerance_class, pairs)
            assert np.all(pairs[:, 0] < pairs[:, 1]), told
            highest = pairs[:, 1] if found.side == "screw" else pairs[:, 0]
            assert np.all(np.diff(highest[np.isfinite(highest)]) < 0), told
            seen += 1
    assert seen > 500


@settings(max_examples=60)
@given(SIZES)
def test_a_screw_of_any_class_goes_into_a_nut_of_any_class_of_a_clearance_fit(size):
    thread = parse(size.designation)
    try:
        classes = classes_of(thread)
    except MachinelabError:
        return
    screws = [one for one in classes if one in ("6g", "6h", "8g", "2A", "3A", "7e", "8e")]
    nuts = [one for one in classes if one in ("6H", "7H", "2B", "3B", "8H")]
    for screw in screws:
        for nut in nuts:
            try:
                outside, inside = limits(thread, screw), limits(thread, nut)
            except MachinelabError:
                continue
            assert outside.pitch_mm[1] <= inside.pitch_mm[0] + 1e-9


# 0 BA to 16 BA are on the lists.
@given(st.integers(0, 15))
def test_a_ba_thread_is_smaller_and_finer_by_each_number(number):
    larger, smaller = parse(f"{number} BA"), parse(f"{number + 1} BA")
    assert larger.pitch_mm > smaller.pitch_mm
    assert larger.nominal_diameter_mm > smaller.nominal_diameter_mm


# Of Unified and metric classes the letter tells the side; the others say it in words.
NUTS = re.compile(r"(\d+[GH])+|[123]B|.*nut")
# Classes whose largest screw is the basic one.
WITHOUT_PLAY = ("4h", "6h", "3A", "close screw", "medium screw", "A", "B")


def test_limits_say_whose_they_are_and_where_from_and_begin_at_the_basic_sizes():
    for name, thread, tolerance_class in every_limit():
        found = limits(thread, tolerance_class)
        told = (name, tolerance_class, found)
        assert found.designation == thread.designation, told
        assert found.tolerance_class == tolerance_class, told
        assert found.side == ("nut" if NUTS.fullmatch(tolerance_class) else "screw"), told
        assert re.search("read|memory", found.source), told
        basic = basic_sizes(thread)
        # The tables round to 0.001 mm or 0.0001 in, that of BA to its own steps of depth.
        near = 0.006 if "BA" in name else 0.0026
        if found.side == "nut" and "G" not in tolerance_class:
            assert found.major_mm[0] >= basic.major_diameter_mm - near, told
            assert found.pitch_mm[0] == pytest.approx(basic.pitch_diameter_mm, abs=near), told
            assert found.major_mm[1] == np.inf, told
        elif tolerance_class in WITHOUT_PLAY:
            assert found.major_mm[1] == pytest.approx(basic.major_diameter_mm, abs=near), told
            assert found.pitch_mm[1] == pytest.approx(basic.pitch_diameter_mm, abs=near), told


@pytest.mark.parametrize(
    ("typed", "tolerance_class"),
    [
        ("G1/2 A", "A"),
        ("G 3/4 - b", "B"),
        ("G1", ""),
        ("1/2 BSP", ""),
        ("M10-6H", "6H"),
        ("1/4-20 UNC-2A", "2A"),
    ],
)
def test_a_class_behind_a_designation_is_read(typed, tolerance_class):
    assert parse(typed).tolerance_class == tolerance_class


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        ("M10x1 , 2 start - LH", "M10xPh2P1-LH"),
        ("Tr40x14P7 - 7e LH", "Tr40x14P7LH-7e"),
        ("M10x1 - left hand", "M10x1-LH"),
        ("1/4-20 UNC , LH", "1/4-20 UNC-LH"),
    ],
)
def test_what_stands_between_the_size_and_its_ending_does_not_matter(typed, same):
    assert parse(typed) == parse(same)
