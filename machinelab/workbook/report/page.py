"""The report as a page: no script, nothing from elsewhere, black on white, one paper size for the printer."""

from machinelab.workbook.card.paper import HIGH_MM, WIDE_MM, paper_size_mm
from machinelab.workbook.report import Report
from machinelab.workbook.share.page import Page

STYLE = (
    "@page{{size:{paper};margin:{across:.1f}mm {beside:.1f}mm}}"
    "body{{font:9pt/1.35 'DejaVu Sans',Verdana,sans-serif;color:#000;background:#fff;"
    "max-width:{wide:.0f}mm;margin:1em auto}}"
    "h1{{font-size:16pt;margin:0}}p{{margin:0.4em 0}}"
    "h2,p:has(+ul){{font-size:11pt;font-weight:bold;margin:1em 0 0.2em;break-after:avoid}}"
    "table{{border-collapse:collapse;width:100%}}thead{{display:table-header-group}}"
    "tr{{break-inside:avoid;page-break-inside:avoid}}"
    "th,td{{border:1px solid #000;padding:0.15em 0.4em;text-align:left;vertical-align:top;"
    "overflow-wrap:anywhere;min-width:2.6em}}"
    "th{{white-space:nowrap}}td:first-child{{min-width:7em}}"
    # Of the inspection sheet: number, verdict and date.
    "table:first-of-type td:nth-child(1),table:first-of-type td:nth-child(6),"
    "table:first-of-type td:nth-child(7){{white-space:nowrap;min-width:0}}"
    "ul{{margin:0.2em 0;padding-left:1.4em}}"
    "@media print{{body{{margin:0;max-width:none}}}}"
)


def page(report: Report, paper: str = "A4") -> str:
    """The report as one HTML file that opens and prints without anything else.

    Raises
    ------
    RangeError
        If there is no such paper.
    """
    wide, high = paper_size_mm(paper)
    style = STYLE.format(paper=paper, beside=(wide - WIDE_MM) / 2, across=(high - HIGH_MM) / 2, wide=WIDE_MM)
    hand = Page()
    made = f"<p>{hand.words(report.made)}</p>"
    body = "\n".join([hand.title(report.title), made, *filter(None, hand.blocks(report.blocks))])
    return hand.whole(report.title, body, style)
