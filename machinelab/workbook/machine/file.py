"""Reading ``machine.toml``: a machine, or every problem of the file at once."""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from machinelab.errors import MachineFileError
from machinelab.workbook.machine.built import Machine
from machinelab.workbook.machine.problems import about_writing, told_at_once

FILE_NAME = "machine.toml"
LARGEST_FILE = 1_000_000


def read_machine(folder: Path) -> Machine:
    """Read the machine file of a folder."""
    file = folder / FILE_NAME
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise MachineFileError(f"{file} is larger than a machine file can be. Is it another file?")
        content = file.read_bytes()
    except FileNotFoundError:
        raise MachineFileError(
            f"There is no {FILE_NAME} in {folder}. Choose a machine on the start page, or make one there."
        ) from None
    except OSError as problem:
        raise MachineFileError(f"{file} cannot be read: {problem.strerror}.") from None
    return parse(content, folder=folder)


def parse(content: str | bytes, *, folder: Path | None = None) -> Machine:
    r"""Read the content of a machine file; a problem in it is told together with all the others.

    Raises
    ------
    MachineFileError
        Naming each line that cannot be used, what stands there, what is allowed and what to type.

    Examples
    --------
    >>> parse('[leadscrew]\nlead = "8 tpi"').leadscrew.lead_mm
    Fraction(127, 40)
    """
    text = decoded(content)
    said = _loaded(text)
    try:
        machine = Machine.model_validate(said)
    except ValidationError as invalid:
        raise told_at_once(invalid.errors(include_url=False), text) from None
    machine._folder = folder
    machine._typed = MappingProxyType({path: str(value) for path, value in _flat(said)})
    return machine


def decoded(content: str | bytes) -> str:
    """Turn the bytes of a machine file into text."""
    if isinstance(content, str):
        return content
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as problem:
        raise MachineFileError(
            f"This is no text file: byte {problem.start + 1} cannot be read. "
            "Save the machine file as plain text (UTF-8)."
        ) from None


def _loaded(text: str) -> dict:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise about_writing(str(problem), text) from None
    except (RecursionError, ValueError):
        raise MachineFileError(
            "The machine file holds a number or brackets beyond anything a machine can need. "
            "Take out the line with the very long number or the many brackets."
        ) from None


def _flat(said: Mapping, above: str = "") -> Iterator[tuple[str, object]]:
    for key, value in said.items():
        path = f"{above}{key}"
        if isinstance(value, dict):
            yield from _flat(value, f"{path}.")
        elif path == "thread":
            for count, thread in enumerate(value, start=1):
                yield from _flat(thread, f"thread.{count}.")
        else:
            yield path, value
