"""A length typed as a fraction, as inches are, gives what the same length does as a decimal number."""

from dataclasses import is_dataclass
from fractions import Fraction
from numbers import Real

import numpy as np
import pytest
from physics_rooms import example_inputs, public_functions, readable_name

from machinelab.errors import RangeError


def lengths(function) -> list[str]:
    given = example_inputs(function)
    return [
        name
        for name, value in given.items()
        if name.endswith("_mm") and not name.endswith("_n_mm") and isinstance(value, Real)
    ]


def takes_decimals(function, name: str) -> bool:
    """Whether a length may be a decimal at all; leads and what hangs on them exactly may not."""
    try:
        function(**(example_inputs(function) | {name: 1.5}))
    except RangeError as refusal:
        return "Exact figures are needed" not in str(refusal)
    return True


def figures(result) -> dict:
    return vars(result) if is_dataclass(result) else {"the result": result}


CASES = [
    pytest.param(function, name, id=f"{readable_name(function)}-{name}")
    for function in public_functions()
    for name in lengths(function)
    if takes_decimals(function, name)
]


@pytest.mark.parametrize(("function", "name"), CASES)
def test_a_length_as_a_fraction_gives_what_its_decimal_does(function, name):
    inputs = example_inputs(function)
    exact = Fraction(inputs[name]).limit_denominator(10_000)
    by_decimal, by_fraction = (function(**(inputs | {name: number(exact)})) for number in (float, Fraction))
    for figure, value in figures(by_decimal).items():
        found = figures(by_fraction)[figure]
        if np.asarray(value).dtype.kind in "fiu":
            found = float(found) if isinstance(found, Fraction) else found
            assert np.asarray(found).dtype != object, f"{figure} is no number: {found!r}"
            np.testing.assert_allclose(found, value, rtol=1e-12, err_msg=figure)
