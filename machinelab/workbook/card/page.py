"""The card as a page: no script, nothing from elsewhere, black on white, one paper size for the printer."""

import html

from machinelab.errors import RangeError
from machinelab.workbook.card import CAUTIONS, HOW_TO_READ, Card, CardRow
from machinelab.workbook.card.lettering import as_typed
from machinelab.workbook.card.sheet import COLUMNS_MM, HIGH_MM, PAPERS_MM, WIDE_MM

# Stripes are asked for in print; the rules part the rows where a printer leaves them out.
STYLE = (
    "@page{{size:{paper};margin:{across:.1f}mm {beside:.1f}mm}}"
    "body{{font:12pt/1.25 'DejaVu Sans',Verdana,sans-serif;color:#000;background:#fff;"
    "max-width:{wide:.0f}mm;margin:1em auto}}"
    "h1{{font-size:16pt;margin:0}}p{{margin:0.3em 0}}"
    "table{{border-collapse:collapse;width:100%;table-layout:fixed}}"
    "th{{text-align:left;border-bottom:1px solid #000}}"
    "th,td{{padding:0.15em 1.6mm;vertical-align:top;overflow-wrap:anywhere}}"
    "tbody{{border-bottom:1px solid #000;break-inside:avoid;page-break-inside:avoid}}"
    "tbody:nth-of-type(odd){{background:#e6e6e6;print-color-adjust:exact;-webkit-print-color-adjust:exact}}"
    "td p{{margin:0}}td b{{font-size:16pt;display:block}}"
    "ol{{margin:0.6em 0 0;padding-left:1.6em;font-weight:bold}}"
    "@media print{{body{{margin:0;max-width:none}}ol{{break-inside:avoid}}}}"
)


def page(card: Card, paper: str = "A4") -> str:
    """The card as one HTML file that opens and prints without anything else.

    Raises
    ------
    RangeError
        If there is no such paper.
    """
    if paper not in PAPERS_MM:
        raise RangeError(f"There is no paper {paper!r} here; there are: {', '.join(PAPERS_MM)}.")
    wide, high = PAPERS_MM[paper]
    style = STYLE.format(paper=paper, beside=(wide - WIDE_MM) / 2, across=(high - HIGH_MM) / 2, wide=WIDE_MM)
    headings = "".join(
        f'<th scope="col" style="width:{share / WIDE_MM:.1%}">{_said(heading)}</th>'
        for heading, share in COLUMNS_MM.items()
    )
    rows = (
        "".join(map(_row, card.rows)) or '<tbody><tr><td colspan="4">No thread on the list.</td></tr></tbody>'
    )
    cautions = "".join(f"<li>{_said(caution)}</li>" for caution in CAUTIONS)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_said(card.title)}</title><style>{style}</style></head>\n<body>\n"
        f"<h1>{_said(card.title)}</h1><p>{_said(card.made)}</p><p>{_said(HOW_TO_READ)}</p>\n"
        f"<table><thead><tr>{headings}</tr></thead>\n{rows}</table>\n"
        f"<ol>{cautions}</ol>\n</body></html>\n"
    )


def _row(row: CardRow) -> str:
    depth = f"{row.depth_words} deep" if row.depths_mm else ""
    cells = (
        (row.designation, row.name, row.pitch_words),
        (row.speed_words, row.limit_words),
        (row.ratio_words, row.error_words),
        (row.groove_words, row.run_out_words, depth, row.passes_words),
    )
    figures = "".join(f"<td>{_cell(*cell)}</td>" for cell in cells)
    remarks = "".join(f"<p>{_said(remark)}</p>" for remark in row.remarks)
    across = f'<tr><td colspan="{len(cells)}">{remarks}</td></tr>' if remarks else ""
    return f"<tbody><tr>{figures}</tr>{across}</tbody>\n"


def _cell(key: str, *more: str) -> str:
    return f"<b>{_said(key)}</b>" + "<br>".join(_said(one) for one in more if one)


def _said(text: str) -> str:
    return html.escape(as_typed(text), quote=True)
