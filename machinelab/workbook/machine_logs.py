"""Which of the logs in a machine's folder belong to which measurement, told by a word in the file's name."""

from pathlib import Path

from machinelab.workbook.machine import Machine

COAST, BRAKED, METER_STEP = "coast", "braked", "meter step"
_WORDS = {COAST: ("free", "coast"), BRAKED: ("brak",), METER_STEP: ("step",)}


def logs_for(purpose: str, machine: Machine) -> list[Path]:
    """The machine's logs for a measurement, the likeliest first.

    A name such as ``braked_run_down.csv`` says what it is. A log whose name says nothing may be a coast-down,
    the commonest of all; for anything else a log must be named, or be chosen by hand.
    """
    folder = machine.folder / "logs" if machine.folder else None
    if folder is None or not folder.is_dir():
        return []
    files = [file for file in sorted(folder.iterdir()) if file.is_file()]
    named = [file for file in files if _says(file, purpose)]
    return named + [
        file for file in files if purpose == COAST and not any(_says(file, one) for one in _WORDS)
    ]


def _says(file: Path, purpose: str) -> bool:
    return any(word in file.name.lower() for word in _WORDS[purpose])
