"""The commissioning record: lines are only ever added, and none is lost."""

import json
import math
import os
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from simulate import record_writer

from machinelab.errors import RangeError, RecordError
from machinelab.workbook.record import Record, store
from machinelab.workbook.speed_log import read

DEMO = Path(__file__).parents[2] / "notebooks" / "machines" / "demo"
KILLS = 200
ADD_MANY = """
import sys
from machinelab.workbook.record import Record
record = Record(sys.argv[1])
for number in range(int(sys.argv[3])):
    record.add("05", f"{sys.argv[2]} {number}", value=1.0, uncertainty=0.1, unit="s", notes="x" * 500)
    print(number, flush=True)
"""

HOLD = """
import sys, time
from pathlib import Path
from machinelab.workbook.record import store
with store.holding(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(600)
"""


def add_many(folder, name, count):
    arguments = [sys.executable, "-c", ADD_MANY, str(folder), name, str(count)]
    return subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True)


@pytest.fixture
def record(tmp_path):
    return Record(tmp_path)


def stop_time(record, value, **more):
    limit = {"upper": 6.0, "where_from": "own choice: screw-on chuck"}
    return record.add("05", "stop time", value=value, uncertainty=0.3, unit="s", **limit, **more)


def test_a_line_holds_what_was_measured_and_its_verdict_in_a_fixed_order(record):
    line = stop_time(
        record, 5.2, predicted=5.0, predicted_uncertainty=0.4, by="E.B.", notes="warm, guard shut"
    )
    stored = record.path.read_bytes()
    assert stored == line.text().encode() + b"\n"
    found = json.loads(stored)
    assert list(found) == [
        *(
            "schema",
            "id",
            "step",
            "time",
            "by",
            "quantity",
            "predicted",
            "measured",
            "limit",
            "rule",
            "verdict",
        ),
        *("notes", "prev"),
    ]
    assert found["measured"] == {"value": 5.2, "U": 0.3, "k": 2, "unit": "s"}
    assert found["limit"] == {"upper": 6.0, "unit": "s", "where_from": "own choice: screw-on chuck"}
    assert (found["verdict"], found["rule"], found["schema"]) == ("MET", {"g": "U", "k": 2}, 1)
    assert found["time"][-6] in "+-"
    assert record.lines() == (line,)


def test_a_correction_and_a_withdrawal_are_new_lines_and_the_old_ones_stay(record):
    first = stop_time(record, 5.2)
    assert record.state_of("05").word == "MET"
    second = stop_time(record, 7.5, replaces=first.id)
    assert record.state_of(5).word == "NOT MET"
    assert record.state_of(5).open_points == ("stop time",)
    record.void(second.id, "chuck was off")
    assert record.state_of(5).word == "NOT DONE"
    assert [line.verdict for line in record.lines()] == ["MET", "NOT MET", "RECORDED"]
    assert record.lines_in_force() == ()
    assert record.check_chain() == 3


def test_the_latest_of_a_quantity_counts_and_the_worst_of_a_step(record):
    stop_time(record, 7.5)
    record.add("05", "lamp goes out", verdict="MET")
    assert record.state_of("05").word == "NOT MET"
    stop_time(record, 5.9)
    assert record.state_of("05").word == "NOT PROVEN"
    stop_time(record, 5.0)
    assert record.state_of("05").word == "MET"
    record.add("06", "brake relay", notes="not yet looked at")
    assert record.state_of("06").word == "NOT DONE"
    assert str(record.state_of("05")).startswith("05: MET (2 in the record, last 20")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"value": 5.0, "uncertainty": 0.3, "upper": 6.0}, "where the limit comes from"),
        (
            {"value": 5.0, "uncertainty": 0.3, "upper": 6.0, "where_from": "x", "verdict": "NOT MET"},
            "numbers give MET",
        ),
        ({"verdict": "PERFECT"}, "one of MET"),
        ({"by": "Eduard Beispiel"}, "Initials only"),
        ({"step": "coast"}, "two figures"),
        ({"replaces": "0099"}, "no line '0099'"),
        ({"data": ["logs/none.csv"]}, "none.csv"),
        ({"instrument": {"range": "5 V"}}, "instrument name"),
        ({"conditions": {"temperature": object()}}, "conditions"),
        ({"predicted": float("nan")}, "predicted value"),
    ],
)
def test_what_cannot_stand_in_a_record_is_refused_and_nothing_is_stored(record, arguments, words):
    step = arguments.pop("step", "05")
    with pytest.raises(RecordError, match=words):
        record.add(step, "stop time", **arguments)
    assert not record.path.exists()


