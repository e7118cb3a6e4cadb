"""From what a person measured to the parts of a line in the record; what cannot stand there is refused."""

import hashlib
import math
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path, PureWindowsPath

from machinelab.errors import RecordError
from machinelab.workbook import verdict as verdicts

_INITIALS = re.compile(r"(?:[^\W\d_]\.?[ -]?){1,4}")


def step_number(step: str | int) -> str:
    """The step of the workbook as two figures."""
    text = f"{step:02d}" if isinstance(step, int) else str(step).strip()
    if not re.fullmatch(r"\d\d", text):
        raise RecordError(f"The step is two figures, such as 05 for the coast-down; you typed {text[:20]!r}.")
    return text


def judged(value, uncertainty, lower, upper, word) -> str:
    """The verdict word: found from the numbers, or said for a check that has none."""
    word = getattr(word, "word", word)
    if word is not None and word not in verdicts.WORDS:
        raise RecordError(f"A verdict is one of {', '.join(verdicts.WORDS)}; you typed {str(word)[:20]!r}.")
    if value is None:
        return word or verdicts.NOT_DONE
    found = verdicts.verdict(value, uncertainty, lower, upper).word
    if word not in (None, found):
        raise RecordError(
            f"The numbers give {found}, not {word}. Leave the verdict out; it is found from them."
        )
    return found


def measured(value, uncertainty, unit, values: Iterable[float]) -> dict | None:
    """What was measured, or nothing."""
    if value is None:
        return None
    readings = tuple(float(one) for one in values)
    return {
        "values": readings or None,
        "value": float(value),
        "U": None if uncertainty is None else float(uncertainty),
        "k": 2,
        "unit": unit,
    }


def limit(lower, upper, unit, where_from: str) -> dict | None:
    """The limit with its origin, or nothing when there is none."""
    if lower is None and upper is None:
        return None
    if not where_from.strip():
        raise RecordError(
            "Say where the limit comes from: a standard and clause, a handbook and table, the maker's "
            "plate, or your own choice and why."
        )
    return {"lower": lower, "upper": upper, "unit": unit, "where_from": where_from}


def as_written(named: Mapping[str, object] | None) -> dict[str, object] | None:
    """Inputs and conditions as a page can hold them: fractions as ``127/40``, endless ones as words."""
    return None if named is None else {str(name): _as_written(value) for name, value in named.items()}


def _as_written(value):
    value = value.item() if hasattr(value, "item") else value
    if isinstance(value, Fraction | Decimal) or (isinstance(value, float) and not math.isfinite(value)):
        return str(value)
    return value


def initials(by: str) -> str | None:
    """Initials as they are; a name does not belong in a record that may be shown to others."""
    if by and not _INITIALS.fullmatch(by):
        raise RecordError(f"Initials only, up to four letters, such as E.B.; you typed {by[:20]!r}.")
    return by or None


def bare_name(name: str) -> str:
    """The name of a file without the folders before it, whichever computer it comes from."""
    return PureWindowsPath(str(name)).name


def data_file(one, folder: Path) -> dict[str, str]:
    """Name and fingerprint of a raw file: of a log that was read, or of a file in the machine's folder."""
    if hasattr(one, "sha256"):
        return {"name": bare_name(one.name), "sha256": one.sha256}
    path = folder / one
    try:
        sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as trouble:
        raise RecordError(f"The raw file '{bare_name(one)}' cannot be read: {trouble.strerror}.") from None
    inside = path.resolve().is_relative_to(folder.resolve())
    name = path.resolve().relative_to(folder.resolve()).as_posix() if inside else path.name
    return {"name": name, "sha256": sha256}
