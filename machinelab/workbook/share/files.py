"""A post as files: one for each way of writing, and its pictures as they are put into a forum."""

import re
from dataclasses import dataclass

from machinelab.workbook.share.blocks import Picture
from machinelab.workbook.share.private import without_private

LONGEST_NAME = 60


@dataclass(frozen=True)
class PostFile:
    """One file of a post: what it is for, its name and its bytes; of a picture, its words."""

    use: str
    name: str
    content: bytes
    alt: str = ""


def post_files(post, name: str) -> tuple[PostFile, ...]:
    """Every file of a post, the page first.

    Parameters
    ----------
    post : Post
        What is shown.
    name : str
        What the files are called after; letters that a file's name cannot have are left out.

    Returns
    -------
    tuple of PostFile
        A page, the three ways of writing, and each picture.
    """
    stem = file_stem(name)
    texts = (
        ("the whole as a page that opens anywhere", "html", post.html()),
        ("text in BBCode", "bbcode.txt", post.bbcode()),
        ("text in Markdown", "md", post.markdown()),
        ("plain text", "txt", post.text()),
    )
    return (
        *(PostFile(use, f"{stem}.{end}", text.encode()) for use, end, text in texts),
        *_pictures(post, stem),
    )


def _pictures(post, stem: str):
    drawn = [block for block in post.blocks if isinstance(block, Picture) and block.png]
    for number, block in enumerate(drawn, start=1):
        which = f" {number}" if len(drawn) > 1 else ""
        name = f"{stem}{which.replace(' ', '-')}.png"
        yield PostFile(f"picture{which}", name, block.png, without_private(block.alt))


def file_stem(name: str) -> str:
    """The name of a file in letters that every computer takes.

    Examples
    --------
    >>> file_stem("05 Drehbank <alt>/neu")
    '05-Drehbank-alt-neu'
    """
    words = re.findall(r"\w+", without_private(name))
    return "-".join(words)[:LONGEST_NAME].strip("-") or "machinelab"
