"""What the writers of a post have in common: one method for each kind of piece, and one door for words."""

from abc import ABC, abstractmethod

from machinelab.workbook.share.blocks import Block, Calculation, Notes, Paragraph, Picture, Table
from machinelab.workbook.share.private import without_private


class Hand(ABC):
    """A way of writing a post. Every word a person typed goes through ``words``."""

    def blocks(self, blocks: tuple[Block, ...]) -> list[str]:
        """Each piece as text."""
        write = {
            Paragraph: self.paragraph,
            Calculation: self.calculation,
            Table: self.table,
            Notes: self.notes,
            Picture: self.picture,
        }
        return [write[type(block)](block) for block in blocks]

    def words(self, text: str) -> str:
        """A person's words, without what is private, so that they mean nothing but themselves."""
        return self.escape(without_private(text))

    @abstractmethod
    def escape(self, text: str) -> str:
        """The text so that none of its signs works as markup."""

    @abstractmethod
    def title(self, text: str) -> str:
        """The title of the post."""

    @abstractmethod
    def paragraph(self, block: Paragraph) -> str:
        """Running text."""

    @abstractmethod
    def calculation(self, block: Calculation) -> str:
        """A calculation to be followed line by line."""

    @abstractmethod
    def table(self, block: Table) -> str:
        """Rows under headings."""

    @abstractmethod
    def notes(self, block: Notes) -> str:
        """A list of remarks."""

    @abstractmethod
    def picture(self, block: Picture) -> str:
        """A picture, or the words that stand for it."""


def steps(block: Calculation) -> tuple[str, ...]:
    """Formula, numbers in place and result, one line each; a result that ends them is not said twice."""
    lines = (*block.formula, *block.numbers)
    told = lines if not block.result or block.result in lines else (*lines, block.result)
    return tuple(map(without_private, told))