def test_an_uncertainty_of_nothing_is_refused(record):
    with pytest.raises(RangeError, match="half the last digit"):
        record.add(
            "02", "bond", value=0.0, uncertainty=0.0, upper=0.1, where_from="IEC 61439-1 10.5.2 (excerpt)"
        )


def test_a_changed_line_is_named(record):
    for value in (5.0, 5.1, 5.2):
        stop_time(record, value)
    record.path.write_bytes(record.path.read_bytes().replace(b"5.1", b"4.1"))
    with pytest.raises(RecordError, match=r"Line 3 of record\.jsonl does not follow from line 2"):
        record.check_chain()
    assert len(record.lines()) == 3
    stop_time(record, 5.3)
    assert record.lines()[-1].id == "0004"


def test_an_editor_that_changes_line_ends_breaks_nothing(record):
    stop_time(record, 5.0)
    stop_time(record, 5.1)
    record.path.write_bytes(
        b"\xef\xbb\xbf" + record.path.read_bytes().replace(b"\n", b"\r\n").rstrip(b"\r\n")
    )
    stop_time(record, 5.2)
    assert record.check_chain() == 3
    assert not (record.folder / "record.rescued").exists()


def test_keys_of_a_later_version_are_kept(record):
    line = stop_time(record, 5.0)
    later = line.text().replace('"verdict"', '"weather": "frost", "verdict"')
    record.path.write_text(later + "\n", encoding="utf-8")
    assert record.lines()[0].weather == "frost"
    assert '"weather": "frost"' in record.lines()[0].text()


@pytest.mark.parametrize("keep", [1, 40, -2])
def test_a_torn_last_line_is_moved_aside_and_said(record, keep):
    stop_time(record, 5.0)
    whole = record.path.read_bytes()
    torn = stop_time(record, 5.1).text().encode()[:keep]
    record.path.write_bytes(whole + torn)
    assert len(record.lines()) == 1
    assert record.path.read_bytes() == whole
    assert (record.folder / "record.rescued").read_bytes() == torn + b"\n"
    assert "cut short" in record.messages[0]
    stop_time(record, 5.2)
    assert record.check_chain() == 2


def test_adding_behind_a_torn_line_moves_it_aside_first(record):
    stop_time(record, 5.0)
    with record.path.open("ab") as stream:
        stream.write(b'{"schema": 1, "id": "00')
    stop_time(record, 5.1)
    assert record.check_chain() == 2
    assert len(record.messages) == 1


def test_raw_files_are_listed_by_name_and_fingerprint_not_by_folder(record):
    text = "t,rpm\n" + "\n".join(f"{i},{1000 - 20 * i}" for i in range(20))
    log_file = record.folder / "logs" / "run 1.csv"
    log_file.parent.mkdir()
    log_file.write_text(text, encoding="utf-8", newline="\n")
    log = read(log_file)
    line = record.add(
        "05", "coast", data=[log, "logs/run 1.csv", log_file], photo=[r"C:\Users\someone\chuck.png"]
    )
    assert [one.name for one in line.data] == ["run 1.csv", "logs/run 1.csv", "logs/run 1.csv"]
    assert {one.sha256 for one in line.data} == {log.sha256}
    assert line.photo == ("chuck.png",)


def test_exact_inputs_stay_exact_on_the_page(record):
    inputs = {"lead_mm": Fraction(127, 40), "speed_rpm": np.float64(600.0), "resistor_ohm": math.inf}
    line = record.add("07", "ratio", predicted=1.0, formula="steps_per_count", inputs=inputs)
    assert record.lines()[0] == line
    assert line.predicted.inputs == {"lead_mm": "127/40", "speed_rpm": 600.0, "resistor_ohm": "inf"}


def test_the_machine_as_it_stood_is_marked_on_every_line(record):
    (record.folder / "machine.toml").write_text('name = "a"', encoding="utf-8")
    first = stop_time(record, 5.0)
    (record.folder / "machine.toml").write_text('name = "b"', encoding="utf-8")
    second = stop_time(record, 5.0)
    assert first.machine_state != second.machine_state


