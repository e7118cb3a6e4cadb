"""Limits of size of every listed thread and each of its classes: in order, and never in each other's way."""

import contextlib

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import MachinelabError
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
