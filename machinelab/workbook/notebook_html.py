"""A notebook that has been run, as one page: no script, no address, nothing to install, black on white.

Prose and results go through one door that lets plain elements and embedded pictures pass and nothing else,
so that a name or a note that somebody typed is words on the page. No folder or account name leaves with it.
"""

import html
import re
from collections.abc import Iterator

import mistune
from bleach.sanitizer import Cleaner

from machinelab.workbook.share.private import without_private

LIVE, CHECK = "live", "check"
CONTROL = "application/vnd.jupyter.widget-view+json"
PICTURE_DATA = "data:image/png;base64,"
PASSED = '<p class="verdict">The checks of this page passed when it was made.</p>'
WHAT_IT_IS = (
    "A page of a workbook, as it stood on that day. The controls are left out; a still picture or a table "
    "stands for each. The lines of code are folded away under their captions."
)
# On a page there is nothing to run.
_WHAT_TO_PRESS = re.compile(r"\**Nothing (?:here )?runs by itself\b[^\n]*")

# Of these nothing is shown, the words inside them neither.
_UNSHOWN = ("style", "script")
_TAGS = {
    *(
        "h1",
        "h2",
        "h3",
        "h4",
        "p",
        "div",
        "section",
        "blockquote",
        "ul",
        "ol",
        "li",
        "hr",
        "br",
        "pre",
        "img",
    ),
    *("b", "i", "u", "s", "em", "strong", "small", "sub", "sup", "span", "code"),
    *("table", "thead", "tbody", "tfoot", "tr", "th", "td"),
}
_NAMED = {
    "section": ("role", "aria-label"),
    "td": ("colspan", "rowspan"),
    "th": ("colspan", "rowspan", "scope"),
}

STYLE = (
    "body{font:16px/1.5 sans-serif;color:#111;background:#fff;max-width:52em;margin:1.5em auto;padding:0 1em;"
    "overflow-wrap:break-word}"
    "header{border-bottom:2px solid #111;margin-bottom:1em}header p{margin:0.2em 0}"
    "h1{font-size:1.6em;line-height:1.25}h2{font-size:1.3em;border-bottom:1px solid #999;margin-top:1.8em}"
    "section[role=note]{border:3px solid #000;padding:0.6em 1em}section[role=note] ul{padding-left:1.4em}"
    "img{max-width:100%;height:auto}"
    ".cell{margin:0.8em 0}"
    "details summary{color:#444;font-size:0.85em;cursor:pointer}"
    "pre,code{font:14px/1.45 monospace}"
    "pre{border-left:3px solid #999;padding:0.3em 0.8em;margin:0.4em 0;overflow-x:auto}"
    "blockquote{margin:0.5em 0;padding-left:1em;border-left:3px solid #999}"
    ".wide{overflow-x:auto}table{border-collapse:collapse;margin:0.5em 0;font-size:0.9em}"
    "th,td{border:1px solid #666;padding:0.2em 0.5em;text-align:left;vertical-align:top}"
    # On a phone a table is moved sideways before its words stand one below the other.
    "@media screen and (max-width:30em){.wide td:not(:first-child){min-width:5em}}"
    ".verdict{border:1px solid #111;padding:0.1em 0.5em;display:inline-block}"
    "@page{margin:15mm}"
    "@media print{body{margin:0;padding:0;max-width:none;font-size:10.5pt;color:#000}"
    "h1,h2,h3,summary{break-after:avoid}img,tr,section[role=note],blockquote{break-inside:avoid}"
    "thead{display:table-header-group}.wide{overflow:visible}table{font-size:8.5pt}"
    "pre{white-space:pre-wrap;overflow-wrap:anywhere;font-size:8.5pt}}"
)
# Even if something slipped through, a browser would run no script and ask for no address.
_NOTHING_FROM_ELSEWHERE = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def page_of(notebook, *, title: str, made: str) -> str:
    """Turn a notebook that has been run into one HTML file.

    Parameters
    ----------
    notebook : nbformat.NotebookNode
        With its outputs; cells tagged ``live`` are left out.
    title : str
        Heads the window, and the page.
    made : str
        On which machine and on which day, in words.

    Returns
    -------
    str
        The page.
    """
    body = "\n".join(piece for piece in map(_cell, notebook.cells) if piece)
    head = f"<p><strong>{_said(title)}</strong></p><p>{_said(made)}</p><p><small>{WHAT_IT_IS}</small></p>"
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_NOTHING_FROM_ELSEWHERE}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_said(title)}</title><style>{STYLE}</style></head>\n"
        f"<body>\n<header>{head}</header>\n<main>\n{body}\n</main>\n</body></html>\n"
    )


