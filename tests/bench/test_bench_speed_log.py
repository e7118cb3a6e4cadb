"""Reading a log of a million rows beside pandas alone, in the same run."""

import io
import time
import tracemalloc

import numpy as np
import pandas as pd
import pytest

from machinelab.workbook.speed_log import read

ROWS = 1_000_000


@pytest.fixture(scope="module")
def million_rows():
    time_s = np.arange(ROWS) * 1e-4
    speed_rpm = 1200.0 * np.exp(-time_s / 30.0)
    rows = "\n".join(f"{t:.4f},{n:.1f}" for t, n in zip(time_s, speed_rpm, strict=True))
    return ("time,rpm\n" + rows).encode()


def seconds(function):
    began = time.perf_counter()
    function()
    return time.perf_counter() - began


@pytest.mark.bench
def test_a_million_rows_take_less_than_twice_what_pandas_takes(million_rows, figures):
    # Turn by turn, so that whatever else the computer does burdens both alike; the first turn warms up.
    turns = [
        (seconds(lambda: pd.read_csv(io.BytesIO(million_rows))), seconds(lambda: read(million_rows)))
        for _ in range(20)
    ][1:]
    alone, ours = (min(took) for took in zip(*turns, strict=True))
    figures.add(
        "log of a million rows, read",
        ours,
        "s",
        wanted="under 2 times pandas",
        usual="pandas.read_csv alone",
        usual_value=alone,
    )
    assert ours < 2.0 * alone


@pytest.mark.slow
def test_a_million_rows_take_less_than_300_mb(million_rows):
    tracemalloc.start()
    log = read(million_rows)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(log) == ROWS
    assert peak < 300e6
