"""A button with which one file is chosen and handed over; the same on every page that takes a file."""

from collections.abc import Callable

from ipywidgets import FileUpload

# The channel between browser and kernel drops anything larger, and says nothing.
MOST_MB = 10
TOO_LARGE_HERE = f"Nothing comes through here that is larger than {MOST_MB} MB"


def file_drop(accept: str, taken: Callable[[str, bytes], None], label: str = "choose a file") -> FileUpload:
    """A button that gives a chosen file to ``taken``, by its name and its bytes.

    Parameters
    ----------
    accept : str
        File endings offered first, such as ``".csv,.txt"``.
    taken : callable
        Is given name and content.
    label : str
        What the button says.
    """
    button = FileUpload(accept=accept, multiple=False, description=label)

    def chosen(change) -> None:
        for file in change["new"]:
            taken(file["name"], bytes(file["content"]))

    button.observe(chosen, "value")
    return button
