from fractions import Fraction

import numpy as np
import pytest

from machinelab.errors import RangeError
from machinelab.ranges import exact, exact_positive, exact_ratio, not_negative, positive, whole


@pytest.mark.parametrize("value", [3, np.int64(3), np.uint8(3), Fraction(3)])
def test_exact_numbers_of_every_kind_become_plain_fractions(value):
    fraction = exact("lead_mm", value)
    assert fraction == 3
    assert type(fraction.numerator) is int


def test_a_rounded_decimal_is_refused_with_the_fraction_to_type_instead():
    with pytest.raises(RangeError, match=r'lead_mm is 3\.175.*Fraction\("3\.175"\)'):
        exact("lead_mm", np.float64(3.175))


@pytest.mark.parametrize("value", [True, "3", None, float("nan"), float("inf"), 1j, [3], np.array([3])])
def test_what_is_no_single_exact_number_is_refused_by_name(value):
    with pytest.raises(RangeError, match="lead_mm"):
        exact("lead_mm", value)


def test_zero_and_the_wrong_sign_are_refused_where_they_mean_nothing():
    assert exact_ratio("ratio", -2) == -2
    with pytest.raises(RangeError, match="ratio is zero"):
        exact_ratio("ratio", 0)
    for value in (0, -3):
        with pytest.raises(RangeError, match="must be more than zero"):
            exact_positive("screw_lead_mm", value)


@pytest.mark.parametrize("value", [2.0, "2", None, True, np.bool_(True), Fraction(2)])
def test_teeth_and_lines_are_whole_numbers_without_a_point(value):
    with pytest.raises(RangeError, match="lines"):
        whole("lines", value)


def test_a_whole_number_may_be_held_to_a_least_one_or_to_none():
    assert whole("teeth", np.int32(8), at_least=8) == 8
    assert whole("count", -5, at_least=None) == -5
    with pytest.raises(RangeError, match="at least 8"):
        whole("teeth", 7, at_least=8)


def test_numbers_and_arrays_above_zero_pass_and_missing_ones_stay_missing():
    assert positive("gate_s", 0.1) == 0.1
    assert np.isnan(positive("gate_s", np.nan))
    assert not_negative("length_mm", 0) == 0
    with pytest.raises(RangeError, match="gate_s is -2"):
        positive("gate_s", np.array([1.0, np.nan, -2.0]))
    with pytest.raises(RangeError, match="length_mm is -1"):
        not_negative("length_mm", [-1.0, np.nan])


@pytest.mark.parametrize("value", ["fast", "5", None, [1, [2]], object()])
def test_what_is_no_number_is_refused_by_name(value):
    with pytest.raises(RangeError, match="gate_s"):
        positive("gate_s", value)
