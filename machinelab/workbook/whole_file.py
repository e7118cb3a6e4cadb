"""Writing a file as a whole: afterwards it is the old one or the new one, never half of either."""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

TRIES = 5
PAUSE_S = 0.2


def write_whole(file: Path, text: str, check: Callable[[bytes], object]) -> None:
    """Write a text file so that a power cut leaves either the old content or the new.

    The new content goes into a second file beside it, is forced to the disk, read back and checked, and
    only then takes the place of the old.

    Parameters
    ----------
    file : Path
        The file to write.
    text : str
        Its new content.
    check : callable
        Is given the content as read back from the disk, and raises if it will not do.
    """
    descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.", suffix=".new")
    written = Path(name)
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        check(written.read_bytes())
        if file.exists():
            written.chmod(file.stat().st_mode)
        _put_in_place(written, file)
    finally:
        written.unlink(missing_ok=True)
    force_folder_to_disk(file.parent)


def force_folder_to_disk(folder: Path) -> None:
    """Force a folder's list of files to the disk, so that a new name in it survives a power cut."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _put_in_place(written: Path, file: Path) -> None:
    for _ in range(TRIES - 1):
        try:
            written.replace(file)
        except PermissionError:
            # On Windows a virus scanner or an open editor holds the old file for a moment.
            time.sleep(PAUSE_S)
        else:
            return
    written.replace(file)
