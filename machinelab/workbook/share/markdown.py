"""A post in Markdown: CommonMark with pipe tables, formulas in code spans.

No library that the project stands on writes pipe tables (pandas wants another one for it), and a row is
no more than its escaped cells between bars.
"""

import re

from machinelab.workbook.share.blocks import Calculation, Notes, Paragraph, Picture, Table
from machinelab.workbook.share.hand import Hand, steps

_MARKS = re.compile(r"([\\`*_\[\]|~#$])")
_ADDRESS = re.compile(r"(https?://[A-Za-z0-9_./:?&=%+~#@-]+)")
_AT_THE_START = re.compile(r"(?m)^(\s*)([-+=]|\d+(?=[.)]))")


class Markdown(Hand):
    """Headings, bold, lists, pipe tables and code spans."""

    def escape(self, text: str) -> str:
        """Every sign that could be a mark is written so that it is none; an address becomes a link."""
        pieces = _ADDRESS.split(text)
        # Addresses stand at the odd places. In one, a backslash would count as part of it.
        return "".join(f"<{piece}>" if odd % 2 else self._plain(piece) for odd, piece in enumerate(pieces))

    def title(self, text: str) -> str:
        """The title of the post."""
        return f"## {self._line(text)}"

    def paragraph(self, block: Paragraph) -> str:
        """Running text."""
        return self._lines(block.text)

    def calculation(self, block: Calculation) -> str:
        """A calculation to be followed line by line."""
        word, sentence = block.verdict_parts
        verdict = f"**{word}**: {self._line(sentence)}" if word else self._line(sentence)
        parts = (
            f"### {self._line(block.title)}",
            "\n\n".join(code_span(step) for step in steps(block)),
            verdict,
            self._lines(block.meaning),
            self._list("Taken for granted:", block.assumptions),
            f"*Source: {self._line(block.source)}*" if block.source else "",
        )
        return "\n\n".join(part for part in parts if part)

    def table(self, block: Table) -> str:
        """Rows under headings."""
        rows = (block.headings, *block.rows)
        written = ["| " + " | ".join(self._line(cell) for cell in row) + " |" for row in rows]
        written.insert(1, "|" + " --- |" * len(block.headings))
        table = "\n".join(written)
        return f"**{self._line(block.title)}**\n\n{table}" if block.title else table

    def notes(self, block: Notes) -> str:
        """A list of remarks."""
        return self._list(block.title, block.items)

    def picture(self, block: Picture) -> str:
        """A picture, or the words that stand for it."""
        words = self._line(block.alt)
        return f"![{words}]({block.url})" if block.url else f"*(picture) {words}*"

    def _plain(self, text: str) -> str:
        text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        text = _MARKS.sub(r"\\\1", text)
        return _AT_THE_START.sub(self._at_the_start, text)

    def _line(self, text: str) -> str:
        """Words on one line."""
        return self.words(" ".join(text.split()))

    def _lines(self, text: str) -> str:
        """Words whose line breaks stay."""
        return "\\\n".join(self._line(line) for line in text.strip().splitlines() if line.strip())

    def _list(self, title: str, items) -> str:
        lines = "\n".join(f"- {line}" for item in items if (line := self._line(item)))
        return f"{self._line(title)}\n\n{lines}" if lines else ""

    @staticmethod
    def _at_the_start(found: re.Match) -> str:
        space, sign = found.groups()
        # A backslash goes before a sign, but behind the figure of a numbered list.
        return f"{space}\\{sign}" if sign in "-+=" else f"{space}{sign}\\"


def code_span(text: str) -> str:
    """A formula as it stands, between more backquotes than it holds itself.

    Examples
    --------
    >>> code_span("t = C * R * ln(V0 / 60)")
    '`t = C * R * ln(V0 / 60)`'
    """
    text = " ".join(text.split())
    longest = max((len(run) for run in re.findall("`+", text)), default=0)
    edge = " " if text.startswith("`") or text.endswith("`") else ""
    return "`" * (longest + 1) + edge + text + edge + "`" * (longest + 1) if text else ""
