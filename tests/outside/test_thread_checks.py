"""Designations and basic sizes of threads against published tables, the source beside each."""

import csv
import json
import math
from fractions import Fraction
from pathlib import Path

import pytest

from machinelab.errors import MachinelabError, RangeError
from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.form import parse
from machinelab.threads.standard_sizes import standard_sizes

INCH_MM = 25.4
DATA = Path(__file__).parent / "data" / "threads.json"
ROWS = {row["id"]: row for row in json.loads(DATA.read_text(encoding="utf-8"))}


def sizes_of(designation):
    return basic_sizes(parse(designation))


@pytest.mark.parametrize(
    ("typed", "settled", "pitch_mm"),
    [
        ("M10", "M10x1.5", Fraction(3, 2)),
        ("M10x1.5-6g", "M10x1.5-6g", Fraction(3, 2)),
        ("M 10 × 1", "M10x1", Fraction(1)),
        ("m10*1", "M10x1", Fraction(1)),
        ("1/4-20", "1/4-20 UNC", Fraction(127, 100)),
        ("1/4-20 UNC-2A", "1/4-20 UNC-2A", Fraction(127, 100)),
        ("#10-24 UNC", "#10-24 UNC", Fraction(127, 120)),
        ("10-24", "#10-24 UNC", Fraction(127, 120)),
        ("3/8 BSW", "3/8-16 BSW", Fraction(127, 80)),
        ("1.370 x 24 cycle", "1.37-24 BSC", Fraction(127, 120)),
        ("26 tpi cycle", "26 tpi cycle", Fraction(127, 130)),
        ("5/16 x 26 CEI", "5/16-26 BSC", Fraction(127, 130)),
        ("9/16 x 20 LH cycle", "9/16-20 BSC LH", Fraction(127, 100)),
        ("Tr14x3", "Tr14x3", Fraction(3)),
        ("Tr40x14(P7)LH", "Tr40x14P7 LH", Fraction(7)),
        ("G1/2", "G1/2", Fraction(127, 70)),
        ("1/2 NPT", "1/2-14 NPT", Fraction(127, 70)),
        ("1-1/4-5 Acme", "1-1/4-5 Acme", Fraction(127, 25)),
        ("1-1/4-7 UNC", "1-1/4-7 UNC", Fraction(127, 35)),
        ("1½-6", "1-1/2-6 UNC", Fraction(127, 30)),
        ("No. 4 BA", "4 BA", Fraction(33, 50)),
    ],
)
def test_a_designation_is_read_as_the_trade_writes_it(typed, settled, pitch_mm):
    thread = parse(typed)
    assert thread.designation == settled
    assert thread.pitch_mm == pitch_mm
    assert parse(settled) == thread


@pytest.mark.parametrize(
    ("typed", "pitch_mm"), [("module 1", 3.14159265), ("m=1 worm", 3.14159265), ("20 DP", 3.98982)]
)
def test_a_worm_carries_pi(typed, pitch_mm):
    assert float(parse(typed).pitch_mm) == pytest.approx(pitch_mm, abs=5e-6)


def test_lead_is_pitch_times_starts_and_turns_with_the_hand():
    thread = parse("Tr40x14P7 LH")
    assert (thread.pitch_mm, thread.starts, thread.lead_mm, thread.turning_lead_mm) == (7, 2, 14, -14)


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("M10x1.1", "M10x1, M10x1.25"),
        ("1/2-12", "1/2-12 BSW, 1/2-13 UNC"),
        ("N10x1", "M10x1"),
        ("10 x 1", "M10x1"),
        ("17 BA", "16 BA"),
        ("Tr20x8 2 start", "Tr40x14P7"),
        ("26 tpi", "26 tpi cycle"),
        ("1.375 x 24 cycle", "1.37-24 BSC"),
        ("1 UNC", "#1-64 UNC or 1-8 UNC"),
        ("M10-2A", "6g for a screw"),
        ("1/2-13 NPT", "1/2-14 NPT"),
        ("hello", "M10x1, 3/8-16 UNC"),
    ],
)
def test_what_fits_no_series_is_refused_with_the_nearest(typed, named):
    with pytest.raises(RangeError, match=named.replace("#", "\\#")):
        parse(typed)


