"""Which machines there are, which one is chosen, and where each is kept.

Every machine has a folder under ``notebooks/machines/``. The demo is read-only; a person's own machine starts
as a copy of it or as a page to be filled in. ``MACHINELAB_MACHINE`` names a machine or a folder and
comes before the choice remembered from the start page.
"""

import os
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from machinelab.errors import MachineFileError
from machinelab.units.typed_number import in_short
from machinelab.workbook.machine.blank import blank_file
from machinelab.workbook.machine.built import Machine
from machinelab.workbook.machine.edit import write_machine
from machinelab.workbook.machine.file import FILE_NAME, parse, read_machine
from machinelab.workbook.panel_file import FILE_NAME as PANEL_FILE
from machinelab.workbook.whole_file import write_whole

DEMO = "demo"
OVERRIDE = "MACHINELAB_MACHINE"
REMEMBERED = ".chosen"
_HOUSE = Path(__file__).resolve().parents[3]
# Names that Windows keeps for itself, whatever follows the point.
DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"}
DEVICES |= {f"{port}{n}" for port in ("com", "lpt") for n in "123456789¹²³"}
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9_-]{0,38}[a-z0-9])?")


def machines_folder() -> Path:
    """Where the machines are kept: beside the notebooks that are open, else beside those of the checkout."""
    beside = Path.cwd() / "machines"
    return beside if (beside / DEMO / FILE_NAME).is_file() else _HOUSE / "notebooks" / "machines"


def machines() -> tuple[str, ...]:
    """The names of all machines, the demo first."""
    found = sorted(file.parent.name for file in machines_folder().glob(f"*/{FILE_NAME}"))
    return tuple(sorted(found, key=lambda name: name != DEMO))


def load(machine: str | Path | None = None) -> Machine:
    """Read a machine.

    Parameters
    ----------
    machine : str or Path
        Its name or its folder; left out, it is the one chosen on the start page.

    Raises
    ------
    MachineFileError
        When there is no such machine, or its file has lines that cannot be used.
    """
    return read_machine(chosen() if machine is None else _folder(machine))


def save(changes: Mapping[str, object], machine: str | Path | Machine | None = None) -> Machine:
    """Write changed lines into a machine's file and read it again; comments and order stay.

    Parameters
    ----------
    changes : mapping
        What to write, by path, as typed: ``{"leadscrew.lead": "8 tpi"}``; None takes a line out.
        ``thread.2.pitch`` is a line of the second thread, ``thread.2`` all of it.
    machine : str, Path or Machine
        The machine; left out, the chosen one.

    Raises
    ------
    MachineFileError
        When the machine is the read-only demo or a change cannot be used; then nothing is written.
    """
    folder = machine.folder if isinstance(machine, Machine) else _folder(machine) if machine else chosen()
    if folder is None:
        raise MachineFileError("This machine has no folder yet. Make one on the start page, then save.")
    if is_read_only(folder):
        raise MachineFileError(
            "The demo machine stays as it is. "
            "Make your own machine on the start page, empty or as a copy of the demo, and change that."
        )
    return write_machine(folder, changes)


def is_read_only(folder: Path) -> bool:
    """Whether a folder is the demo's, here or in the checkout."""
    demos = (machines_folder() / DEMO, _HOUSE / "notebooks" / "machines" / DEMO)
    return folder.resolve() in [demo.resolve() for demo in demos]


def empty() -> Machine:
    """A machine of which nothing is known yet."""
    return parse("")


def chosen() -> Path:
    """The folder of the machine that is worked on.

    Raises
    ------
    MachineFileError
        When the machine that was chosen is no longer there.
    """
    override = os.environ.get(OVERRIDE, "").strip()
    if override:
        return _folder(override)
    remembered = machines_folder() / REMEMBERED
    try:
        name = remembered.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        name = ""
    return _folder(name or DEMO)


def choose(name: str) -> Path:
    """Remember which machine to work on, for this page and the next.

    Raises
    ------
    MachineFileError
        When there is no such machine, or the choice cannot be written down.
    """
    folder = _folder(name)
    with told_in_words(machines_folder()):
        write_whole(machines_folder() / REMEMBERED, f"{name}\n", check=lambda written: None)
    return folder


def create(name: str, like: str | Path | None = None) -> Path:
    """Make a folder for a new machine, empty or with the lines and the control box of another one.

    Parameters
    ----------
    name : str
        Small letters, figures, ``-`` and ``_``; it becomes the name of the folder.
    like : str or Path
        The machine whose file is copied; left out, the new file has every line as a remark to fill in.

    Raises
    ------
    MachineFileError
        When the name will not do for a folder or is taken, or nothing can be written there.
    """
    folder = machines_folder() / checked_name(name)
    if folder.exists():
        raise MachineFileError(f"There is a machine {name} already. Choose it, or take another name.")
    text = blank_file() if like is None else (_folder(like) / FILE_NAME).read_text(encoding="utf-8")
    box = _folder(like) / PANEL_FILE if like is not None else None
    with told_in_words(machines_folder()):
        folder.mkdir()
        try:
            write_whole(folder / FILE_NAME, text, check=parse)
            if box and box.is_file():
                shutil.copyfile(box, folder / PANEL_FILE)
        except BaseException:
            # Half a machine would bar its own name.
            shutil.rmtree(folder, ignore_errors=True)
            raise
    return folder


def checked_name(name: str) -> str:
    """Return the name of a folder for a machine, or refuse it in words."""
    if not _NAME.fullmatch(name) or name in DEVICES:
        raise MachineFileError(
            f"{in_short(name) or 'An empty name'} will not do for a folder. "
            "Take up to 40 small letters and figures, with - or _ between, such as old-lathe."
        )
    return name


@contextmanager
def told_in_words(folder: Path) -> Iterator[None]:
    """Say of a folder or a disk that takes nothing what can be done about it."""
    try:
        yield
    except OSError as problem:
        raise MachineFileError(
            f"Nothing can be written in {folder}: {problem.strerror or problem}. "
            "Put the workbook where you may write, on a disk that has room, and open it again."
        ) from None


def _folder(machine: str | Path) -> Path:
    """The folder of a machine given by name or by folder."""
    given = Path(machine)
    for folder in (machines_folder() / given, given):
        if _has_machine_file(folder):
            return folder.resolve()
    raise MachineFileError(
        f"There is no machine {in_short(str(machine))}. There are: {', '.join(machines()) or 'none'}. "
        "Choose one on the start page."
    )


def _has_machine_file(folder: Path) -> bool:
    try:
        return (folder / FILE_NAME).is_file()
    except (OSError, ValueError):  # no path at all: far too long, or with a zero byte
        return False
