"""Logs as people have them: the same run in many dresses, and what is refused in plain words."""

from fractions import Fraction

import numpy as np
import pytest

from machinelab.errors import LogError
from machinelab.workbook.speed_log import pulses, read, typed

TIME_S = np.arange(40) * 0.25
SPEED_RPM = np.round(1200.0 * np.exp(-TIME_S / 6.0) - 8.0 * TIME_S, 1)


def written(row, heading=""):
    """The run as text: one line a reading, ``row`` writes the line."""
    lines = [row(t, n) for t, n in zip(TIME_S, SPEED_RPM, strict=True)]
    return "\n".join([heading, *lines] if heading else lines) + "\n"


def comma(value):
    return f"{value}".replace(".", ",")


def clock(t, hour=12, mark="."):
    return f"{hour:02d}:59:{50 + int(t):02d}{mark}{round(t % 1 * 1000):03d}"


DRESSES = {
    "plain": written(lambda t, n: f"{t},{n}", "time,rpm"),
    "no heading": written(lambda t, n: f"{t},{n}"),
    "spaces": written(lambda t, n: f"   {t}    {n}  "),
    "tabs, decimal comma": written(lambda t, n: f"{comma(t)}\t{comma(n)}", "t\tn"),
    "semicolons, ms, German": written(
        lambda t, n: f"{t * 1000:.0f};{comma(n)}", "Zeit [ms];Drehzahl [1/min]"
    ),
    "bars, French": written(lambda t, n: f"{comma(t)}|{comma(n)}", "temps (s)|vitesse (tr/min)"),
    "Cyrillic": written(lambda t, n: f"{comma(t)};{comma(n)}", "время, с;скорость, об/мин"),
    "a row of units below the names": "t;n\ns;1/min\n" + written(lambda t, n: f"{t};{n}"),
    "turns a second": written(lambda t, n: f"{t},{n / 60:.9f}", "time s,speed rev/s"),
    "radians a second": written(lambda t, n: f"{t},{n * np.pi / 30:.9f}", "time s,speed rad/s"),
    "hertz": written(lambda t, n: f"{t},{n / 60:.9f}", "t s,Hz"),
    "minutes": written(lambda t, n: f"{t / 60:.9f};{n}", "time min;rpm"),
    "microseconds": written(lambda t, n: f"{t * 1e6:.0f};{n}", "t_us;rpm"),
    "units in the cells": written(lambda t, n: f"{t * 1000:g} ms;{n} rpm"),
    "clock times": written(lambda t, n: f"{clock(t)};{n}", "clock;rpm"),
    "clock with decimal comma": written(lambda t, n: f"{clock(t, mark=',')};{comma(n)}", "Uhrzeit;U/min"),
    "minutes and seconds": written(lambda t, n: f"0:{t:05.2f},{n}", "elapsed,rpm"),
    "ISO date-times": written(lambda t, n: f"2024-05-01T{clock(t)}Z,{n}", "stamp,rpm"),
    "ISO date-times with a space": written(lambda t, n: f"2024-05-01 {clock(t)} {n}"),
    "day first": written(lambda t, n: f"01.05.2024 {clock(t)};{n}", "Datum;Drehzahl"),
    "half-day clock": written(lambda t, n: f"5/1/2024 {clock(t, 11)} PM,{n}", "time,rpm"),
    "date and clock apart": written(lambda t, n: f"01.05.2024;{clock(t)};{n}", "Datum;Uhrzeit;Drehzahl"),
    "computer's clock": written(lambda t, n: f"{1714560000 + t},{n}", "timestamp,rpm"),
    "computer's clock in ms": written(lambda t, n: f"{1714560000000 + t * 1000:.0f},{n}", "timestamp,rpm"),
    "a spreadsheet's days": written(lambda t, n: f"{45413.5 + t / 86400:.10f};{n}", "when;rpm"),
    "quotes": written(lambda t, n: f'"{t}","{n}"', '"time","rpm"'),
    "quoted decimal commas": written(lambda t, n: f'"{comma(t)}","{comma(n)}"', '"time","rpm"'),
    "trailing separators": written(lambda t, n: f"{t};{n};;", "time;rpm;;"),
    "comma and space": written(lambda t, n: f"{t}, {n}", "time, rpm"),
    "carriage returns": written(lambda t, n: f"{t},{n}", "time,rpm").replace("\n", "\r\n"),
    "old line ends": written(lambda t, n: f"{t},{n}", "time,rpm").replace("\n", "\r"),
    "preamble": "LOGGER 5\nSerial;4711\nChannels 2\n\n" + written(lambda t, n: f"{t};{n}", "t;n"),
    "preamble with numbers": "Rate,10\nRange,0,3000\n" + written(lambda t, n: f"{t},{n}", "t,rpm"),
    "comments": "# a logger\n# time rpm\n" + written(lambda t, n: f"{t} {n}"),
    "percent comments": "% logged\n% t, n\n" + written(lambda t, n: f"{t}, {n}"),
    "more columns": written(
        lambda t, n: f"{t / 0.25 + 1:.0f};{t};1200;{n};130.2;RUN", "no;time;set rpm;rpm;U [V];state"
    ),
    "speed before time": written(lambda t, n: f"{n},{t}", "rpm,time"),
    "speed before time, no heading": written(lambda t, n: f"{n},{t}"),
    "thousands": written(lambda t, n: f"{t};{n:,}", "time;rpm"),
    "thousands the other way": written(
        lambda t, n: f"{comma(t)};" + f"{n:,}".translate(str.maketrans(",.", ".,")), "Zeit;U/min"
    ),
    "apostrophes between thousands": written(lambda t, n: f"{t};" + f"{n:,}".replace(",", "'"), "time;rpm"),
    "hard spaces between thousands": written(
        lambda t, n: f"{t};" + f"{n:,}".replace(",", "\u00a0"), "time;rpm"
    ),
    "backwards": "\n".join(reversed(written(lambda t, n: f"{t},{n}").strip().split("\n"))),
    "blank rows": written(lambda t, n: f"{t},{n}\n", "time,rpm"),
    "typographer's signs": written(lambda t, n: f"{t};\u2212{n}", "t;n / min\u207b\u00b9"),
}


