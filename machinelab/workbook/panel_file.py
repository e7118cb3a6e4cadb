"""Reading ``panel.toml``, the control box of a machine: a panel, or every mistake of it with its line."""

import re
import tomllib
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from machinelab.controls.panel import Panel
from machinelab.controls.panel_reading import read_panel
from machinelab.errors import PanelError

FILE_NAME = "panel.toml"
LARGEST_FILE = 200_000

_HEADING = re.compile(r"^\s*\[([^\[\]]+)\]")
_LINE = re.compile(r"""^\s*("[^"]*"|'[^']*'|[\w-]+)\s*=""")


def read_panel_file(folder: Path | None) -> Panel | None:
    """Read the control box of a machine's folder; None when there is no description of it.

    Raises
    ------
    PanelError
        When the file cannot be read; a description that cannot be used is told with all its mistakes.
    """
    file = folder / FILE_NAME if folder else None
    if file is None or not file.is_file():
        return None
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise PanelError(f"{file.name} is larger than a description can be. Is it another file?")
        return parse_panel(file.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError:
        raise PanelError(f"{file.name} is no text file. Save it as plain text (UTF-8).") from None
    except OSError as problem:
        raise PanelError(f"{file.name} cannot be read: {problem.strerror}.") from None


def parse_panel(text: str) -> Panel:
    r"""Read the text of a description.

    Examples
    --------
    >>> parse_panel('[switch.main]\npos = ["off", "on"]\n[load.lamp]\non = "S7"')
    Traceback (most recent call last):
        ...
    machinelab.errors.PanelError: One mistake in the description of the control box:
    - line 4, load.lamp.on: Column 1: S7 is no contact of this panel.
    """
    try:
        described = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise PanelError(_about_writing(str(problem), text)) from None
    except (RecursionError, ValueError):
        raise PanelError(
            "The description holds a number or brackets beyond anything a panel needs."
        ) from None
    lines = dict(_line_numbers(text))
    return read_panel(described, lines.get)


def content_hash(folder: Path) -> str:
    """What tells one description from another, so that a result is kept for exactly what was checked."""
    return sha256((folder / FILE_NAME).read_bytes()).hexdigest()


def _about_writing(problem: str, text: str) -> str:
    place = re.search(r"line (\d+)", problem)
    lines = text.split("\n")
    number = int(place[1]) if place else len(lines)
    shown = lines[number - 1].strip()[:60] if number <= len(lines) else ""
    return (
        f"Line {number} of {FILE_NAME} cannot be read: {shown}\n"
        f"  The reader says: {re.sub(r' *.at .*$', '', problem)}.\n"
        '  A line looks like coil = "S1 and K1_a", a heading like [relay.K1]; a remark starts with #.'
    )


def _line_numbers(text: str) -> Iterator[tuple[str, int]]:
    heading = ""
    for number, line in enumerate(text.split("\n"), start=1):
        if found := _HEADING.match(line):
            heading = re.sub(r"[\"']", "", found[1]).replace(" . ", ".").strip()
            yield heading, number
        elif found := _LINE.match(line):
            key = found[1].strip("\"'")
            yield f"{heading}.{key}" if heading else key, number
