"""Each printed formula, worked out by an algebra library, gives what the calculation returns."""

import inspect
import math
import random
from contextlib import suppress
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache
from numbers import Rational

import numpy as np
import pytest
from physics_rooms import public_functions, readable_name

from machinelab.errors import RangeError
from machinelab.tables import nomenclature
from machinelab.worked.handbook import entry, evaluate

WANTED_CASES = 8
MOST_TRIES = 400
RELATIVE = 1e-9
ABSOLUTE = 1e-15

NAMES = nomenclature()
WITH_FORMULA = [function for function in public_functions() if entry(function).formula]
FOR_ARRAYS = [function for function in WITH_FORMULA if "or array" in entry(function).sections["Parameters"]]
KEEPING_WHAT_IS_MISSING = [
    function
    for function in FOR_ARRAYS
    if "NaN in gives NaN out" in " ".join(entry(function).sections["Range"].split())
]


def sample(name: str, chance: random.Random):
    assert name in NAMES, f"{name} is not in the nomenclature"
    quantity = NAMES[name]
    low, high = quantity.low, quantity.high
    assert low is not None, f"{name} has no ordinary range in the nomenclature"
    if quantity.kind == "integer":
        return chance.randint(int(low), int(high))
    if quantity.kind == "ratio":
        return low + (high - low) * Fraction(chance.randint(0, 1270), 1270)
    if low > 0 and high >= 100 * low:
        return float(low) * float(high / low) ** chance.random()
    return chance.uniform(float(low), float(high))


@cache
def cases(function) -> list:
    """Return inputs within their ordinary ranges that the calculation and its formula's conditions accept."""
    chance = random.Random(function.__name__)
    found = []
    for _ in range(MOST_TRIES):
        inputs = {name: sample(name, chance) for name in inspect.signature(function).parameters}
        with suppress(RangeError):
            result = function(**inputs)
            printed = printed_formula(function, inputs)
            if printed is not None:
                found.append((inputs, result, printed))
        if len(found) == WANTED_CASES:
            return found
    raise AssertionError(
        f"only {len(found)} of {MOST_TRIES} samples suit the formula; mend the ordinary ranges"
    )


def printed_formula(function, inputs) -> dict | None:
    """Work out the printed formula; None where its own conditions say that it does not hold."""
    values = dict(inputs)
    for line in entry(function).formula:
        value = evaluate(line.expression, values)
        if line.is_condition and not value:
            return None
        values[line.name] = value
    return {line.name: values[line.name] for line in entry(function).formula if not line.is_condition}


def assert_same(calculated, printed, documented: str, told: str):
    if isinstance(printed, bool):
        assert bool(calculated) is printed, told
        return
    if isinstance(printed, complex):
        assert abs(printed.imag) <= RELATIVE * abs(printed), told
        printed = printed.real
    if isinstance(printed, Rational) and isinstance(calculated, Rational):
        assert calculated == printed, told
        return
    assert "float" in documented or isinstance(printed, float), f"{told}: exact in print, rounded in the code"
    assert math.isclose(float(calculated), float(printed), rel_tol=RELATIVE, abs_tol=ABSOLUTE), told


def figures(result, name: str) -> dict:
    if is_dataclass(result):
        return {field.name: getattr(result, field.name) for field in fields(result)}
    return {name: result}


def check_formula(function):
    described = entry(function)
    for inputs, result, printed in cases(function):
        for name, calculated in figures(result, described.name).items():
            if name in printed:
                told = f"{name}: calculated {calculated}, printed formula {printed[name]}, inputs {inputs}"
                figure = entry(type(result)).parameters[name] if is_dataclass(result) else described.returned
                assert_same(calculated, printed[name], figure.type, told)


@pytest.mark.parametrize("function", WITH_FORMULA, ids=readable_name)
def test_the_printed_formula_gives_what_the_calculation_returns(function):
    check_formula(function)


@pytest.mark.parametrize("function", FOR_ARRAYS, ids=readable_name)
def test_an_array_gives_the_same_as_its_members_one_by_one(function):
    described = entry(function)
    found = cases(function)
    for name in (name for name, one in described.parameters.items() if "or array" in one.type):
        inputs = found[0][0]
        singles = {}
        for other, *_ in found:
            with suppress(RangeError):
                singles[other[name]] = figures(function(**(inputs | {name: other[name]})), described.name)
        together = figures(function(**(inputs | {name: np.array(list(singles))})), described.name)
        for figure, values in together.items():
            one_by_one = np.array([single[figure] for single in singles.values()], dtype=float)
            values = np.broadcast_to(np.asarray(values, dtype=float), one_by_one.shape)
            np.testing.assert_allclose(
                values, one_by_one, rtol=1e-12, atol=1e-15, err_msg=f"{figure}({name})"
            )


@pytest.mark.parametrize("function", KEEPING_WHAT_IS_MISSING, ids=readable_name)
def test_a_missing_number_stays_missing(function):
    described = entry(function)
    inputs = cases(function)[0][0]
    for name, one in described.parameters.items():
        if one.type.startswith("float or array"):
            result = figures(function(**(inputs | {name: math.nan})), described.name)
            assert any(np.isnan(np.asarray(value, dtype=float)).any() for value in result.values()), name


def doubled(lines):
    """Twice the lines.

    Formula
    -------
    doubled = 2 * lines + 1

    Parameters
    ----------
    lines : int [line]
        Lines.

    Returns
    -------
    int [line]
        Lines.
    """
    return 2 * lines


def slowed(speed_rpm):
    """A speed that is printed a millionth too high.

    Formula
    -------
    slowed = speed_rpm * 1.000001

    Parameters
    ----------
    speed_rpm : float [rpm]
        Speed.

    Returns
    -------
    float [rpm]
        Speed.
    """
    return speed_rpm


def rounded(ratio):
    """A ratio that is rounded in the code.

    Formula
    -------
    rounded = ratio

    Parameters
    ----------
    ratio : Fraction [1]
        Ratio.

    Returns
    -------
    Fraction [1]
        Ratio.
    """
    return float(ratio)


def never(speed_rpm):
    """A formula that never holds.

    Formula
    -------
    speed_rpm < 0
    never = speed_rpm

    Parameters
    ----------
    speed_rpm : float [rpm]
        Speed.

    Returns
    -------
    float [rpm]
        Speed.
    """
    return speed_rpm


@pytest.mark.parametrize("wrong", [doubled, slowed, rounded, never], ids=lambda one: one.__name__)
def test_a_formula_that_differs_from_the_code_is_caught(wrong):
    with pytest.raises(AssertionError):
        check_formula(wrong)
