import inspect
from collections import Counter
from dataclasses import fields
from operator import attrgetter

from physics_rooms import each_of, public_functions, public_results

from machinelab import tables
from machinelab.worked.handbook import entry

NAMES = tables.nomenclature()

# What the end of a name promises about its unit, the longest ending that fits counting.
ENDINGS = {
    "mm": "mm", "um": "um", "m": "m", "mm2": "mm2", "mm_min": "mm/min", "mm_s": "mm/s", "m_min": "m/min",
    "m_s": "m/s", "rpm": "rpm", "rpm_s": "rpm/s", "rad": "rad", "deg": "deg", "rad_s": "rad/s",
    "rad_s2": "rad/s2", "s": "s", "hz": "Hz", "per_s": "1/s", "per_rad": "1/rad", "per_k": "1/K", "k": "K",
    "n": "N", "nm": "N m", "kg": "kg", "kg_m2": "kg m2", "v": "V", "a": "A", "ohm": "ohm", "w": "W", "j": "J",
    "ppm": "ppm", "teeth": "tooth", "count": "count", "turns": "turn", "v_s_per_rad": "V s/rad",
    "n_mm2": "N/mm2", "min": "min", "degc": "degC", "j_per_kg_k": "J/(kg K)", "f": "F", "mm_m": "mm/m",
    "mm_m2": "mm/m2", "n_um": "N/um", "n_mm": "N/mm", "nmm_rad": "N mm/rad", "mm4": "mm4", "hz_s": "Hz/s",
    "nm_s": "N m s", "kg_m3": "kg/m3", "per_mm": "1/mm",
}  # fmt: skip


def _promised_unit(name: str) -> str | None:
    words = name.split("_")
    starts = (start for start in range(1, len(words)) if words[start - 1] != "per")
    endings = ("_".join(words[start:]) for start in starts)
    return next((ENDINGS[ending] for ending in endings if ending in ENDINGS), None)


def test_every_name_is_defined_only_once():
    counted = Counter(row["name"] for row in tables.read("nomenclature"))
    assert [name for name, times in counted.items() if times > 1] == []


@each_of(NAMES.values(), attrgetter("name"))
def test_a_name_has_a_meaning_a_kind_and_an_ordinary_range_if_it_is_sampled(quantity):
    assert quantity.meaning
    assert quantity.kind in tables.KINDS
    assert (quantity.low is None) == (quantity.high is None)
    if quantity.low is not None:
        assert quantity.is_number
        assert quantity.low < quantity.high
        assert quantity.symbol
        assert quantity.latex
    if quantity.is_number:
        assert quantity.unit, "a pure number has the unit 1"
    if quantity.kind == "integer" and quantity.low is not None:
        assert quantity.low.denominator == quantity.high.denominator == 1


@each_of([one for one in NAMES.values() if one.is_number], attrgetter("name"))
def test_a_unit_is_the_one_that_the_end_of_the_name_promises(quantity):
    promised = _promised_unit(quantity.name)
    assert promised in (None, quantity.unit)


@each_of(public_functions())
def test_every_input_of_a_calculation_is_in_the_nomenclature(function):
    unknown = [name for name in inspect.signature(function).parameters if name not in NAMES]
    assert unknown == []


@each_of(public_results())
def test_every_figure_of_a_result_is_in_the_nomenclature(result):
    unknown = [field.name for field in fields(result) if field.name not in NAMES]
    assert unknown == []


@each_of(public_functions())
def test_what_a_formula_gives_is_in_the_nomenclature_with_the_same_unit(function):
    described = entry(function)
    for line in described.formula:
        if line.is_field or line.name == described.name:
            assert line.name in NAMES
    if described.name in NAMES and not any(line.is_field for line in described.formula):
        assert described.returned.unit == NAMES[described.name].unit


@each_of(public_functions())
def test_no_two_inputs_of_one_formula_share_a_symbol(function):
    described = entry(function)
    if described.formula:
        symbols = Counter(NAMES[name].symbol for name in described.parameters)
        assert [symbol for symbol, times in symbols.items() if times > 1] == []
