"""The cells of a log's columns as numbers: plain, with units behind them, clock times, dates."""

import re
from dataclasses import dataclass

import numpy as np

from machinelab.workbook.speed_log.words import roles_of

_CLOCK_PARTS = r"^(?:(\d+):)?(\d+):(\d+(?:[.,]\d+)?)(?:[:](\d{3}))?\s*([AaPp][Mm])?$"
_ISO = re.compile(r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}")
_DAY_FIRST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?:(T| +)(\d+:\d+(:\d+)?)?)?")


@dataclass(frozen=True)
class Column:
    """One column as numbers: seconds if it held clock times or dates, else the numbers as written."""

    number: int
    heading: str
    written_as: str
    values: np.ndarray
    cell_units: object = None

    @property
    def name(self):
        """The column as a person finds it in the file."""
        return f"column {self.number} '{self.heading}'" if self.heading else f"column {self.number}"

    @property
    def roles(self):
        """What the heading says it is."""
        return roles_of(self.heading)


def columns_of(table):
    """Every column of a table that holds mostly numbers, clock times or dates."""
    columns = []
    for position, heading in enumerate(table.layout.headings):
        column = _column(table.frame[position], heading, position + 1, table.layout)
        if np.isfinite(column.values).sum() >= max(1, 0.3 * len(column.values)):
            columns.append(column)
    return columns


def _column(series, heading, number, layout):
    if series.dtype.kind in "iuf":
        return Column(number, heading, "number", _finite(series.to_numpy(dtype=np.float64)))
    if series.dtype.kind == "M":
        return Column(number, heading, "date", (series - series.dropna().min()).dt.total_seconds().to_numpy())
    text = series if series.dtype == "str" else series.astype(str).where(series.notna())
    sample = [cell for cell in text.head(200) if isinstance(cell, str)][:50]
    if any(cell != cell.strip() for cell in sample):
        text = text.str.strip()
        sample = [cell.strip() for cell in sample]
    if sum(bool(_ISO.match(cell) or _DAY_FIRST.match(cell)) for cell in sample) > len(sample) / 2:
        return Column(number, heading, "date", _date_seconds(text, sample))
    if sum(bool(re.match(r"\d+:\d", cell)) for cell in sample) > len(sample) / 2:
        return Column(number, heading, "clock", _clock_seconds(text, sample))
    values, units = _numbers(text, layout)
    return Column(number, heading, "number", _finite(values), units)


def _finite(values):
    return values if np.isfinite(values).all() else np.where(np.isfinite(values), values, np.nan)


def _numbers(text, layout):
    """Cells such as ``1'200,5 rpm``: the numbers, and the units behind them."""
    import pandas as pd

    if layout.thousands:
        text = text.str.replace(layout.thousands, "", regex=False)
    if layout.decimal == ",":
        text = text.str.replace(",", ".", regex=False)
    values = pd.to_numeric(text, errors="coerce").astype(float)
    left = text[values.isna() & text.notna()]
    if left.empty:
        return values.to_numpy(), None
    parts = left.str.extract(r"^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*([^\d\s].*)$")
    values = values.copy()
    values[left.index] = parts[0].astype(float)
    units = parts[1].dropna()
    return values.to_numpy(), (units if len(units) else None)


def _with_points(text, sample):
    """Decimal points instead of decimal commas, where there are any."""
    return text.str.replace(",", ".", regex=False) if any("," in cell for cell in sample) else text


def _clock_seconds(text, sample):
    """``hh:mm:ss.s`` or ``mm:ss.s`` as seconds; cells of any other kind are missing."""
    import pandas as pd

    text = _with_points(text, sample)
    if all(re.fullmatch(r"\d\d:\d\d:\d\d(?:[.,]\d+)?", cell) for cell in sample):
        stamps = pd.to_datetime("1970-01-01T" + text, format="ISO8601", errors="coerce")
        seconds = (stamps - pd.Timestamp("1970-01-01")).dt.total_seconds()
    else:
        seconds = pd.Series(np.nan, index=text.index)
    left = text[seconds.isna() & text.notna()]
    if left.empty:
        return seconds.to_numpy()
    parts = left.str.extract(_CLOCK_PARTS)
    numbers = parts[[0, 1, 2, 3]].astype(float)
    hours = numbers[0].fillna(0.0)
    noon = parts[4].str.upper()
    hours = hours.where(~noon.isin(["AM", "PM"]), hours % 12) + 12.0 * (noon == "PM")
    slow = hours * 3600 + numbers[1] * 60 + numbers[2] + numbers[3].fillna(0.0) / 1000
    seconds = seconds.copy()
    seconds[left.index] = slow
    return seconds.to_numpy()


def _date_seconds(text, sample):
    """Dates with or without a clock time as seconds after the first."""
    import pandas as pd

    text = _with_points(text, sample)
    if any(_ISO.match(cell) for cell in sample):
        written = ["ISO8601"]
    else:
        whole = _date_format([match for cell in sample if (match := _DAY_FIRST.match(cell))], sample)
        written = [whole.replace("%S", "%S.%f"), whole] if "%S" in whole else [whole]
    seconds, first = np.full(len(text), np.nan), None
    for form in written:
        if not np.isnan(seconds).any():
            break
        stamps = pd.to_datetime(text, format=form, errors="coerce", utc=True)
        if stamps.isna().all():
            continue
        first = stamps.dropna().iloc[0] if first is None else first
        seconds = np.where(np.isnan(seconds), (stamps - first).dt.total_seconds(), seconds)
    return seconds


def _date_format(matches, sample):
    first = matches[0]
    mark = first[2]
    half_days = any(re.search(r"[AaPp][Mm]$", cell) for cell in sample)
    month_first = mark == "/" and (half_days or any(int(match[3]) > 12 for match in matches))
    year = "%Y" if len(first[4]) == 4 else "%y"
    written = mark.join(["%m", "%d", year] if month_first else ["%d", "%m", year])
    if not first[6]:
        return written
    clock = "%I:%M" if half_days else "%H:%M"
    return written + first[5] + clock + (":%S" if first[7] else "") + (" %p" if half_days else "")