@pytest.mark.parametrize("typed", ["", " ", "M" * 5000, "9" * 5000, None, 10])
def test_nothing_and_far_too_much_are_refused_in_our_own_words(typed):
    with pytest.raises(MachinelabError):
        parse(typed)


def test_twenty_six_threads_to_the_inch_are_not_one_millimetre():
    assert parse("26 tpi cycle").pitch_mm == Fraction(127, 130)
    assert parse("26 tpi cycle").pitch_mm != parse("M10x1").pitch_mm


WHITWORTH_SIZES = ("A-BSW-0.25-20", "A-BSW-0.5-12", "A-BSW-1-8", "A-BSW-3/16-24")
CYCLE_SIZES = ("A-BSC-0.25-26", "A-BSC-0.3125-26", "A-BSC-0.5-26", "A-BSC-1-26", "A-BSC-1.37-24")


def in_inches(*sizes_mm):
    return [size / INCH_MM for size in sizes_mm]


@pytest.mark.parametrize("name", WHITWORTH_SIZES)
def test_whitworth_threads_have_the_published_effective_and_core_diameters(name):
    row = ROWS[name]
    sizes = sizes_of(f"{row['inputs']['D']}-{row['inputs']['tpi']} BSW")
    found = in_inches(sizes.pitch_diameter_mm, sizes.root_diameter_mm)
    assert found == pytest.approx(row["expected"], abs=row["tolerance"])


def test_the_whitworth_profile_has_the_published_constants():
    form = parse("1/4 BSW").form
    found = [form.sharp_height, 2 * form.crest_height, form.crest_radius]
    assert found == pytest.approx(ROWS["A-BSW-profile"]["expected"], abs=1e-6)


@pytest.mark.parametrize("name", CYCLE_SIZES)
def test_cycle_threads_have_the_published_core_diameters(name):
    row = ROWS[name]
    sizes = sizes_of(f"{row['inputs']['D']} x {row['inputs']['tpi']} cycle")
    assert sizes.root_diameter_mm / INCH_MM == pytest.approx(row["expected"], abs=row["tolerance"])


def test_a_bottom_bracket_is_one_fit_under_two_designations():
    """The cycle form at 1.370 in, the ISO form at 1.375 in: 4 um apart; at 1.370 in the ISO form rattles."""
    row = ROWS["A-BSC-vs-ISO6696"]
    found = [sizes_of(typed).pitch_diameter_mm for typed in ("1.370 x 24 cycle", "1.375-24 UNS")]
    assert found == pytest.approx(row["expected"], abs=row["tolerance"])
    assert abs(found[0] - found[1]) < 0.004
    assert found[0] - sizes_of("1.370-24 UNS").pitch_diameter_mm == pytest.approx(0.12, abs=0.005)


@pytest.mark.parametrize("name", ["A-Tr8x1.5", "A-Tr20x4"])
def test_trapezoidal_threads_have_the_published_basic_sizes(name):
    sizes = sizes_of(name.removeprefix("A-"))
    found = [
        sizes.pitch_diameter_mm,
        sizes.minor_diameter_mm,
        sizes.nut_major_diameter_mm,
        sizes.root_diameter_mm,
    ]
    assert found == pytest.approx(ROWS[name]["expected"], abs=ROWS[name]["tolerance"])


def test_a_pipe_thread_has_the_published_basic_sizes():
    sizes = sizes_of("G1/2")
    found = [sizes.major_diameter_mm, sizes.pitch_diameter_mm, sizes.root_diameter_mm]
    assert found == pytest.approx(ROWS["A-G1/2"]["expected"], abs=ROWS["A-G1/2"]["tolerance"])


def test_taper_pipe_threads_grow_by_a_sixteenth():
    thread = parse("1/2-14 NPT")
    half_angle_deg = math.degrees(math.atan(thread.taper / 2))
    each_turn_in = float(thread.taper * thread.pitch_mm) / INCH_MM
    assert [half_angle_deg, each_turn_in] == pytest.approx(ROWS["A-taper"]["expected"], abs=1e-5)


