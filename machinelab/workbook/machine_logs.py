"""Which of the logs in a machine's folder belong to which measurement, told by a word in the file's name."""

from pathlib import Path

from machinelab.workbook.machine import Machine

COAST, DISC, BRAKED, METER_STEP = "coast", "disc", "braked", "meter step"
# In this order, so that a "free run with the disc" is a run with the disc.
_WORDS = {BRAKED: ("brak",), METER_STEP: ("step",), DISC: ("disc",), COAST: ("free", "coast")}


def logs_for(purpose: str, machine: Machine) -> list[Path]:
    """The machine's logs for a measurement, the likeliest first.

    A name such as ``braked_run_down.csv`` says what it is. A log whose name says nothing may be a coast-down,
    the commonest of all; for anything else a log must be named, or be chosen by hand.
    """
    files = every_log(machine)
    named = [file for file in files if _says(file) == purpose]
    return named + [file for file in files if purpose == COAST and not _says(file)]


def every_log(machine: Machine) -> list[Path]:
    """All logs in the machine's folder, by name."""
    folder = machine.folder / "logs" if machine.folder else None
    if folder is None or not folder.is_dir():
        return []
    return [file for file in sorted(folder.iterdir()) if file.is_file()]


def _says(file: Path) -> str:
    name = file.name.lower()
    return next((purpose for purpose, words in _WORDS.items() if any(word in name for word in words)), "")
