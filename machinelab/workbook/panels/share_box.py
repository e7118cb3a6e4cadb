"""A result to carry off: text that a person copies into a forum post, and files with its pictures."""

import html

from ipywidgets import HTML

from machinelab.workbook.panels.frame import Framed
from machinelab.workbook.panels.look import STYLE, take_along
from machinelab.workbook.share import Post
from machinelab.workbook.share.files import PostFile, post_files

# The button only hands the text of the box above it to the clipboard; without a clipboard
# it marks the text, so that the usual keys copy it.
COPY = (
    "const box = this.parentElement.querySelector('textarea'); box.select(); "
    "navigator.clipboard?.writeText(box.value).then(() => {this.textContent = 'copied'});"
)


class ShareBox(Framed):
    """One box for each way of writing with a copy button, and a link for each file.

    The files are in the links themselves: nothing is written until the browser saves one.

    Parameters
    ----------
    post : Post
        What is to be shown to others.
    name : str
        What its files are called after.
    """

    def __init__(self, post: Post, name: str):
        self.files = post_files(post, name)
        self.texts = {
            "For a forum that takes BBCode": post.bbcode(),
            "For a forum that takes Markdown": post.markdown(),
            "Plain text": post.text(),
        }
        boxes = [_box(label, text) for label, text in self.texts.items()]
        words = [_box(f"Words for the {file.use}", file.alt) for file in self.files if file.alt]
        self.widget = HTML(STYLE + "".join([*boxes, _links(self.files), *words]))
        self.widget.add_class("machinelab-panel")


def _box(label: str, text: str) -> str:
    name = html.escape(label, quote=True)
    return (
        f'<div class="machinelab-copy"><p>{name}</p>'
        f'<textarea readonly aria-label="{name}">{html.escape(text)}</textarea>'
        f'<button type="button" class="jupyter-button" onclick="{html.escape(COPY, quote=True)}">'
        "copy</button></div>"
    )


def _links(files: tuple[PostFile, ...]) -> str:
    """Every file to be saved, with its size, since a forum limits that of a picture."""
    entries = "".join(
        f"<li>{take_along(file.name, file.content)}: {file.use}, {_size(file)}</li>" for file in files
    )
    return (
        '<div class="machinelab-files"><p>As files, to be saved. A forum wants a picture uploaded: put it '
        f"where the text says (picture), with its words.</p><ul>{entries}</ul></div>"
    )


def _size(file: PostFile) -> str:
    return f"{max(round(len(file.content) / 1000), 1)} kB"
