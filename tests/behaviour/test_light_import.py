"""Importing the package costs next to nothing: heavy libraries come in when they are first used."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "machinelab"
HEAVY = ("pint", "pandas", "scipy", "matplotlib", "pydantic", "ipywidgets", "IPython", "sympy", "tomlkit")
ROOMS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls")
LONGEST_S = 0.15
TRIES = 5


def in_a_fresh_interpreter(code):
    """Run code in a new Python and return what it prints, read as JSON."""
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return json.loads(run.stdout)


def loaded_by(code):
    """The heavy libraries that a piece of code brings in."""
    listing = f"import json, sys\nprint(json.dumps([name for name in {HEAVY!r} if name in sys.modules]))"
    return in_a_fresh_interpreter(f"{code}\n{listing}")


def test_the_guard_would_notice_a_heavy_library():
    assert loaded_by("import tomlkit") == ["tomlkit"]


@pytest.mark.parametrize(
    "what", ["machinelab", "machinelab.units", *(f"machinelab.{room}" for room in ROOMS)]
)
def test_nothing_heavy_comes_in_with(what):
    assert loaded_by(f"import {what}") == []


def test_the_registry_of_units_is_built_only_when_a_unit_is_converted():
    assert loaded_by("from machinelab import units\nunits.show(3, 'rpm')\nunits.exact('3 rpm', 'rpm')") == []
    assert loaded_by("from machinelab import units\nunits.exact('8 tpi', 'mm')")[0] == "pint"


def test_physics_brings_in_no_picture_no_form_and_no_table_library():
    modules = sorted(
        ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts)
        for room in ROOMS
        for file in (PACKAGE / room).glob("*.py")
        if file.stem != "__init__"
    )
    brought = loaded_by("\n".join(f"import {module}" for module in modules))
    assert [name for name in brought if name != "scipy"] == []


def test_importing_adds_next_to_nothing_to_importing_numpy():
    timed = (
        "import json, time, numpy\n"
        "started = time.perf_counter()\n"
        "import machinelab\n"
        "print(json.dumps(time.perf_counter() - started))"
    )
    assert min(in_a_fresh_interpreter(timed) for _ in range(TRIES)) < LONGEST_S