@pytest.mark.parametrize("dress", DRESSES)
def test_the_same_run_reads_the_same_in_every_dress(dress):
    log = read(DRESSES[dress])
    assert log.kind == "speed"
    np.testing.assert_allclose(log.time_s - log.time_s[0], TIME_S, atol=1e-5)
    np.testing.assert_allclose(log.speed_rpm, SPEED_RPM, atol=1e-5)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"]
)
def test_the_same_run_reads_the_same_in_every_code(encoding):
    log = read(written(lambda t, n: f"{comma(t)};{comma(n)}", "Zeit;Drehzahl Läufer 1/min").encode(encoding))
    np.testing.assert_allclose(log.speed_rpm, SPEED_RPM)
    assert np.array_equal(log.row, np.arange(2, 42))


def test_a_path_an_upload_and_pasted_text_give_the_same_log(tmp_path):
    text = DRESSES["plain"]
    path = tmp_path / "run 7.csv"
    path.write_bytes(text.encode())
    logs = [read(path), read(str(path)), read(text.encode(), name="run 7.csv"), read(text, name="run 7.csv")]
    assert {log.name for log in logs} == {"run 7.csv"}
    assert len({log.sha256 for log in logs}) == 1
    assert path.read_bytes() == text.encode()


def test_every_choice_and_every_repair_is_said():
    text = "\n".join(
        ["no;clock;soll rpm;ist rpm", *(f"{i};{12}:00:{i:02d};1200;{1200 - 9 * i}" for i in range(30))]
    )
    text = text.replace("12:00:09;1200;1119", "12:00:09;1200;ERR")
    said = " ".join(read(text).notes)
    for words in (
        "semicolons",
        "column 2 'clock'",
        "column 4 'ist rpm'",
        "Not used: column 1 'no'",
        "row 11",
    ):
        assert words in said


def test_rows_point_at_lines_of_the_file_even_after_sorting():
    lines = written(lambda t, n: f"{t},{n}", "# c\ntime,rpm").split("\n")
    lines[10], lines[11] = lines[11], lines[10]
    log = read("\n".join(lines))
    assert log.row[8:10].tolist() == [12, 11]
    assert any("rows 11 to 12 stood in the wrong place" in note for note in log.notes)
    np.testing.assert_allclose(log.speed_rpm, SPEED_RPM)


def test_drop_outs_and_doubled_readings_stay_in():
    speeds = SPEED_RPM.copy()
    speeds[7], speeds[12] = 0.0, 2 * speeds[12]
    log = read("\n".join(f"{t},{n}" for t, n in zip(TIME_S, speeds, strict=True)))
    np.testing.assert_allclose(log.speed_rpm, speeds)


def test_readings_stamped_to_the_whole_second_are_spread_to_within_one_step():
    log = read(written(lambda t, n: f"2024-05-01 12:00:{int(t + 0.5):02d},{n}"))
    assert np.abs(np.diff(log.time_s) - 0.25).max() < 1e-9
    assert any("share each time stamp" in note for note in log.notes)


def test_a_stamp_given_twice_is_kept_once_and_said():
    log = read(written(lambda t, n: f"{t},{n}", "t,rpm") + f"{TIME_S[-1]},17\n")
    assert len(log) == 40
    assert any("row 42: same time" in note for note in log.notes)


