"""Run every outside check, or those of some files, write the sheet and its page, and say what there is."""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from inspection import page, sheet

OUTSIDE = sheet.SHEET.parent
# This one reads the sheet, which is not written yet.
GUARD = OUTSIDE / "test_the_sheet_of_checks.py"


class SheetWriter:
    """Gathers the rows that the tests hand on with their reports."""

    def __init__(self):
        self.rows: list[sheet.Row] = []

    def pytest_configure(self, config):
        """Tell the tests that the sheet is being written, not held against them."""
        config.stash[sheet.BEING_WRITTEN] = True

    def pytest_runtest_logreport(self, report):
        """Take the rows of a test that has run."""
        if report.when == "call":
            found = [value for name, value in report.user_properties if name == sheet.PROPERTY]
            self.rows += [sheet.Row(**one) for one in found]


def main(files: list[str]) -> int:
    """Run the tests, those of the given files or all; only when all of them pass is the sheet written."""
    writer = SheetWriter()
    asked = files or [str(OUTSIDE)]
    status = pytest.main(["-q", "-p", "no:xdist", f"--ignore={GUARD}", *asked], plugins=[writer])
    if status:
        print("The sheet was not written, because a check does not hold.")
        return int(status)
    run = {Path(file).stem for file in files}
    others = [row for row in sheet.read() if row.module not in run] if files else []
    sheet.write([*others, *writer.rows])
    rows = sheet.read()
    page.write(rows)
    print(page.summary_text(rows))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
