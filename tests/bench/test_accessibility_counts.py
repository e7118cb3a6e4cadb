"""How many findings an automated checker has on the pages that leave the workbook."""

import pytest
from browser.accessibility import GRAVE, look_at_exported
from browser.lab import browser_page, browser_path

pytestmark = [pytest.mark.bench, pytest.mark.browser]


def test_the_findings_on_exported_pages_are_counted(figures):
    browser_path()
    with browser_page() as page:
        found = list(look_at_exported(page))
    for kind in (*GRAVE, "moderate", "minor"):
        wanted = "none" if kind in GRAVE else ""
        count = sum(one.counts[kind] for one in found)
        figures.add(f"accessibility findings, {kind}, {len(found)} pages", count, "elements", wanted=wanted)
    assert [grave for one in found for grave in one.grave] == []
