"""A post as plain text, for a letter or a printer."""

from machinelab.workbook.share.blocks import Calculation, Notes, Paragraph, Picture, Table
from machinelab.workbook.share.columns import text_table, wrapped
from machinelab.workbook.share.hand import Hand, steps


class Plain(Hand):
    """Lines of no more than 76 columns."""

    def escape(self, text: str) -> str:
        """Plain text has no marks."""
        return text

    def title(self, text: str) -> str:
        """The title of the post."""
        words = " ".join(self.words(text).split())
        return "\n".join([*wrapped(words), "=" * min(len(words), 76)])

    def paragraph(self, block: Paragraph) -> str:
        """Running text."""
        return self._wrapped(block.text)

    def calculation(self, block: Calculation) -> str:
        """A calculation to be followed line by line."""
        parts = (
            self._wrapped(block.title),
            "\n".join(line for step in steps(block) for line in wrapped(step, indent="    ")),
            self._wrapped(block.verdict),
            self._wrapped(block.meaning),
            self._list("Taken for granted:", block.assumptions),
            self._wrapped(f"Source: {block.source}") if block.source else "",
        )
        return "\n".join(part for part in parts if part)

    def table(self, block: Table) -> str:
        """Rows under headings."""
        rows = tuple(tuple(self.words(cell) for cell in row) for row in block.rows)
        lines = text_table(tuple(self.words(heading) for heading in block.headings), rows)
        return "\n".join([self._wrapped(block.title), *lines] if block.title else lines)

    def notes(self, block: Notes) -> str:
        """A list of remarks."""
        return self._list(block.title, block.items)

    def picture(self, block: Picture) -> str:
        """A picture, or the words that stand for it."""
        where = f" ({block.url})" if block.url else ""
        return self._wrapped(f"(picture) {block.alt}{where}")

    def _wrapped(self, text: str) -> str:
        return "\n".join(wrapped(self.words(text))) if text else ""

    def _list(self, title: str, items) -> str:
        return (
            "\n".join([self._wrapped(title), *(self._wrapped(f"- {item}") for item in items)])
            if items
            else ""
        )
