"""A calculation or a result to show to others: one document, written for a forum, a page or a letter.

What a person typed cannot act as markup anywhere; folders, account names and letter addresses are left out.
"""

from dataclasses import dataclass, fields, is_dataclass, replace

from machinelab.workbook.share.bbcode import BBCode
from machinelab.workbook.share.blocks import (
    Block,
    Calculation,
    Notes,
    Paragraph,
    Picture,
    Table,
    calculation,
)
from machinelab.workbook.share.markdown import Markdown
from machinelab.workbook.share.page import Page
from machinelab.workbook.share.plain import Plain
from machinelab.workbook.share.private import without_private
from machinelab.worked.lettering import to_ascii

__all__ = [
    "LONGEST_POST",
    "Block",
    "Calculation",
    "Notes",
    "Paragraph",
    "Picture",
    "Post",
    "Table",
    "calculation",
    "without_private",
]

# Signs of the printer's that have a plain spelling.
_PRINTERS_SIGNS = str.maketrans(
    {"±": "+/-", "–": "-", "—": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "•": "*"}
)
# Many boards cut a post off near here: common practice, no source.
LONGEST_POST = 20_000


@dataclass(frozen=True)
class Post:
    """A title and what stands under it.

    Parameters
    ----------
    title : str
        One line.
    blocks : tuple of Block
        Paragraphs, calculations, tables, notes and pictures, in order.

    Examples
    --------
    >>> post = Post("Coast-down", (Paragraph("It stops in 5.2 s [three runs]."),))
    >>> print(post.bbcode())
    [b]Coast-down[/b]
    <BLANKLINE>
    It stops in 5.2 s (three runs).
    """

    title: str
    blocks: tuple[Block, ...] = ()

    def with_blocks(self, *blocks: Block) -> "Post":
        """The same post with more under it."""
        return replace(self, blocks=(*self.blocks, *blocks))

    def with_keys_only(self) -> "Post":
        """The same post with nothing but the keys of a keyboard, for boards that spoil other signs."""
        return _with_keys_only(self)

    def bbcode(self) -> str:
        """The post for a forum, in one piece."""
        return "\n\n".join(self._pieces(BBCode()))

    def bbcode_posts(self, longest: int = LONGEST_POST) -> tuple[str, ...]:
        """The post for a forum, in as many posts as its limit of letters asks for.

        It is parted between its blocks; a single block that is too long stays whole.
        """
        posts = []
        for piece in self._pieces(BBCode()):
            if posts and len(posts[-1]) + 2 + len(piece) <= longest:
                posts[-1] += "\n\n" + piece
            else:
                posts.append(piece)
        return tuple(posts)

    def markdown(self) -> str:
        """The post in Markdown."""
        return "\n\n".join(self._pieces(Markdown())) + "\n"

    def text(self) -> str:
        """The post as plain text of 76 columns."""
        return "\n\n".join(self._pieces(Plain())) + "\n"

    def html(self) -> str:
        """The post as a page of its own that opens without anything else."""
        page = Page()
        return page.whole(self.title, "\n".join(self._pieces(page)))

    def _repr_html_(self) -> str:
        return "\n".join(self._pieces(Page()))

    def _repr_markdown_(self) -> str:
        return self.markdown()

    def __str__(self) -> str:
        return self.text()

    def _pieces(self, hand) -> list[str]:
        return [hand.title(self.title), *(piece for piece in hand.blocks(self.blocks) if piece)]


def _with_keys_only(part):
    """Every text in a document with the keys of a keyboard, whatever it stands in."""
    if isinstance(part, str):
        return to_ascii(part.translate(_PRINTERS_SIGNS)) if part else part
    if isinstance(part, tuple):
        return tuple(_with_keys_only(one) for one in part)
    if is_dataclass(part):
        return replace(
            part, **{field.name: _with_keys_only(getattr(part, field.name)) for field in fields(part)}
        )
    return part
