"""The sample record of the demo machine: eight months of an INVENTED workshop, written by the record itself.

Run this file to write ``notebooks/machines/demo/record_sample.jsonl`` anew. The values of the last autumn are
those that the pages find in the demo's logs and readings; earlier ones are made up around them.
"""

import shutil
from datetime import datetime, timedelta, timezone
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from machinelab.workbook import machine as machines
from machinelab.workbook.machine.edit import write_machine
from machinelab.workbook.record import Record
from machinelab.workbook.record.sample import FILE_NAME

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"
ZONE = timezone(timedelta(hours=1))
FREE_RUN = "time to standstill from 1400 rpm, without brake"
BRAKED = "time to standstill from 1400 rpm, braked"
BACKLASH = "backlash of the carriage"
BOX = "control box: desk check and tests with the plug out"
HAND = "own choice: the hand is near the chuck when a pass ends"
LOG = {"name": "log of speed", "U_from": "spread of the readings about the fit"}
DIAL = {"name": "dial indicator and gauge blocks", "U_from": "dial's division and runs"}
# What the brake's resistor was before it was changed in September.
OLD_RESISTOR = {"brake.resistor": "15 ohm"}


class Clock:
    """Stands in the place of the computer's clock, so that the lines carry days of the past."""

    def __init__(self, day):
        self.day = day

    def now(self):
        return self

    def astimezone(self):
        return datetime.fromisoformat(f"{self.day}T18:30:00").replace(tzinfo=ZONE)


class Year:
    """A record whose days are said."""

    def __init__(self, folder):
        self.record = Record(folder)

    def add(self, day, step, quantity, **line):
        with patch("machinelab.workbook.record.datetime", Clock(day)):
            return self.record.add(step, quantity, by="E.B.", **line).id

    def void(self, day, line, reason):
        with patch("machinelab.workbook.record.datetime", Clock(day)):
            self.record.void(line, reason, by="E.B.")


def write_year(folder):
    """Write the invented year into a folder that holds a copy of the demo's machine file."""
    year = Year(folder)
    write_machine(folder, OLD_RESISTOR)
    _spring(year, machines.load(folder))
    write_machine(folder, {"brake.resistor": machines.load(DEMO).typed["brake.resistor"]})
    _autumn(year)
    return year.record


def _spring(year, machine):
    built = {"fingerprint": machine.fingerprint()[:16], "lines filled in": len(machine.values())}
    year.add("2026-03-14", "01", "machine as built", verdict="RECORDED", conditions=built)
    feed = "mushroom in, and the feed's supply stays on"
    year.add("2026-03-14", "02", BOX, verdict="NOT MET", conditions={"broken": feed})
    year.add("2026-03-21", "02", BOX, verdict="MET", notes="Feed's supply now in the stop chain.")
    counter = {"name": "the machine's own counter, mark set by dial indicator"}
    lost = "counts lost in 100 turns by hand each way"
    why = "own choice: a lost count shifts every later pass"
    counts = {"value": 0.0, "uncertainty": 0.2, "unit": "counts", "lower": -1.0, "upper": 1.0}
    year.add("2026-03-28", "04", lost, **counts, where_from=why, instrument=counter)
    free_run(year, "2026-04-04", 31.6, 0.4, notes="Belt on, oil cold.")
    braked = {"value": 4.9, "uncertainty": 0.05, "unit": "s", "upper": 2.5, "where_from": HAND}
    year.add("2026-04-04", "06", BRAKED, **braked, instrument=LOG)
    backlash(year, "2026-05-09", 0.118)
    wrong = free_run(year, "2026-06-20", 3.09, 0.3)
    free_run(year, "2026-06-21", 30.9, 0.3, notes="Point in the wrong place.", replaces=wrong)
    rubbed = free_run(year, "2026-08-15", 24.1, 0.3)
    year.void("2026-08-16", rubbed, "The chuck rubbed on its guard.")


def _autumn(year):
    emf = "back EMF turned by a drill against running light, difference"
    year.add(
        "2026-10-24",
        "03",
        emf,
        value=-0.11,
        uncertainty=0.42,
        unit="%",
        lower=-3.0,
        upper=3.0,
        where_from="common practice, no source: more tells of brushes, magnets or a meter",
        instrument={"name": "multimeter and rpm counter"},
    )
    free_run(year, "2026-10-31", 30.0, 0.3, notes="Spindle bearings run in.")
    screw = {"value": 30.0, "uncertainty": 80.0, "unit": "ppm", "lower": -133.3, "upper": 133.3}
    usual = "own choice: usual for a lathe of this size"
    turns = "lead error over 100 turns of M10x1"
    year.add("2026-11-07", "07", turns, **screw, where_from=usual, instrument=DIAL)
    in_hand = "torque in hand in Tr14x3 at 100 rpm"
    torque = {"value": 2.82, "uncertainty": 0.57, "unit": "times", "lower": 2.0}
    half = "own choice: common practice, no source"
    spring = {"name": "string or torque screwdriver at the screw"}
    year.add("2026-11-07", "08", in_hand, **torque, where_from=half, instrument=spring)
    groove = {"value": 2.57, "uncertainty": 0.08, "unit": "mm", "upper": 2.5, "where_from": "as drawn"}
    stops = {"name": "20 stops on scrap", "U_from": "what so few stops leave open"}
    year.add("2026-11-14", "10", "groove for 99 passes in 100, 26 tpi cycle", **groove, instrument=stops)
    backlash(year, "2026-11-14", 0.123)
    taper = {"value": 138.0, "uncertainty": 28.0, "unit": "ppm", "lower": -66.7, "upper": 66.7}
    year.add(
        "2026-11-21",
        "12",
        "taper of collars in the chuck",
        **taper,
        where_from="own choice: fit of a cone on its axle",
        instrument={"name": "micrometer", "U_from": "its doubt at both collars"},
        photo=["collars.png"],
    )


def free_run(year, day, value, uncertainty, **more):
    """One free run-down."""
    line = {"value": value, "uncertainty": uncertainty, "unit": "s", "upper": 2.5, "where_from": HAND}
    return year.add(day, "05", FREE_RUN, **line, instrument=LOG, **more)


def backlash(year, day, value):
    """One measurement of the backlash."""
    why = "own choice: taken up before each cut anyway"
    line = {"value": value, "uncertainty": 0.01, "unit": "mm", "upper": 0.15, "where_from": why}
    return year.add(day, "11", BACKLASH, **line, instrument=DIAL)


def main():
    """Write the sample record into the demo machine's folder."""
    with TemporaryDirectory() as scratch:
        shutil.copy(DEMO / "machine.toml", scratch)
        (DEMO / FILE_NAME).write_bytes(write_year(Path(scratch)).path.read_bytes())


if __name__ == "__main__":
    main()
