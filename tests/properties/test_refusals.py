"""Each number of each calculation, spoilt in turn in the calculation's own example, is refused by its name.

Who typed it looks for that name; a refusal that names another quantity sends them to the wrong box.
"""

import re
from contextlib import suppress
from itertools import product
from numbers import Real

import pytest
from physics_rooms import example_inputs, public_functions, readable_name

from machinelab.errors import MachinelabError, RangeError
from machinelab.ranges import positive

# Where several inputs are told of in one sentence, the words in it that stand for this one.
TOLD_TOGETHER = {
    "taper_sd_mm": "uncertainty of collars",
    "twist_sd_mm_m": "uncertainty of level",
    "motor_pulley_mm": "pulley_mm",
    "spindle_pulley_mm": "other_pulley_mm",
    "at_mm": "tool stands off the bar",
    "cut_from_mm": "The cut from -1",
    "groove_mm": "A groove of 0 mm has no room",
    "chuck_spring_n_mm": "supports do not hold the bar",
    "chuck_turning_nmm_rad": "supports do not hold the bar",
    "start_speed_rad_s": "start speed",
    "start_speed_rpm": "from 0 rpm",
    **dict.fromkeys(("coulomb_rad_s2", "viscous_per_s", "windage_per_rad"), "these drags"),
    "voltage_v": "V for each pole",
    "resistor_ohm": "this brake current|larger than the first",
}
# Designations hold no sign.
BELOW_ZERO = [
    function for function in public_functions() if function.__name__ not in ("settled", "in_no_series")
]


def numbers_of(inputs: dict) -> list[str]:
    return [name for name, value in inputs.items() if isinstance(value, Real) and not isinstance(value, bool)]


def assert_named(refusal: MachinelabError, name: str):
    told = rf"\b({TOLD_TOGETHER.get(name, name)}|{name})\b"
    assert re.search(told, str(refusal)), f"{name} is wrong, and the refusal says: {refusal}"


def check_text_is_refused_by_name(function):
    inputs = example_inputs(function)
    for name in numbers_of(inputs):
        # What is not checked because any number will do meets Python's own complaint.
        with suppress(TypeError, ValueError, AttributeError):
            try:
                function(**(inputs | {name: "thick"}))
            except MachinelabError as refusal:
                assert_named(refusal, name)


@pytest.mark.parametrize("function", public_functions(), ids=readable_name)
def test_what_is_no_number_is_refused_by_the_name_of_its_input(function):
    check_text_is_refused_by_name(function)


@pytest.mark.parametrize("function", BELOW_ZERO, ids=readable_name)
def test_zero_and_less_is_worked_with_or_refused_by_the_name_of_its_input(function):
    inputs = example_inputs(function)
    for name, value in product(numbers_of(inputs), (-1, 0)):
        try:
            function(**(inputs | {name: value}))
        except MachinelabError as refusal:
            assert_named(refusal, name)


def misnamed(speed_rpm):
    """Refuse a speed under the name of another quantity.

    Examples
    --------
    >>> misnamed(100)
    100
    """
    return positive("feed_mm", speed_rpm)


def test_a_refusal_that_names_another_quantity_is_caught():
    with pytest.raises(AssertionError, match="speed_rpm is wrong"):
        check_text_is_refused_by_name(misnamed)
    with pytest.raises(RangeError):
        misnamed(-1)
