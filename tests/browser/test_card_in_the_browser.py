"""The threading card in a real JupyterLab: a button makes it, a link hands it out, it prints on one sheet."""

import re
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]

CARD_BOX = """
from machinelab.workbook.pages.threading import ThreadingPage

page = ThreadingPage.open()
page.card_box()
"""


@pytest.fixture(scope="module")
def box(visit):
    """The two buttons, on the demo machine."""
    return visit(CARD_BOX).page


def handed_out(page, paper: str, ending: str) -> bytes:
    page.get_by_role("button", name=f"make the card, {paper}").click()
    link = page.get_by_role("link", name=f"threading_card_{paper}{ending}")
    with page.expect_download() as download:
        link.click()
    assert download.value.suggested_filename == f"threading_card_{paper}{ending}"
    return Path(download.value.path()).read_bytes()


def sheets(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_button_makes_a_pdf_that_can_be_taken_along(box, paper):
    content = handed_out(box, paper, ".pdf")
    assert content.startswith(b"%PDF-1.")
    assert sheets(content) == 1


@pytest.mark.parametrize(("paper", "high"), [("A4", 841.9), ("Letter", 792.0)])
def test_the_page_prints_on_one_sheet_of_its_paper_and_asks_for_nothing(box, paper, high):
    page = box.context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_content(handed_out(box, paper, ".html").decode())
    printed = page.pdf(prefer_css_page_size=True)
    page.close()
    assert sheets(printed) == 1
    sides = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", printed).groups()
    assert float(sides[1]) == pytest.approx(high, abs=1)
    assert asked == []