def test_midnight_and_a_32_bit_counter_are_carried_over():
    past = [f"{(86395.0 + t) % 86400:.2f}" for t in TIME_S]
    clocks = [
        f"{int(float(s)) // 3600:02d}:{int(float(s)) // 60 % 60:02d}:{float(s) % 60:05.2f}" for s in past
    ]
    night = read("\n".join(["clock,rpm", *(f"{c},{n}" for c, n in zip(clocks, SPEED_RPM, strict=True))]))
    np.testing.assert_allclose(night.time_s, TIME_S, atol=1e-6)
    ticks = [(2**32 - 3_000_000 + int(t * 1e6)) % 2**32 for t in TIME_S]
    counter = read("\n".join(["micros,rpm", *(f"{c},{n}" for c, n in zip(ticks, SPEED_RPM, strict=True))]))
    np.testing.assert_allclose(counter.time_s - counter.time_s[0], TIME_S, atol=1e-6)
    assert any("starts again" in note for note in counter.notes)


def test_gaps_are_named():
    text = "".join(line for i, line in enumerate(DRESSES["plain"].splitlines(True)) if not 10 <= i < 25)
    assert any("4 s between rows 10 and 11" in note for note in read(text).notes)


def test_repeated_readings_are_counted_and_kept():
    held = np.repeat(np.arange(1200, 700, -50), 4)
    log = read("\n".join(f"{i / 10:.1f} {n}" for i, n in enumerate(held)))
    assert (len(log), log.repeated) == (40, 30)


def test_readings_typed_from_a_film_of_the_display():
    text = "# film 3\n0:00 1200\n0:02.5, 1100 rpm\n5s 1000\n0:07,5\t900\n10;800\n12.5,700"
    log = typed(text + "\n15 | 600\n20 500\n1:00 0")
    np.testing.assert_allclose(log.time_s, [0, 2.5, 5, 7.5, 10, 12.5, 15, 20, 60])
    np.testing.assert_allclose(log.speed_rpm, [1200, 1100, 1000, 900, 800, 700, 600, 500, 0])
    assert log.row[-1] == 10


@pytest.mark.parametrize(
    ("unit", "write"),
    [
        ("s", lambda s: f"{s:.6f}"),
        ("s with decimal comma", lambda s: f"{s:.6f}".replace(".", ",")),
        ("ms", lambda s: f"{s * 1e3:.3f}"),
        ("us", lambda s: f"{s * 1e6:.0f}"),
    ],
)
@pytest.mark.parametrize("heading", ["", "stamp\n"])
def test_pulse_stamps_are_known_by_their_steps(unit, write, heading):
    stamps = 0.1 + np.cumsum(np.linspace(0.05, 0.4, 60))
    log = read(heading + "\n".join(write(s) for s in stamps))
    assert (log.kind, log.marks_per_turn, log.speed_rpm) == ("pulses", 1, None)
    np.testing.assert_allclose(log.pulse_s, stamps, atol=1e-6)


def test_pulse_stamps_of_a_disc_with_many_marks():
    stamps = np.cumsum(np.linspace(0.0125, 0.1, 200))
    log = pulses("\n".join(f"{s * 1e3:.3f}" for s in stamps), 4)
    assert (log.kind, log.marks_per_turn) == ("pulses", 4)
    np.testing.assert_allclose(log.pulse_s, stamps, atol=1e-6)
    with pytest.raises(LogError, match="whole number, not 5/2"):
        pulses("1\n2\n", 2.5)


def test_counts_pulses_and_hertz_know_how_many_make_a_turn():
    counts = "\n".join(["time us,count", *(f"{i * 20000},{i * 900}" for i in range(20))])
    assert read(counts).marks_per_turn is None
    assert read(counts, marks_per_turn=Fraction(8100, 7)).marks_per_turn == Fraction(8100, 7)
    hertz = read(written(lambda t, n: f"{t},{4 * n / 60:.9f}", "t s,Hz"), marks_per_turn=4)
    np.testing.assert_allclose(hertz.speed_rpm, SPEED_RPM, atol=1e-5)
    stamps = "\n".join(f"{0.0125 * i:.4f}" for i in range(40))
    assert read(stamps, marks_per_turn=4).marks_per_turn == 4
    for marks in (0, -4, 2.5, float("nan"), "four", True):
        with pytest.raises(LogError, match="Marks a turn are"):
            read(stamps, marks_per_turn=marks)


def test_a_remark_above_a_single_column_is_not_its_name():
    log = read("# one magnet, stamps in ms\npulse [s]\n" + "\n".join(f"{0.05 * i:.3f}" for i in range(20)))
    assert any("Time is column 1 'pulse [s]'; in s by its heading" in note for note in log.notes)


