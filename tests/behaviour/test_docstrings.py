import inspect
from dataclasses import fields

import pytest
from physics_rooms import each_of, public_functions, public_results

from machinelab.tables import nomenclature
from machinelab.worked.handbook import entry

SECTIONS = ("Formula", "Parameters", "Returns", "Range", "Raises", "Examples", "Source")
ALWAYS_THERE = {"Formula", "Returns", "Source"}


def test_a_check_of_many_names_each_that_fails():
    def is_even(number):
        assert number % 2 == 0, "odd"

    with pytest.raises(AssertionError, match=r"(?s)^1: odd.*\n3: odd") as failed:
        each_of([1, 2, 3], str)(is_even)()
    assert "2: " not in str(failed.value)


@each_of(public_functions())
def test_the_fixed_sections_stand_in_their_order(function):
    found = list(entry(function).sections)
    assert found == [section for section in SECTIONS if section in found]
    assert set(found) >= ALWAYS_THERE


@each_of(public_functions())
def test_the_answer_is_one_line_and_the_source_is_named(function):
    described = entry(function)
    assert described.answer.endswith((".", "?"))
    assert described.source
    assert described.formula or described.reason


@each_of(public_functions())
def test_the_documented_inputs_are_those_of_the_signature(function):
    assert list(entry(function).parameters) == list(inspect.signature(function).parameters)


@each_of(public_results())
def test_the_documented_figures_of_a_result_are_those_it_has(result):
    assert list(entry(result).parameters) == [field.name for field in fields(result)]


@each_of(public_functions() + public_results())
def test_the_unit_in_brackets_is_that_of_the_nomenclature(documented):
    units = {name: parameter.unit for name, parameter in entry(documented).parameters.items()}
    names = nomenclature()
    assert units == {name: names[name].unit if name in names else "not in the nomenclature" for name in units}


@each_of(public_functions())
def test_every_calculation_has_an_example_that_is_run(function):
    assert ">>>" in entry(function).sections.get("Examples", "")


@each_of(public_functions())
def test_a_formula_ends_in_what_the_calculation_returns(function):
    described = entry(function)
    figures = [line for line in described.formula if not line.is_condition]
    if not figures:
        assert described.reason
    elif any(line.is_field for line in figures):
        assert figures[-1].is_field
    else:
        assert figures[-1].name == described.name