def test_metric_depths_are_the_fractions_of_the_sharp_triangle():
    """ISO 68-1 (from memory): d2 is 0.6495191, D1 1.0825318 and the root 1.2268693 pitches below d."""
    sizes = sizes_of("M20x1 special")
    below = [20 - size for size in (sizes.pitch_diameter_mm, sizes.minor_diameter_mm, sizes.root_diameter_mm)]
    assert below == pytest.approx([0.6495191, 1.0825318, 1.2268693], abs=5e-8)


def test_depth_goes_by_the_pitch_and_not_by_the_lead():
    single, double = sizes_of("Tr40x7"), sizes_of("Tr40x14P7")
    assert single == double


def test_the_small_end_of_a_taper_pipe_thread_is_the_published_one():
    """ASME B1.20.1, from memory: pitch diameter at the small end of 1/2-14 NPT 0.75843 in."""
    assert sizes_of("1/2 NPT").pitch_diameter_mm / INCH_MM == pytest.approx(0.75843, abs=1e-5)


def test_every_check_of_threads_is_named_by_a_test_and_names_its_source():
    tested = "".join(
        (Path(__file__).parent / f"test_thread_{part}.py").read_text() for part in ("checks", "limits")
    )
    by_kind = ("A-M", "A-Td", "A-TD1")
    for name, row in ROWS.items():
        assert row["source"]
        assert name in tested or name.startswith(by_kind) or row["inputs"].get("series")
    assert len(ROWS) == 78


def inch_sizes():
    """Hole table of a public CAD program (read): series, size, diameter and pitch to 0.001 mm."""
    with (DATA.parent / "inch_series.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_inch_series_are_those_of_the_hole_table_of_a_public_cad_program():
    """Its Whitworth diameters above 9/16 in are 1 to 3 um larger than inches, its pitches cut or rounded."""
    for row in inch_sizes():
        inch = "" if row["size"].startswith("#") else '"'
        thread = parse(f"{row['size']}{inch} {row['series']}")
        assert float(thread.nominal_diameter_mm) == pytest.approx(float(row["diameter_mm"]), abs=3.1e-3), row
        assert float(thread.pitch_mm) == pytest.approx(float(row["pitch_mm"]), abs=1.01e-3), row


def test_no_size_of_the_unified_series_is_missing_or_made_up():
    listed = {(row["series"], row["size"]) for row in inch_sizes()}
    for series in ("UNC", "UNF", "UNEF"):
        ours = {(size.series, size.size) for size in standard_sizes(series)}
        # ASME B1.1 has 1-3/16-18 UNEF (from memory), which that table leaves out.
        assert ours - {("UNEF", "1-3/16")} == {one for one in listed if one[0] == series}


def test_ba_threads_have_the_printed_sizes_and_radius():
    """BS 93 sizes as listed in a public technical note (read): depths there are rounded to 0.005 mm."""
    with (DATA.parent / "ba_sizes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(standard_sizes("BA")) == 17
    for row in rows:
        thread = parse(f"{row['number']} BA")
        sizes = basic_sizes(thread)
        assert sizes.major_diameter_mm == float(row["major_mm"])
        assert sizes.pitch_diameter_mm == pytest.approx(float(row["effective_mm"]), abs=0.0026)
        assert sizes.root_diameter_mm == pytest.approx(float(row["minor_mm"]), abs=0.0051)
        radius = thread.form.root_radius * float(thread.pitch_mm)
        assert radius == pytest.approx(float(row["radius_mm"]), abs=1e-4)


def test_the_pitch_of_ba_threads_falls_by_a_tenth_with_each_number():
    """Rule of the series, from memory: the pitch is 0.9 to the power of the number, the diameter 6 P**1.2."""
    for size in standard_sizes("BA"):
        assert float(size.pitch_mm) == pytest.approx(0.9 ** int(size.size), abs=0.0051)
        assert float(size.nominal_diameter_mm) == pytest.approx(6 * 0.9 ** (1.2 * int(size.size)), abs=0.051)
