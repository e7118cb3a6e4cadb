"""Whatever stands in the record's file: it is read, rescued, or refused in our own words; no line is lost."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from machinelab.errors import RecordError
from machinelab.workbook.record import Record

# Hundreds of spoilt records are written to the disk.
pytestmark = pytest.mark.slow

TEXT = st.text(max_size=60)
NUMBER = st.floats(-1e6, 1e6)
FOLDER = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture
def record(tmp_path):
    return Record(tmp_path)


def _start(record, content):
    record.path.write_bytes(content)
    (record.folder / "record.rescued").unlink(missing_ok=True)


def _rescued(record):
    rescued = record.folder / "record.rescued"
    return rescued.read_bytes() if rescued.exists() else b""


def _read_ends_well(record):
    try:
        record.lines()
        record.check_chain()
    except RecordError as refused:
        return str(refused)
    return ""


@FOLDER
@given(content=st.binary(max_size=400))
def test_any_bytes_are_read_rescued_or_refused(record, content):
    _start(record, content)
    _read_ends_well(record)
    assert record.path.read_bytes() + _rescued(record).removesuffix(b"\n") == content


@FOLDER
@given(data=st.data())
def test_a_spoilt_record_takes_new_lines_and_keeps_every_byte(record, data):
    _start(record, b"")
    for value in (1.0, 2.0, 3.0):
        record.add("05", "stop time", value=value, uncertainty=0.1)
    spoilt = bytearray(record.path.read_bytes())
    for _ in range(data.draw(st.integers(1, 5))):
        spoilt[data.draw(st.integers(0, len(spoilt) - 1))] = data.draw(st.integers(0, 255))
    spoilt = bytes(spoilt[: data.draw(st.integers(1, len(spoilt)))])
    _start(record, spoilt)
    _read_ends_well(record)
    line = record.add("06", "brake", value=4.0, uncertainty=0.1)
    content = record.path.read_bytes()
    assert content.endswith(line.text().encode() + b"\n")
    for kept in spoilt.split(b"\n"):
        assert kept in content or kept in _rescued(record)


@FOLDER
@given(quantity=TEXT, notes=TEXT, unit=TEXT, value=NUMBER, chuck=TEXT)
def test_whatever_a_person_types_comes_back_as_typed(record, quantity, notes, unit, value, chuck):
    _start(record, b"")
    stored = record.add(
        "01", quantity, value=value, uncertainty=0.5, unit=unit, notes=notes, conditions={"chuck": chuck}
    )
    assert record.lines() == (stored,)
    assert record.path.read_bytes().count(b"\n") == 1
    found = record.lines()[0]
    assert (found.quantity, found.notes or "", found.measured.value) == (quantity, notes, value)
