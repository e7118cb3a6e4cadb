"""Text that a person copies into a forum post or a page."""

import html
from collections.abc import Mapping

from ipywidgets import HTML

from machinelab.workbook.panels.look import STYLE

# The button only hands the text of the box above it to the clipboard; without a clipboard
# it marks the text, so that the usual keys copy it.
COPY = (
    "const box = this.parentElement.querySelector('textarea'); box.select(); "
    "navigator.clipboard?.writeText(box.value).then(() => {this.textContent = 'copied'});"
)


class ShareBox:
    """One box for each form of the same text, each with a copy button.

    Parameters
    ----------
    texts : mapping of str to str
        What the form is for, and the text.
    """

    def __init__(self, texts: Mapping[str, str]):
        self.texts = dict(texts)
        self.widget = HTML(STYLE + "".join(_box(label, text) for label, text in self.texts.items()))
        self.widget.add_class("machinelab-panel")

    def _repr_mimebundle_(self, include=None, exclude=None):
        return self.widget._repr_mimebundle_(include=include, exclude=exclude)


def _box(label: str, text: str) -> str:
    name = html.escape(label, quote=True)
    return (
        f'<div class="machinelab-copy"><p>{name}</p>'
        f'<textarea readonly aria-label="{name}">{html.escape(text)}</textarea>'
        f'<button type="button" class="jupyter-button" onclick="{html.escape(COPY, quote=True)}">'
        "copy</button></div>"
    )