def test_headings_over_typed_pairs_are_passed_over():
    text = "# film\ntime s  rpm\n" + "\n".join(f"{i} {1000 - 50 * i}" for i in range(10))
    assert typed(text).row[0] == 3


def test_encoder_counts_stay_whole():
    log = read("\n".join(["time us,encoder count", *(f"{i * 20000},{2**40 + i * 4000}" for i in range(20))]))
    assert (log.kind, log.count.dtype) == ("counts", np.int64)
    assert log.count[-1] == 2**40 + 19 * 4000


REFUSED = {
    "an empty file": (b"", "is empty"),
    "blank lines": (b" \n\n  \n", "is empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(200), "picture"),
    "a workbook file": (b"PK\x03\x04" + bytes(50), "Save or export the log as CSV"),
    "a sound": (b"RIFF\x24\x00\x00\x00WAVE", "Save it as a plain WAV file"),
    "program data": (b'{"rpm": [1, 2]}', "Export the log as CSV"),
    "bytes of no kind": (bytes(range(256)) * 8, "not a text file"),
    "prose": (b"We switched off at noon\nand it ran down in a minute.\n", "Row 1 begins 'We switched off"),
    "only headings": (b"time;rpm\n", "headings without readings"),
    "a column of words": (b"fast\nslower\nstopped\n", "no row holds two numbers"),
    "falling numbers alone": (b"\n".join(b"%d" % (1200 - i) for i in range(40)), "does not rise"),
    "three rows": (b"t,n\n0,1200\n1,1100\n2,1000\n", "rows 2 to 4"),
    "all zero": (b"\n".join(b"%d,0" % i for i in range(20)), "every speed is 0"),
    "two runs": (DRESSES["no heading"].encode() * 2, "starts again at row 41"),
    "no time": (
        b"\n".join(b"%d,%d" % (i * 7919 % 97, i * 104729 % 1009) for i in range(40)),
        "no column rises",
    ),
    "time at random": (
        b"time,rpm\n" + b"\n".join(b"%d,%d" % (i * 7919 % 97, i * 104729 % 1009) for i in range(40)),
        "back and forth",
    ),
    "commas for everything": (b"time,rpm\n0,1,1200,5\n0,2,1190,0\n0,3,1180,2\n", "inside the numbers"),
    "speed of no unit": (written(lambda t, n: f"{t},{n / 60:.4f}", "time,speed").encode(), "rad/s"),
    "omega of no unit": (written(lambda t, n: f"{t},{n / 9.55:.4f}", "time,omega").encode(), "Is that rpm"),
    "seconds or milliseconds": (
        written(lambda t, n: f"{t * 200:.0f},{n}", "time,rpm").encode(),
        "milliseconds",
    ),
    "an encoder's count": (
        b"\n".join(b"%d,%d" % (i, i * 40000) for i in range(40)),
        "head the column 'count'",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_garbage_is_refused_with_its_place_and_what_to_do(what):
    raw, words = REFUSED[what]
    with pytest.raises(LogError) as refused:
        read(raw, name="run.csv")
    assert words in str(refused.value)
    assert "run.csv" in str(refused.value)


def test_a_unit_that_is_not_written_can_be_said():
    raw = REFUSED["speed of no unit"][0]
    np.testing.assert_allclose(read(raw, speed_unit="rev/s").speed_rpm, SPEED_RPM, atol=0.01)
    raw = REFUSED["seconds or milliseconds"][0]
    np.testing.assert_allclose(read(raw, time_unit="ms").time_s, TIME_S * 0.2, atol=1e-9)
    with pytest.raises(LogError, match="Type one of: rpm"):
        read(raw, speed_unit="mph", time_unit="s")


@pytest.mark.parametrize("source", ["no such.csv", "x" * 5000, "a\0b", "/", "", "  ", None, 7])
def test_what_is_no_file_is_said_kindly(source):
    with pytest.raises(LogError):
        read(source)


@pytest.mark.parametrize(
    ("text", "words"), [("0 1200\nabc", "Line 2"), ("0 1,200", "Type 1200"), (None, "pair")]
)
def test_a_typing_slip_names_its_line(text, words):
    with pytest.raises(LogError, match=words):
        typed(text)


def test_a_log_can_be_cut_by_its_rows():
    log = read(DRESSES["plain"]).cut(12, 31)
    assert (log.row[0], log.row[-1], len(log.speed_rpm), len(log.time_s)) == (12, 31, 20, 20)
    with pytest.raises(LogError, match="hold 3 readings"):
        log.cut(12, 14)
