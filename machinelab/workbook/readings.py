"""What a person guessed and read at the machine, kept word for word in ``readings.toml`` until next time.

One section a step, one line a box, the text as it was typed: ``turns = "100"``. The file can be read and
changed by hand; its remarks stay. Where the machine's folder must not be written to, what is typed lasts as
long as the page is open.
"""

import hashlib
import json
import os
import tomllib
from dataclasses import dataclass
from pathlib import Path

import tomlkit

from machinelab.workbook.machine.folders import is_read_only
from machinelab.workbook.whole_file import write_whole

FILE_NAME = "readings.toml"
_HEAD = "# Guesses and readings, as they were typed into the workbook.\n"


@dataclass(frozen=True)
class TypedFile:
    """What was typed on one step, by its name and its fingerprint, as a line of the record takes it."""

    name: str
    sha256: str


class Readings:
    """The typed readings of one machine.

    A file that cannot be read is left alone: ``problem`` says what is wrong with it, and nothing is kept.

    Parameters
    ----------
    folder : Path or None
        The machine's folder; None for a machine that is not on disk.
    """

    def __init__(self, folder: Path | None):
        self.file = folder / FILE_NAME if folder else None
        self.problem = ""
        self._texts = self._read()
        self.keeps = bool(folder) and _may_be_written(folder) and not self.problem

    def of(self, step: str) -> dict[str, str]:
        """Everything that was typed on a step, by the name of its box."""
        return dict(self._texts.get(_section(step), {}))

    def typed(self, step: str) -> TypedFile | None:
        """The step's section of the file with its fingerprint; None while nothing was typed."""
        texts = {name: text for name, text in self.of(step).items() if text}
        if not texts:
            return None
        content = json.dumps(texts, ensure_ascii=False, sort_keys=True).encode()
        return TypedFile(f"{FILE_NAME} [{_section(step)}]", hashlib.sha256(content).hexdigest())

    def keep(self, step: str, name: str, text: str) -> None:
        """Keep what was typed into a box; an empty text takes it out."""
        section = self._texts.setdefault(_section(step), {})
        if section.get(name, "") == text:
            return
        section[name] = text
        if self.keeps:
            self._write(_section(step), name, text)

    def _read(self) -> dict[str, dict[str, str]]:
        if self.file is None or not self.file.is_file():
            return {}
        try:
            found = tomllib.loads(self.file.read_text(encoding="utf-8"))
        except (OSError, ValueError) as trouble:
            self.problem = (
                f"{FILE_NAME} cannot be read ({trouble}), so earlier guesses and readings are not shown and "
                'new ones are not kept. Each line must look like turns = "100", below the heading of its '
                "step, such as [step-04]. Mend it, or rename it and start afresh."
            )
            return {}
        return {
            step: {name: str(text) for name, text in lines.items()}
            for step, lines in found.items()
            if isinstance(lines, dict)
        }

    def _write(self, section: str, name: str, text: str) -> None:
        old = self.file.read_text(encoding="utf-8") if self.file.exists() else _HEAD
        document = tomlkit.parse(old)
        lines = document.setdefault(section, tomlkit.table())
        if text:
            lines[name] = text
        elif name in lines:
            del lines[name]
        write_whole(self.file, tomlkit.dumps(document), check=lambda written: tomllib.loads(written.decode()))


def _may_be_written(folder: Path) -> bool:
    return not is_read_only(folder) and os.access(folder, os.W_OK)


def _section(step: str) -> str:
    return f"step-{step}"
