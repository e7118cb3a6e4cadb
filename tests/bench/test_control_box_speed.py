"""What it costs to search a careful control box, and to try every single fault of it."""

import time
import tomllib
from pathlib import Path

import pytest

from machinelab.controls.explore import explore
from machinelab.controls.fault import every_fault
from machinelab.controls.faults import sweep, verdict_on_faults
from machinelab.controls.panel_reading import read_panel

pytestmark = pytest.mark.bench

DATA = Path(__file__).resolve().parents[1] / "outside" / "data"
SEARCH_S, SWEEP_S = 5.0, 120.0


@pytest.fixture(scope="module")
def careful():
    return read_panel(tomllib.loads((DATA / "panel_careful.toml").read_text()))


def test_the_careful_box_is_searched_in_seconds(careful, figures):
    began = time.perf_counter()
    found = explore(careful)
    took_s = time.perf_counter() - began
    figures.add(f"careful box, {found.states} states", took_s, "s", wanted=f"under {SEARCH_S:g} s")
    assert found.finished
    assert took_s < SEARCH_S


def test_every_single_fault_is_tried_within_two_minutes_on_two_cores(careful, figures):
    began = time.perf_counter()
    results = tuple(result for _, _, result in sweep(careful, workers=2))
    took_s = time.perf_counter() - began
    states = sum(result.states for result in results)
    what = f"careful box, {len(results)} single faults, {states} states"
    figures.add(what, took_s, "s", wanted=f"under {SWEEP_S:g} s")
    assert len(results) == len(every_fault(careful))
    assert verdict_on_faults(results, tried_all=True) == "kept"
    assert took_s < SWEEP_S
