"""A post for a forum that reads BBCode: only the marks that every board knows."""

from machinelab.workbook.share.blocks import Calculation, Notes, Paragraph, Picture, Table
from machinelab.workbook.share.columns import text_table, wrapped
from machinelab.workbook.share.hand import Hand, steps

_ROUND = str.maketrans("[]", "()")


class BBCode(Hand):
    """Bold, italics, lists and code boxes of no more than 76 columns.

    Which marks every board knows: common practice, no source.
    """

    def escape(self, text: str) -> str:
        """Square brackets become round ones; nothing else is a mark."""
        return text.translate(_ROUND)

    def title(self, text: str) -> str:
        """The title of the post."""
        return f"[b]{self.words(text)}[/b]"

    def paragraph(self, block: Paragraph) -> str:
        """Running text."""
        return self.words(block.text)

    def calculation(self, block: Calculation) -> str:
        """A calculation to be followed line by line."""
        word, sentence = block.verdict_parts
        verdict = f"[b]{word}[/b]: {self.words(sentence)}" if word else self.words(sentence)
        parts = (
            self.title(block.title),
            self._box(line for step in steps(block) for line in wrapped(self.escape(step))),
            verdict,
            self.words(block.meaning),
            self._list("Taken for granted:", block.assumptions),
            f"[i]Source: {self.words(block.source)}[/i]" if block.source else "",
        )
        return "\n".join(part for part in parts if part)

    def table(self, block: Table) -> str:
        """Rows under headings."""
        rows = tuple(tuple(self.words(cell) for cell in row) for row in block.rows)
        box = self._box(text_table(tuple(self.words(heading) for heading in block.headings), rows))
        return "\n".join([self.title(block.title), box] if block.title else [box])

    def notes(self, block: Notes) -> str:
        """A list of remarks."""
        return self._list(block.title, block.items)

    def picture(self, block: Picture) -> str:
        """A picture, or the words that stand for it."""
        words = f"[i]{self.words(block.alt)}[/i]"
        return f"[img]{block.url}[/img]\n{words}" if block.url else f"(picture) {words}"

    def _list(self, title: str, items) -> str:
        if not items:
            return ""
        # Many boards end an entry at the end of its line.
        lines = "\n".join(f"[*]{self.words(' '.join(item.split()))}" for item in items)
        return f"{self.words(title)}\n[list]\n{lines}\n[/list]"

    @staticmethod
    def _box(lines) -> str:
        return "[code]\n" + "\n".join(lines) + "\n[/code]"
