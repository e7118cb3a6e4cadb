"""What a page found, as the last words of its post: the line it would write into the record, told."""

from collections.abc import Mapping

from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.share import Notes
from machinelab.workbook.verdict import verdict

TITLE = "Measured and judged"


def result_notes(line: Mapping) -> Notes:
    r"""Tell what was measured with which instrument, what was computed, the limit's origin, and the verdict.

    Parameters
    ----------
    line : mapping
        As `Record.add` takes it.

    Returns
    -------
    share.Notes
        One remark for each part that the line has.

    Examples
    --------
    >>> line = {"quantity": "backlash", "value": 0.12, "uncertainty": 0.01, "unit": "mm", "upper": 0.15}
    >>> print(*result_notes(line | {"where_from": "own choice: taken up"}).items, sep="\n")
    Of: backlash
    Verdict: MET: 0.120 mm +/- 0.010 (k=2) keeps the limit (at most 0.15 mm) with 0.02 mm to spare.
    Limit from: own choice: taken up
    """
    parts = {
        "Of": line["quantity"],
        "Verdict": _judged(line),
        "Limit from": line.get("where_from", ""),
        "Computed beforehand": _computed(line),
        "Instrument": _instrument(line.get("instrument") or {}),
        "Under these conditions": _conditions(line.get("conditions") or {}),
    }
    return Notes(tuple(f"{name}: {words}" for name, words in parts.items() if words), TITLE)


def _judged(line: Mapping) -> str:
    if line.get("value") is None:
        return line.get("verdict", "")
    limits = (line.get("lower"), line.get("upper"))
    return str(verdict(line["value"], line["uncertainty"], *limits, unit=line.get("unit", "")))


def _computed(line: Mapping) -> str:
    value, doubt, unit = (
        line.get("predicted"),
        line.get("predicted_uncertainty"),
        line.get("unit", ""),
    )
    if value is None:
        return ""
    number = value_with_uncertainty(value, doubt, unit) if doubt else f"{value:.4g} {unit}"
    return ", ".join(filter(None, (number, line.get("formula"))))


def _instrument(instrument: Mapping) -> str:
    doubt = instrument.get("U_from")
    return instrument.get("name", "") + (f"; its doubt: {doubt}" if doubt else "")


def _conditions(conditions: Mapping) -> str:
    return "; ".join(f"{name}: {value}" for name, value in conditions.items())
