"""No module that offers a calculation goes without a property, found by what the properties import."""

import ast
from pathlib import Path

import pytest
from physics_rooms import public_functions

from machinelab.worked.handbook import entry

HERE = Path(__file__).parent
# What these offer is reached by a property through another door, and the reason why that is enough.
THROUGH_ANOTHER_DOOR = {
    "threads.ba_designation": "read through threads.form",
    "threads.inch_designation": "read through threads.form",
    "threads.metric_designation": "read through threads.form",
    "threads.pipe_designation": "read through threads.form",
    "threads.worm_designation": "read through threads.form",
    "threads.typed_thread": "read through threads.form",
    "threads.settled_thread": "read through threads.form",
    "threads.nearest_threads": "read through threads.form",
    "threads.ba_limits": "asked through threads.limits",
    "threads.metric_limits": "asked through threads.limits",
    "threads.pipe_limits": "asked through threads.limits",
    "threads.trapezoidal_limits": "asked through threads.limits",
}


def imported_by_properties() -> set[str]:
    names = set()
    for file in HERE.glob("test_*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                names |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
    return names


def offering() -> dict[str, bool]:
    """Each module that offers calculations, and whether one has a formula, which is tried at random."""
    found: dict[str, bool] = {}
    for function in public_functions():
        found[function.__module__] = found.get(function.__module__, False) or bool(entry(function).formula)
    return found


@pytest.mark.parametrize("module", sorted(offering()))
def test_a_module_that_offers_a_calculation_has_a_property(module):
    name = module.removeprefix("machinelab.")
    has_one = offering()[module] or module in imported_by_properties()
    assert has_one != (name in THROUGH_ANOTHER_DOOR)
