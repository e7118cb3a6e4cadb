"""Writing single lines into ``machine.toml``: remarks and order stay, and the file is never half written."""

from collections.abc import Mapping
from pathlib import Path

import tomlkit

from machinelab.errors import MachineFileError
from machinelab.units.typed_number import in_short
from machinelab.workbook.machine.built import Machine, fields
from machinelab.workbook.machine.file import FILE_NAME, decoded, parse, read_machine
from machinelab.workbook.whole_file import write_whole

# TOML promises no more than 64 bits.
LARGEST_INTEGER = 2**63 - 1


def write_machine(folder: Path, changes: Mapping[str, object]) -> Machine:
    """Write changed lines into the machine file of a folder; all else in it stays as it is.

    Parameters
    ----------
    folder : Path
        The machine's folder; a file is made if there is none.
    changes : mapping
        What to write, by path, as a person would type it: ``{"leadscrew.lead": "8 tpi"}``. None takes the
        line out. ``thread.2.pitch`` is a line of the second thread, ``thread.2`` the whole thread.

    Returns
    -------
    Machine
        The machine as it now stands in the file.

    Raises
    ------
    MachineFileError
        When a change cannot be used or the disk cannot be written; then the file is as it was.
    """
    file = folder / FILE_NAME
    try:
        before = decoded(file.read_bytes()) if file.exists() else ""
        parse(before)
        after = _changed(before, changes)
        parse(after)
        write_whole(file, after, check=parse)
    except OSError as problem:
        raise MachineFileError(f"{file} cannot be written: {problem.strerror or problem}.") from None
    return read_machine(folder)


def _changed(text: str, changes: Mapping[str, object]) -> str:
    document = tomlkit.parse(text)
    for path, typed in changes.items():
        match path.split("."):
            case ["thread", number]:
                _write_thread(_threads(document), number, typed)
            case ["thread", number, key]:
                _write_thread(_threads(document), number, {key: typed})
            case ["target", "why", key]:
                _put(_section(_section(document, "target"), "why"), key, typed)
            case [section, key] if section in {line.section for line in fields()}:
                _put(_section(document, section), key, typed)
            case _:
                raise MachineFileError(
                    f"{in_short(path)} is no line of a machine file, such as leadscrew.lead."
                )
    return tomlkit.dumps(document)


def _section(above, name: str):
    if name not in above:
        above[name] = tomlkit.table()
    return above[name]


def _threads(document):
    if "thread" not in document:
        document["thread"] = tomlkit.aot()
    return document["thread"]


def _write_thread(threads, number: str, typed: Mapping[str, object] | None) -> None:
    place = int(number) - 1 if number.isdecimal() and len(number) < 6 else -1
    if not 0 <= place <= len(threads):
        raise MachineFileError(
            f"There is no thread {in_short(number)}: there are {len(threads)}, counted from 1, "
            f"and a new one is number {len(threads) + 1}."
        )
    if typed is None:
        if place < len(threads):
            del threads[place]
        return
    if not isinstance(typed, Mapping):
        raise MachineFileError(f"thread.{number} is a whole thread: give its lines by name, such as pitch.")
    if place == len(threads):
        threads.append(tomlkit.table())
    for key, value in typed.items():
        _put(threads[place], key, value)


def _put(section, key: str, typed) -> None:
    if typed is None:
        section.pop(key, None)
        return
    if isinstance(typed, int) and abs(typed) > LARGEST_INTEGER:
        raise MachineFileError(f"{in_short(key)} is a larger number than any machine needs.")
    if not isinstance(typed, str | int | float):
        raise MachineFileError(f"{in_short(key)} must be given as it would be typed, as words or a number.")
    section[key] = typed
