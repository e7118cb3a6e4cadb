"""Series of inch and BA threads against published tables, the source beside each."""

import csv
from pathlib import Path

from inspection.source import READ, STANDARD, Source, by_hand

from machinelab.threads.basic_sizes import basic_sizes
from machinelab.threads.form import parse
from machinelab.threads.standard_sizes import standard_sizes

ROOM = "threads"
OPEN_DATA = Source(STANDARD, "hole table of a public CAD program, inch series", READ)
BA_NOTE = Source(STANDARD, "BS 93 sizes as listed in a public technical note", READ)
BA_RULE = by_hand("rule of the series, from memory: pitch 0.9 to the number, diameter 6 P^1.2")
DATA = Path(__file__).parent / "data" / "threads.json"


def inch_sizes():
    """Hole table of a public CAD program (read): series, size, diameter and pitch to 0.001 mm."""
    with (DATA.parent / "inch_series.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_inch_series_are_those_of_the_hole_table_of_a_public_cad_program(compare):
    """Its Whitworth diameters above 9/16 in are 1 to 3 um larger than inches, its pitches cut or rounded."""
    for row in inch_sizes():
        inch = "" if row["size"].startswith("#") else '"'
        thread = parse(f"{row['size']}{inch} {row['series']}")
        compare(
            f"diameter of {row['size']} {row['series']}",
            float(thread.nominal_diameter_mm),
            float(row["diameter_mm"]),
            OPEN_DATA,
            abs=3.1e-3,
            unit="mm",
            table="diameters of the inch series",
            why="Whitworth rows there are 1 to 3 um large",
        )
        compare(
            f"pitch of {row['size']} {row['series']}",
            float(thread.pitch_mm),
            float(row["pitch_mm"]),
            OPEN_DATA,
            abs=1.01e-3,
            unit="mm",
            table="pitches of the inch series",
            why="pitches there are cut or rounded",
        )


def test_no_size_of_the_unified_series_is_missing_or_made_up():
    listed = {(row["series"], row["size"]) for row in inch_sizes()}
    for series in ("UNC", "UNF", "UNEF"):
        ours = {(size.series, size.size) for size in standard_sizes(series)}
        # ASME B1.1 has 1-3/16-18 UNEF (from memory), which that table leaves out.
        assert ours - {("UNEF", "1-3/16")} == {one for one in listed if one[0] == series}


def test_ba_threads_have_the_printed_sizes_and_radius(compare):
    """BS 93 sizes as listed in a public technical note (read): depths there are rounded to 0.005 mm."""
    with (DATA.parent / "ba_sizes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(standard_sizes("BA")) == 17
    for row in rows:
        thread = parse(f"{row['number']} BA")
        sizes = basic_sizes(thread)
        compare(
            f"{row['number']} BA: outside diameter",
            sizes.major_diameter_mm,
            float(row["major_mm"]),
            BA_NOTE,
            unit="mm",
            table="outside diameters of BA",
        )
        compare(
            f"{row['number']} BA: effective diameter",
            sizes.pitch_diameter_mm,
            float(row["effective_mm"]),
            BA_NOTE,
            abs=0.0026,
            unit="mm",
            table="effective diameters of BA",
            why="depths there are rounded to 0.005 mm",
        )
        compare(
            f"{row['number']} BA: minor diameter",
            sizes.root_diameter_mm,
            float(row["minor_mm"]),
            BA_NOTE,
            abs=0.0051,
            unit="mm",
            table="minor diameters of BA",
            why="depths there are rounded to 0.005 mm",
        )
        radius = thread.form.root_radius * float(thread.pitch_mm)
        compare(
            f"{row['number']} BA: radius",
            radius,
            float(row["radius_mm"]),
            BA_NOTE,
            abs=1e-4,
            unit="mm",
            table="radii of BA",
        )


def test_the_pitch_of_ba_threads_falls_by_a_tenth_with_each_number(compare):
    """Rule of the series, from memory: the pitch is 0.9 to the power of the number, the diameter 6 P**1.2."""
    for size in standard_sizes("BA"):
        compare(
            f"{size.size} BA: pitch by the rule",
            float(size.pitch_mm),
            0.9 ** int(size.size),
            BA_RULE,
            abs=0.0051,
            unit="mm",
            table="pitches of BA by their rule",
        )
        compare(
            f"{size.size} BA: diameter by the rule",
            float(size.nominal_diameter_mm),
            6 * 0.9 ** (1.2 * int(size.size)),
            BA_RULE,
            abs=0.051,
            unit="mm",
            table="diameters of BA by their rule",
        )
