"""Whatever bytes are handed over, a log or our own word comes back, and soon."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machinelab.errors import LogError
from machinelab.workbook.speed_log import SpeedLog, pulses, read, typed

# Thousands of spoilt logs are read.
pytestmark = pytest.mark.slow

_NUMBERS = st.one_of(
    st.integers(-5, 3000).map(str),
    st.floats(0, 2000).map(lambda value: f"{value:.3f}"),
    st.floats(0, 2000).map(lambda value: f"{value:.2f}".replace(".", ",")),
    st.sampled_from(
        ["ERR", "---", "", "12:00:01.5", "0:02.5", "01.05.2024 12:00:00", "2024-05-01T12:00:00Z"]
    ),
    st.sampled_from(
        ["1,200", "1'200.5", "1200 rpm", '"', '"12"', "1e400", "99999999999999999999", "9999-99-99"]
    ),
    st.text(max_size=6),
)


@st.composite
def tables(draw):
    """Tables that look like logs and are not quite."""
    separator = draw(st.sampled_from([",", ";", "\t", " ", "|", ", "]))
    ending = draw(st.sampled_from(["\n", "\r\n", "\r", "\n\n"]))
    width = draw(st.integers(1, 4))
    heading = separator.join(
        draw(st.lists(st.sampled_from(["time", "t ms", "rpm", "n", "count", "#", "Zeit"]), max_size=4))
    )
    rows = draw(st.lists(st.lists(_NUMBERS, min_size=width, max_size=width + 1), min_size=0, max_size=30))
    return ending.join([heading, *(separator.join(row) for row in rows)])


LONGEST_S = 2.0


def _ends_well(function, *arguments):
    # What Python loads or sweeps up by chance in one call does not come back in the next; a hang does.
    assert _took_s(function, *arguments) < LONGEST_S or _took_s(function, *arguments) < LONGEST_S


def _took_s(function, *arguments):
    began = time.process_time()
    try:
        log = function(*arguments)
    except LogError:
        log = None
    assert log is None or (isinstance(log, SpeedLog) and len(log) >= 8)
    return time.process_time() - began


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=3000))
def test_any_bytes_end_in_a_log_or_in_our_own_error(raw):
    _ends_well(read, raw)
    _ends_well(pulses, raw, 4)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=500))
def test_any_text_ends_in_a_log_or_in_our_own_error(text):
    _ends_well(read, text)
    _ends_well(read, text + "\n" + text)
    _ends_well(typed, text)


@settings(max_examples=500, deadline=None)
@given(tables(), st.sampled_from(["utf-8", "utf-16", "cp1252", "utf-8-sig"]))
def test_almost_logs_end_in_a_log_or_in_our_own_error(text, encoding):
    raw = text.encode(encoding, errors="replace")
    _ends_well(read, raw)
    _ends_well(pulses, raw, 1)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_a_log_with_a_few_bytes_spoilt_ends_in_a_log_or_in_our_own_error(data):
    raw = bytearray(
        b"Zeit;Drehzahl\n" + b"".join(b"%.2f;%d\n" % (i * 0.25, 1200 - 20 * i) for i in range(50))
    )
    for _ in range(data.draw(st.integers(1, 8))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    _ends_well(read, bytes(raw))
