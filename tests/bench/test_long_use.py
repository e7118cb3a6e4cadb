"""What long use costs: a record of many years, many moves of a slider, many saves."""

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from simulate import slider_moves

from machinelab.workbook import machine as machines
from machinelab.workbook.machine import Machine
from machinelab.workbook.pages.record import RecordPage
from machinelab.workbook.pages.start import StartPage
from machinelab.workbook.readings import Readings
from machinelab.workbook.record import Record
from machinelab.workbook.record.line import link

pytestmark = pytest.mark.bench

LINES, OPENS_S = 100_000, 1.0
MOVES, WARM_UP, GROWS_MB = 5_000, 600, 20.0
SAVES = 1_000
METRIC = Path(__file__).resolve().parents[1] / "machines" / "metric"


@pytest.fixture
def own(tmp_path) -> Path:
    """A machine of one's own, to be written to."""
    return Path(shutil.copytree(METRIC, tmp_path / "lathe"))


def long_record(folder: Path) -> None:
    """Write the same thirty checks again and again, each chained to the one before."""
    before, lines = "", []
    for number in range(1, LINES + 1):
        parts = {"schema": 1, "id": f"{number:04d}", "step": f"{number % 15 + 1:02d}"}
        parts |= {"time": "2026-03-01T10:00:00+01:00", "quantity": f"check {number % 30}"}
        parts |= {"measured": {"value": 5.0, "U": 0.1, "k": 2, "unit": "s"}, "verdict": "RECORDED"}
        lines.append(json.dumps(parts | {"notes": "belt on, oil warm, chuck on", "prev": before}).encode())
        before = link(lines[-1])
    (folder / "record.jsonl").write_bytes(b"\n".join(lines) + b"\n")


def took_s(work) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def test_a_record_of_100_000_lines_opens_in_under_a_second(own, figures):
    long_record(own)
    machine = machines.load(own)
    # The quickest of three: a busy moment of the computer must not decide.
    opened_s = min(took_s(lambda: Record(own).lines_in_force()) for _ in range(3))
    page_s = min(took_s(lambda: StartPage(machine).steps()) for _ in range(3))
    added_s = took_s(lambda: Record(own).add("05", "one more", value=5.0, uncertainty=0.1, unit="s"))
    whole_s = took_s(lambda: Record(own).lines())
    decided_s = took_s(lambda: RecordPage(machine).decision())
    figures.add(f"record of {LINES} lines, opened", opened_s, "s", wanted=f"under {OPENS_S:g} s")
    figures.add(f"record of {LINES} lines, start page", page_s, "s", wanted=f"under {OPENS_S:g} s")
    figures.add(f"record of {LINES} lines, one line added", added_s, "s")
    figures.add(f"record of {LINES} lines, every line read closely", whole_s, "s")
    figures.add(f"record of {LINES} lines, what to do next", decided_s, "s", wanted=f"under {OPENS_S:g} s")
    assert len(Record(own).lines_in_force()) == 31
    assert opened_s < OPENS_S
    assert page_s < OPENS_S
    assert decided_s < OPENS_S


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_5_000_moves_of_sliders_leave_the_memory_as_it_was(figures):
    asked = [sys.executable, slider_moves.__file__, str(WARM_UP), str(MOVES)]
    told = json.loads(subprocess.run(asked, check=True, capture_output=True, text=True).stdout)
    grown_mb = told["after_mb"] - told["before_mb"]
    figures.add(f"memory gained by {MOVES} moves", grown_mb, "MB", wanted=f"under {GROWS_MB:g}")
    figures.add("one move of a slider, computing and drawing", 1000 * told["took_s"] / MOVES, "ms")
    assert grown_mb < GROWS_MB


def test_a_thousand_saves_leave_whole_files(own, figures):
    def save_all():
        for number in range(SAVES):
            machines.save({"lathe.swing": f"{300 + number % 50} mm"}, own)

    def keep_all():
        kept = Readings(own)
        for number in range(SAVES):
            kept.keep("05", "guess", f"{number} s")

    figures.add(f"{SAVES} saves of the machine file", took_s(save_all), "s")
    figures.add(f"{SAVES} readings kept", took_s(keep_all), "s")
    machine: Machine = machines.load(own)
    assert machine.lathe.swing_mm == 300 + (SAVES - 1) % 50
    assert Readings(own).of("05")["guess"] == f"{SAVES - 1} s"
    assert sorted(file.name for file in own.iterdir()) == ["machine.toml", "readings.toml"]
