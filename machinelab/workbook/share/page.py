"""A post as a page that carries everything along: no script, no outside address, black on white on paper."""

import base64
import html

from machinelab.workbook.share.blocks import Calculation, Notes, Paragraph, Picture, Table
from machinelab.workbook.share.hand import Hand, steps

STYLE = (
    "body{font:16px/1.45 sans-serif;color:#111;background:#fff;max-width:50em;margin:1.5em auto;"
    "padding:0 1em}"
    "pre{font:14px/1.5 monospace;border-left:3px solid #111;padding:0.3em 0.8em;white-space:pre-wrap}"
    "table{border-collapse:collapse;margin:0.5em 0}"
    "th,td{border:1px solid #111;padding:0.25em 0.6em;text-align:left;vertical-align:top}"
    ".wide{overflow-x:auto}"
    "@media(max-width:30em){body{font-size:15px}h1{font-size:1.5em}h2{font-size:1.2em}"
    "table{font-size:13px}th,td{padding:0.2em 0.35em}.wide td:not(:first-child){min-width:5em}}"
    ".verdict{border:1px solid #111;padding:0.1em 0.5em;display:inline-block}"
    ".source{font-size:0.85em}img{max-width:100%}"
    "@page{size:A4;margin:18mm}"
    "@media print{body{margin:0;padding:0;max-width:none;color:#000}.wide{overflow:visible}}"
)


class Page(Hand):
    """Pieces of HTML; what a person typed is text and nothing else."""

    def escape(self, text: str) -> str:
        """HTML's own signs as text."""
        return html.escape(text, quote=True)

    def title(self, text: str) -> str:
        """The title of the post."""
        return f"<h1>{self.words(text)}</h1>"

    def paragraph(self, block: Paragraph) -> str:
        """Running text."""
        return f"<p>{self._lines(block.text)}</p>"

    def calculation(self, block: Calculation) -> str:
        """A calculation to be followed line by line."""
        word, sentence = block.verdict_parts
        verdict = f"<strong>{word}</strong>: {self.words(sentence)}" if word else self.words(sentence)
        lines = "\n".join(self.escape(step) for step in steps(block))
        parts = (
            f"<h2>{self.words(block.title)}</h2><pre>{lines}</pre>",
            f'<p class="verdict">{verdict}</p>' if verdict else "",
            f"<p>{self._lines(block.meaning)}</p>" if block.meaning else "",
            self._list("Taken for granted:", block.assumptions),
            f'<p class="source">Source: {self.words(block.source)}</p>' if block.source else "",
        )
        return "".join(parts)

    def table(self, block: Table) -> str:
        """Rows under headings."""
        import pandas as pd

        headings = [self._line(one) for one in block.headings]
        cells = [[self._line(cell) for cell in row] for row in block.rows]
        frame = pd.DataFrame(cells, columns=headings, dtype=object)
        with pd.option_context("display.max_colwidth", None):
            table = frame.to_html(index=False, border=0, escape=False, justify="left")
        heading = f"<h2>{self.words(block.title)}</h2>" if block.title else ""
        # On a narrow screen the table slides sideways, by keys too.
        name = self.words(block.title) or "table"
        return f'{heading}<div class="wide" role="group" tabindex="0" aria-label="{name}">{table}</div>'

    def notes(self, block: Notes) -> str:
        """A list of remarks."""
        return self._list(block.title, block.items)

    def picture(self, block: Picture) -> str:
        """A picture, or the words that stand for it."""
        if not block.png and not block.url:
            return f"<p>(picture) {self.words(block.alt)}</p>"
        # A picture that lies elsewhere would make the page ask for it, so that its address is only a link.
        if not block.png:
            return f'<p><a href="{self.escape(block.url)}">{self.words(block.alt)}</a></p>'
        data = base64.b64encode(block.png).decode()
        return f'<p><img alt="{self.words(block.alt)}" src="data:image/png;base64,{data}"></p>'

    def whole(self, title: str, body: str, style: str = STYLE) -> str:
        """The page around its pieces."""
        return (
            '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            f"<title>{self.words(title)}</title><style>{style}</style></head>\n<body>\n{body}\n</body></html>\n"
        )

    def _line(self, text: str) -> str:
        return self.words(" ".join(text.split()))

    def _lines(self, text: str) -> str:
        return "<br>".join(self.words(line) for line in text.strip().splitlines())

    def _list(self, title: str, items) -> str:
        entries = "".join(f"<li>{self.words(item)}</li>" for item in items)
        return f"<p>{self.words(title)}</p><ul>{entries}</ul>" if items else ""
