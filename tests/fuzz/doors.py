"""Every door by which something from outside comes in: what is good there, and how it is handed in."""

import io
import tempfile
import wave
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from unittest.mock import patch

from machinelab import units
from machinelab.threads import form
from machinelab.workbook import handover, speed_log
from machinelab.workbook import machine as machines
from machinelab.workbook.panel_file import parse_panel
from machinelab.workbook.record import Record
from machinelab.workbook.record.line import line_from
from machinelab.workbook.typed_table import read_columns

DEMO = Path(__file__).resolve().parents[2] / "notebooks" / "machines" / "demo"
# A whole log is not needed to spoil one, and a short one leaves time for more of them.
FIRST_BYTES = 4_000
# Each good quantity, and the plain unit that the box it was typed into wants.
QUANTITIES = {
    "8 tpi": "mm",
    "1-1/4 in": "mm",
    "1/2 in": "mm",
    "12.5 mm": "mm",
    "0.5 thou": "mm",
    "130 V": "V",
    "1400 rpm": "rpm",
    "3/4 hp": "W",
    "470 uF": "F",
    "90 lbf in": "N m",
    "5 %": "%",
    "12 AWG": "mm^2",
}


THREADS = (
    *("M10x1", "M6", "3/8-16 UNC", "26 tpi cycle", "Tr14x3", "1/4-20 UNC-2A", "G1/2", "M10x1 LH"),
    *("Tr36x12(P6) LH", "2 BA", "1/2-12 BSW", "M20x1.5-6g", "No. 10-32 UNF", "1 1/8-7"),
)


@dataclass(frozen=True)
class Door:
    """One way in.

    ``cases`` of the whole run, ``quick`` of the run that takes seconds.
    """

    name: str
    hand_in: Callable[[bytes], object]
    good: Callable[[], Sequence[bytes]]
    cases: int
    quick: int


def _as_text(content: bytes) -> str:
    return content.decode("utf-8", errors="replace")


def _number(content: bytes):
    text = _as_text(content)
    wanted = next((unit for word, unit in QUANTITIES.items() if word.split()[-1] in text), "mm")
    return units.number(text, wanted)


@cache
def _fields():
    """The boxes of the machine's form that take a quantity."""
    return [line.field for line in machines.fields() if line.field is not None]


def _box(content: bytes):
    """What every box of a form does with what is typed into it: the number of the box, and the text."""
    box, _, text = _as_text(content).partition("|")
    fields = _fields()
    reading = units.read(text, fields[int(box) % len(fields) if box.isdecimal() else 0])
    assert reading.shown
    return reading


def _good_boxes():
    return [f"{number}|{field.sample}".encode() for number, field in enumerate(_fields())]


def _record(content: bytes):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "record.jsonl"
        file.write_bytes(content)
        before = [line for line in content.split(b"\n")[:-1] if line.strip()]
        added = Record(folder).add("05", "one more", value=5.0, uncertainty=0.1, unit="s")
        kept = file.read_bytes()
        assert kept.rstrip(b"\n").endswith(added.text().encode())
        # Whatever ended in a line feed was a line once, and must still be there.
        assert all(line.strip() in kept for line in before)


def _zip(content: bytes):
    with tempfile.TemporaryDirectory() as folder:
        file, machines_folder = Path(folder) / "sent.zip", Path(folder) / "machines"
        file.write_bytes(content)
        machines_folder.mkdir()
        with patch.object(handover, "machines_folder", lambda: machines_folder):
            try:
                return handover.unpack(file, "sent")
            finally:
                # Whatever was in it, nothing may lie beside the machines, nor half of one among them.
                assert {one.name for one in Path(folder).iterdir()} == {"sent.zip", "machines"}
                whole = [one / "machine.toml" for one in machines_folder.iterdir()]
                assert all(one.is_file() for one in whole)


def _good_zips():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as sent:
        # Without a date of its own an entry gets the time of the run, and no seed makes the cases the same.
        for name, content in (
            ("lathe/machine.toml", '[lathe]\nswing = "320 mm"\n'),
            ("lathe/logs/run.csv", "time,rpm\n0,100\n"),
        ):
            sent.writestr(zipfile.ZipInfo(name, handover.NO_DATE), content)
    return [made.getvalue()]


def _good_logs():
    return [file.read_bytes()[:FIRST_BYTES] for file in sorted((DEMO / "logs").glob("*.csv"))]


def _good_sounds():
    """Some seconds of ticks that come later and later, as a telephone would keep them."""
    made = io.BytesIO()
    with wave.open(made, "wb") as sound:
        sound.setparams((1, 2, 8_000, 0, "NONE", ""))
        for tick in range(40):
            sound.writeframes(b"\x00\x60" * 8 + b"\x00\x00" * (390 + 20 * tick))
    return [made.getvalue()]


DOORS = (
    Door("a quantity with its unit", _number, lambda: [word.encode() for word in QUANTITIES], 45_000, 3_000),
    Door(
        "a thread's name",
        lambda content: form.parse(_as_text(content)),
        lambda: [name.encode() for name in THREADS],
        25_000,
        2_000,
    ),
    Door("a box of the machine's form", _box, _good_boxes, 8_000, 300),
    Door(
        "a table that was typed",
        lambda content: read_columns(_as_text(content), columns=("time", "speed"), example="0 900"),
        lambda: [b"0 900\n1 850\n2 800", b"0;900\n0,5;880", b"0\t900\r\n1\t890"],
        8_000,
        500,
    ),
    Door(
        "a line of the record",
        lambda content: line_from(content, 1),
        lambda: (DEMO / "record_sample.jsonl").read_bytes().splitlines(),
        8_000,
        500,
    ),
    Door("a record", _record, lambda: [(DEMO / "record_sample.jsonl").read_bytes()[:FIRST_BYTES]], 1_500, 50),
    Door("a machine file", machines.parse, lambda: [(DEMO / "machine.toml").read_bytes()], 1_500, 40),
    Door(
        "a control box",
        lambda content: parse_panel(_as_text(content)),
        lambda: [(DEMO / "panel.toml").read_bytes()],
        1_500,
        40,
    ),
    Door("a log", speed_log.read, _good_logs, 1_500, 40),
    Door("a sound recording", speed_log.read, _good_sounds, 400, 10),
    Door("a zip with a machine", _zip, _good_zips, 2_000, 60),
    Door("pulse stamps", lambda content: speed_log.pulses(content, 4), _good_logs, 1_000, 40),
)
