"""What an automated checker finds on the pages that leave the workbook, and on its panels."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import nbformat

from machinelab.workbook.card.files import card_files
from machinelab.workbook.machine import load
from machinelab.workbook.notebook_html import page_of
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.pages.record import RecordPage
from machinelab.workbook.pages.threading import ThreadingPage
from machinelab.workbook.report.files import report_files

HOUSE = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((HOUSE / "notebooks").glob("*.ipynb"))
# How bad the checker calls a finding; nothing of these two kinds may stand.
GRAVE = ("critical", "serious")


@dataclass(frozen=True)
class Found:
    """What the checker found on one page."""

    page: str
    findings: tuple[dict, ...]
    rules_passed: int

    @property
    def counts(self) -> Counter:
        """How many elements break a rule, by how bad that is."""
        return Counter({kind: sum(self._elements(kind)) for kind in (*GRAVE, "moderate", "minor")})

    @property
    def grave(self) -> list[str]:
        """The findings that may not stand, each with its first element."""
        return [
            f"{self.page}: {one['impact']}, {one['id']}: {one['nodes'][0]['html'][:200]}"
            for one in self.findings
            if one["impact"] in GRAVE
        ]

    def _elements(self, kind: str):
        return (len(one["nodes"]) for one in self.findings if one["impact"] == kind)


def look_at(page, name: str, within: str = "") -> Found:
    """Run the checker on an open page, or only within what a selector names."""
    from axe_playwright_python.sync_playwright import Axe

    checked = Axe().run(page, context=within or None).response
    return Found(name, tuple(checked["violations"]), len(checked["passes"]))


def exported_pages():
    """One of every kind of page that the workbook hands out, and every notebook as a page: name and HTML."""
    demo = load(HOUSE / "notebooks" / "machines" / "demo")
    yield "forum post", CoastDownPage(demo).shared().html()
    for name, content in report_files(RecordPage(demo).report(), "A4").items():
        if name.endswith(".html"):
            yield "commissioning report", content.decode()
    for name, content in card_files(ThreadingPage(demo)._card(), "A4").items():
        if name.endswith(".html"):
            yield "threading card", content.decode()
    for path in NOTEBOOKS:
        notebook = nbformat.read(path, 4)
        yield f"notebook {path.stem}", page_of(notebook, title=path.stem, made="Machine: demo.")


def look_at_exported(page):
    """Open every exported page in the browser and have it checked."""
    for name, html in exported_pages():
        page.set_content(html)
        yield look_at(page, name)
