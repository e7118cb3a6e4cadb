"""The commissioning report in a real JupyterLab: a button makes it, a link hands it out, it prints."""

import re
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]

REPORT_BOX = """
from machinelab.workbook.pages.record import RecordPage

page = RecordPage.open()
page.report_box
"""


@pytest.fixture(scope="module")
def box(visit):
    """The two buttons, on the demo machine."""
    return visit(REPORT_BOX).page


@pytest.mark.parametrize(("paper", "high"), [("A4", 841.9), ("Letter", 792.0)])
def test_the_report_prints_on_its_paper_within_its_width_and_asks_for_nothing(box, paper, high):
    box.get_by_role("button", name=f"make the report, {paper}").click()
    link = box.get_by_role("link", name=f"commissioning_report_{paper}.html")
    with box.expect_download() as download:
        link.click()
    page = box.context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_content(Path(download.value.path()).read_text(encoding="utf-8"))
    printed = page.pdf(prefer_css_page_size=True)
    # 190 mm at 96 dots to the inch.
    page.set_viewport_size({"width": 718, "height": 1000})
    page.emulate_media(media="print")
    overhang = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    page.close()
    sides = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", printed).groups()
    assert float(sides[1]) == pytest.approx(high, abs=1)
    assert overhang <= 0
    assert asked == []