def test_the_demo_is_never_written_to(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    before = sorted(DEMO.rglob("*"))
    record = Record(DEMO)
    stop_time(record, 5.0)
    assert "scratch record" in record.note
    assert record.path.is_relative_to(tmp_path / "machinelab")
    assert sorted(DEMO.rglob("*")) == before
    assert len(Record(DEMO).lines()) == 1


def test_a_folder_that_takes_no_file_gets_a_scratch_record(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(store, "can_write", lambda folder: False)
    (tmp_path / "mine").mkdir()
    record = Record(tmp_path / "mine")
    stop_time(record, 5.0)
    assert list((tmp_path / "mine").iterdir()) == []


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with pytest.raises(RecordError, match="no folder 'gone'"):
        Record(tmp_path / "gone")


def test_a_full_disk_stores_nothing_and_leaves_no_torn_line(record, monkeypatch):
    stop_time(record, 5.0)
    before = record.path.read_bytes()

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RecordError, match="No space left"):
        stop_time(record, 5.1)
    assert record.path.read_bytes() == before


def holder_of(folder):
    """Another program that holds the record until it is ended."""
    holder = subprocess.Popen([sys.executable, "-c", HOLD, str(folder)], stdout=subprocess.PIPE, text=True)
    assert holder.stdout.readline() == "held\n"
    return holder


def test_a_held_record_is_waited_for_however_long_it_is_held(record, monkeypatch):
    lock = record.folder / store.LOCK_NAME
    holder = holder_of(record.folder)
    try:
        old = time.time() - 100_000
        os.utime(lock, (old, old))
        monkeypatch.setattr(store, "WAIT_S", 0.1)
        with pytest.raises(RecordError, match="Another notebook holds the record"):
            stop_time(record, 5.1)
    finally:
        holder.kill()
        holder.communicate()
    stop_time(record, 5.0)
    assert [line.measured.value for line in record.lines()] == [5.0]


def test_a_lock_file_that_nobody_holds_is_in_nobodys_way(record):
    (record.folder / store.LOCK_NAME).write_text("another-computer 1\n", encoding="utf-8")
    stop_time(record, 5.0)
    assert len(record.lines()) == 1


@pytest.mark.slow
def test_when_the_holder_dies_of_many_that_wait_one_after_the_other_writes(tmp_path):
    holder = holder_of(tmp_path)
    waiting = [add_many(tmp_path, f"waiter {number}", 5) for number in range(6)]
    time.sleep(1.0)
    holder.kill()
    holder.communicate()
    assert [writer.wait(timeout=120) for writer in waiting] == [0] * 6
    for writer in waiting:
        writer.stdout.close()
    assert [line.id for line in Record(tmp_path).lines()] == [f"{number:04d}" for number in range(1, 31)]
    assert Record(tmp_path).check_chain() == 30


@pytest.mark.slow
def test_two_notebooks_adding_200_lines_each_lose_and_double_none(tmp_path):
    writers = [add_many(tmp_path, name, 200) for name in ("left", "right")]
    for writer in writers:
        writer.communicate(timeout=120)
        assert writer.returncode == 0
    record = Record(tmp_path)
    assert record.check_chain() == 400
    lines = record.lines()
    assert [line.id for line in lines] == [f"{number:04d}" for number in range(1, 401)]
    wanted = {f"{name} {number}" for name in ("left", "right") for number in range(200)}
    assert {line.quantity for line in lines} == wanted


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Windows has no way to end a process between two instructions")
def test_after_200_kills_while_two_notebooks_write_every_acknowledged_line_stands_once(tmp_path):
    asked = [sys.executable, record_writer.__file__, str(tmp_path), str(KILLS), "7"]
    told = subprocess.run(asked, check=True, capture_output=True, text=True, timeout=300)
    acknowledged = told.stdout.splitlines()
    record = Record(tmp_path)
    record.add("05", "after")
    stored = [line.quantity for line in record.lines()]
    assert record.check_chain() == len(stored)
    assert len(acknowledged) > KILLS
    assert set(acknowledged) <= set(stored)
    assert len(set(stored)) == len(stored)
    # A line may have been taken just before its writer could say so.
    assert len(stored) <= len(acknowledged) + KILLS + 3


def test_a_damaged_number_is_told_even_in_a_line_that_no_longer_counts(tmp_path):
    record = Record(tmp_path)
    for seconds in (1.5, 2.0):
        record.add(
            "05", "stop time", value=seconds, uncertainty=0.1, unit="s", notes="NaN in a note harms nobody"
        )
    assert len(record.lines_in_force()) == 1
    file = tmp_path / "record.jsonl"
    sound = file.read_bytes()
    file.write_bytes(sound.replace(b"1.5", b"NaN", 1))
    assert file.read_bytes() != sound
    with pytest.raises(RecordError, match=r"Line 1 of record\.jsonl cannot be read"):
        Record(tmp_path).lines_in_force()