def caption(source: str) -> str:
    """What a code cell does: the plain words of its first line."""
    first = source.strip().partition("\n")[0]
    return first.lstrip("# ") if first.startswith("#") else "code"


def _cell(cell) -> str:
    if cell.cell_type == "markdown":
        return _prose(_WHAT_TO_PRESS.sub("", cell.source))
    tags = cell.metadata.get("tags", ())
    if cell.cell_type != "code" or LIVE in tags:
        return ""
    shown = "".join(map(_shown, cell.outputs)) + (PASSED if CHECK in tags else "")
    return f'<div class="cell">{_folded(cell.source)}\n{shown}</div>' if shown else ""


def _folded(source: str) -> str:
    return f"<details><summary>{_said(caption(source))}</summary>{_as_typed(source)}</details>"


def _shown(output) -> str:
    """One result; of several forms of it the richest that a page can hold."""
    if output.output_type == "stream":
        # The other stream holds warnings, which are about somebody's computer and not about the machine.
        return _as_typed(output.text) if output.name == "stdout" else ""
    data = output.get("data", {})
    if CONTROL in data:
        return ""
    writers = {
        "text/html": _clean,
        "text/markdown": _prose,
        "image/png": lambda picture: _picture(picture, data.get("text/plain", "picture")),
        "text/plain": _as_typed,
    }
    return next((write(data[kind]) for kind, write in writers.items() if kind in data), "")


def _picture(encoded: str, words: str) -> str:
    return f'<img alt="{_said(words)}" src="{PICTURE_DATA}{"".join(encoded.split())}">'


def _as_typed(text: str) -> str:
    return f"<pre>{_said(text)}</pre>"


def _said(text: str) -> str:
    return html.escape(without_private(text), quote=True)


class _Words(mistune.HTMLRenderer):
    """Markdown without addresses: of a link and of a picture from elsewhere the words are kept."""

    def link(self, text: str, url: str, title: str | None = None) -> str:
        """The words of a link."""
        return text

    def image(self, text: str, url: str, title: str | None = None) -> str:
        """The words that stand for a picture."""
        return f"<em>{text}</em>"


def _prose(text: str) -> str:
    return _clean(mistune.create_markdown(renderer=_Words(escape=True), plugins=["table"])(text))


def _clean(markup: str) -> str:
    cleaner = Cleaner(
        tags=_TAGS | {*_UNSHOWN},
        attributes=_may_have,
        protocols={"data"},
        strip=True,
        filters=[_Kept],
    )
    return cleaner.clean(markup)


def _may_have(tag: str, name: str, value: str) -> bool:
    if tag == "img":
        return name in ("alt", "width", "height") or (name == "src" and value.startswith(PICTURE_DATA))
    return name == "class" or name in _NAMED.get(tag, ())


class _Kept:
    """The pieces of a result that go onto the page, as the library passes them on one by one."""

    def __init__(self, source):
        self.source = source

    def __iter__(self) -> Iterator[dict]:
        unshown = 0
        for token in self.source:
            kind, name = token["type"], token.get("name")
            if name in _UNSHOWN:
                unshown += {"StartTag": 1, "EndTag": -1}.get(kind, 0)
            elif not unshown:
                yield from self._piece(token, kind, name)

    def _piece(self, token: dict, kind: str, name: str | None) -> Iterator[dict]:
        if name == "img":
            yield from _seen_and_said(token)
        elif name == "table":
            # A table that is wider than a phone is moved sideways by itself, and the page stays where it is.
            beside = {"type": kind, "name": "div", "namespace": token["namespace"], "data": {}}
            if kind == "StartTag":
                beside["data"] = {(None, "class"): "wide"}
            yield from (beside, token) if kind == "StartTag" else (token, beside)
        elif kind == "Characters":
            yield {**token, "data": _without_private(token["data"])}
        else:
            yield token


def _seen_and_said(token: dict) -> Iterator[dict]:
    """A picture that is carried along, with its words; any other is left out."""
    data = token["data"]
    if (None, "src") in data:
        words = without_private(data.get((None, "alt"), "")) or "picture"
        yield {**token, "data": {**data, (None, "alt"): words}}


def _without_private(text: str) -> str:
    """The same without what is private; blanks at its ends part it from its neighbours and stay."""
    core = text.strip()
    if not core:
        return text
    before, _, after = text.partition(core)
    return before + without_private(core) + after
