"""The report's files, as PDF and as a page, by file name."""

from machinelab.workbook.report import Report
from machinelab.workbook.report.page import page
from machinelab.workbook.report.sheet import pdf


def report_files(report: Report, paper: str) -> dict[str, bytes]:
    """The report on one paper."""
    name = f"commissioning_report_{paper}"
    return {f"{name}.pdf": pdf(report, paper), f"{name}.html": page(report, paper).encode()}
