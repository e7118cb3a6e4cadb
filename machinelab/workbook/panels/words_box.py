"""A box for words that are kept as they were typed and never read as a number."""

from ipywidgets import Layout, Text

from machinelab.workbook.panels.quantity import BOX_WIDTH, LABEL_WIDTH


def words_box(label: str, *, example: str = "", text: str = "", width: str = BOX_WIDTH) -> Text:
    """A named box for words, with what might stand in it shown while it is empty."""
    return Text(
        value=text,
        description=label,
        placeholder=example,
        continuous_update=False,
        style={"description_width": LABEL_WIDTH},
        layout=Layout(width=width),
    )
