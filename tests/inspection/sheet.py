"""The inspection sheet: every outside check as a row of a CSV file, written and held by the tests."""

import csv
import re
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

import pytest
from inspection.source import RUN_HERE

SHEET = Path(__file__).resolve().parents[1] / "outside" / "checks.csv"
PAGE = SHEET.with_suffix(".html")
ROOMS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls", "units", "verdict")
REMAKE = "python3 -m machinelab checks"
PROPERTY = "outside check"
BEING_WRITTEN = pytest.StashKey[bool]()


@dataclass(frozen=True)
class Row:
    """One figure, or the worst of several: what a source says and what we find."""

    room: str
    what: str
    kind: str
    source: str
    seen: str
    published: str
    ours: str
    unit: str
    difference: str
    tolerance: str
    reason: str
    values: int
    passed: str
    table: str
    test: str

    @property
    def module(self) -> str:
        """The file of the test that wrote the row."""
        return self.test.partition("::")[0]

    def same_as(self, other: "Row") -> bool:
        """Tell whether two runs wrote the same line.

        What was computed may move by far less than is allowed, and a library may have another release.
        """
        told = ("room", "what", "kind", "seen", "unit", "values", "passed", "table", "test")
        return (
            all(getattr(self, name) == getattr(other, name) for name in told)
            and (self.seen == RUN_HERE or self.reason == other.reason)
            and without_release(self.source) == without_release(other.source)
            and all(self._near(other, name) for name in ("ours", "published", "tolerance"))
        )

    def unlike(self, other: "Row") -> str:
        """Return in words what two lines differ in."""
        return "; ".join(
            f"{one.name} {getattr(self, one.name)!r} in this run, {getattr(other, one.name)!r} on the sheet"
            for one in fields(Row)
            if getattr(self, one.name) != getattr(other, one.name)
        )

    def _near(self, other: "Row", name: str) -> bool:
        mine, theirs = getattr(self, name), getattr(other, name)
        if mine == theirs or (name != "ours" and self.seen != RUN_HERE):
            return mine == theirs
        try:
            allowed = max(float(self.tolerance) / 10, 1e-9 * abs(float(mine)))
            return abs(float(mine) - float(theirs)) <= allowed
        except ValueError:
            return False


def without_release(source: str) -> str:
    """Return a source without the release that stands behind a library's name."""
    return re.sub(r"^(\w+) [\d.]+:", r"\1:", source)


def write(rows: list[Row], path: Path = SHEET) -> None:
    """Write the rows, room by room in the house's order, and within a room file by file."""
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, [one.name for one in fields(Row)], lineterminator="\n")
        table.writeheader()
        table.writerows(vars(row) for row in sorted(rows, key=_place))


def _place(row: Row) -> tuple[int, str]:
    return ROOMS.index(row.room), row.module


def read(path: Path = SHEET) -> list[Row]:
    """Return the rows of the sheet as they are kept."""
    with path.open(encoding="utf-8", newline="") as file:
        return [Row(**(row | {"values": int(row["values"])})) for row in csv.DictReader(file)]


@cache
def kept() -> dict[str, list[Row]]:
    """Return the kept rows by the test that wrote them."""
    by_test: dict[str, list[Row]] = {}
    for row in read() if SHEET.is_file() else []:
        by_test.setdefault(row.test, []).append(row)
    return by_test


def departures(test: str, found: list[Row]) -> list[str]:
    """Return in words where a test's rows of this run differ from the kept ones."""
    stored = kept().get(test, [])
    if len(stored) != len(found):
        return [f"{len(found)} rows in this run, {len(stored)} on the sheet"]
    return [
        f"{now.what}: {now.unlike(before)}"
        for now, before in zip(found, stored, strict=True)
        if not now.same_as(before)
    ]
