"""A shop evening at the sliders: so many moves of four panels in a Python of their own.

Run as a program, so that nothing else lives in its memory: ``slider_moves.py WARM_UP MOVES`` prints one line
of JSON, the memory in megabytes before and after and the processor's seconds in between.
"""

import gc
import itertools
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

from machinelab.workbook import machine as machines
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.gearing import GearingPage
from machinelab.workbook.pages.slender import SlenderPage
from machinelab.workbook.pages.threading import ThreadingPage

PAGE_BYTES = 4096
PANELS = (
    lambda machine: ThreadingPage(machine).panel(),
    lambda machine: SlenderPage(machine).panel,
    lambda machine: GearingPage(machine).panel(),
    lambda machine: CoastDownPage(machine).run_on_panel,
)


def resident_mb() -> float:
    """Memory of this process that is really in use."""
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE_BYTES / 1e6


def mover() -> Callable[[int], None]:
    """Open the panels, and give what moves their sliders in turn, so many times, to places far apart."""
    panels = [make(machines.load("demo")) for make in PANELS]
    controls = [control for panel in panels for control in panel.controls.values()]
    sliders = itertools.cycle(control.slider for control in controls if hasattr(control, "slider"))

    def move(times: int) -> None:
        for number in range(times):
            slider = next(sliders)
            slider.value = slider.min + (number * 7919) % (slider.max - slider.min + 1)

    return move


def weighed(warm_up: int, moves: int) -> dict[str, float]:
    """The memory before and after so many moves, and what they cost."""
    move = mover()
    move(warm_up)
    before_mb, began_s = resident_mb(), time.process_time()
    move(moves)
    return {
        "before_mb": before_mb,
        "took_s": time.process_time() - began_s,
        "after_mb": resident_mb(),
    }


if __name__ == "__main__":
    print(json.dumps(weighed(*map(int, sys.argv[1:3]))))
