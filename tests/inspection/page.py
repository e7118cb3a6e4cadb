"""The inspection sheet as one page that opens without a network, sorts, and prints in black and white."""

from collections import Counter
from collections.abc import Iterable
from html import escape
from pathlib import Path
from string import Template

from inspection.check import EXACT, printed_step
from inspection.sheet import PAGE, REMAKE, ROOMS, Row
from inspection.source import BY_OTHERS, KINDS, MEMORY, PRACTICE, SEEN

FRAME = Path(__file__).with_name("page.html")
COLUMNS = {
    "what": "what is compared",
    "published": "published",
    "ours": "ours",
    "difference": "difference",
    "tolerance": "tolerance",
    "passed": "passed",
    "kind": "kind of source",
    "seen": "how seen",
    "source": "source",
    "room": "room",
}
FIGURES = ("published", "ours", "difference", "tolerance")
SUMMARY = (
    "room",
    "rows",
    "figures compared",
    "by others",
    "from memory",
    "common practice",
    "agree to the last printed digit",
    "passed",
)
# Of many rows compared in one way the page shows the one furthest off and so many more; the file has all.
SAMPLES, MANY = 2, 6
LONGEST = 8


def by_others(row: Row) -> bool:
    """Tell whether someone outside computed or printed the figure, and it was not written from memory."""
    return row.kind in BY_OTHERS and row.seen != MEMORY


def to_the_last_digit(row: Row) -> bool:
    """Tell whether a figure is equal, or off by no more than one in the last digit that is printed for it."""
    if row.tolerance == EXACT or row.difference == "0":
        return True
    return abs(float(row.difference)) <= printed_step(row.published)


def gathered(rows: list[Row]) -> list[tuple[Row, int]]:
    """Return the rows that the page shows, each with how many of its table it stands for."""
    tables: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        tables.setdefault((row.room, _compared_in(row)), []).append(row)
    shown: list[tuple[Row, int]] = []
    for lines in tables.values():
        if len(lines) <= MANY:
            shown += [(line, 1) for line in lines]
            continue
        worst = max(lines, key=share_of_tolerance)
        others = [line for line in lines if line is not worst]
        shown.append((worst, len(lines)))
        shown += [(line, 1) for line in others[:: len(others) // SAMPLES][:SAMPLES]]
    return sorted(shown, key=lambda one: _weight(one[0]))


def _weight(row: Row) -> tuple[int, bool, int]:
    """Room by room; in a room what others computed comes first."""
    return ROOMS.index(row.room), not by_others(row), list(KINDS).index(row.kind)


def _compared_in(row: Row) -> str:
    """Return the table that a row belongs to, or else the claim of its test in words."""
    claim = row.test.partition("::test_")[2].partition("[")[0].replace("_", " ")
    return row.table or claim


def share_of_tolerance(row: Row) -> float:
    """Return how much of its tolerance a row uses up."""
    try:
        off, allowed = abs(float(row.difference)), float(row.tolerance)
    except ValueError:
        return 0.0
    return off / allowed if allowed else 0.0


def summary(rows: list[Row]) -> list[tuple]:
    """Return the counts of each room, and of all rooms together."""
    lines = []
    for room in (*ROOMS, "all"):
        those = [row for row in rows if room in (row.room, "all")]
        lines.append(
            (
                room,
                len(those),
                sum(row.values for row in those),
                sum(map(by_others, those)),
                sum(row.seen == MEMORY for row in those),
                sum(row.kind == PRACTICE for row in those),
                sum(map(to_the_last_digit, those)),
                "all" if all(row.passed == "yes" for row in those) else "NOT ALL",
            )
        )
    return lines


def summary_text(rows: list[Row]) -> str:
    """Return the counts as plain text, in columns."""
    table = [SUMMARY, *summary(rows)]
    return "\n".join(
        "  ".join(str(cell).rjust(len(head)) for cell, head in zip(line, SUMMARY, strict=True))
        for line in table
    )


def html(rows: list[Row]) -> str:
    """Return the whole page."""
    lines = gathered(rows)
    kinds = Counter(row.kind for row in rows)
    reasons = _numbered(row.reason for row, _ in lines)
    named = Counter(row.what for row, _ in lines)
    return Template(FRAME.read_text(encoding="utf-8")).substitute(
        shown=len(lines),
        rows=len(rows),
        figures=sum(row.values for row in rows),
        others=sum(map(by_others, rows)),
        remake=escape(REMAKE),
        summary=_table(SUMMARY, [[_cell(one) for one in line] for line in summary(rows)]),
        kinds=_table(
            ("kind of source", "rows", "what it means"),
            [[_cell(kind), _cell(kinds[kind]), _cell(meaning)] for kind, meaning in KINDS.items()],
        ),
        seen="; ".join(f"<b>{escape(name)}</b>: {escape(meaning)}" for name, meaning in SEEN.items()),
        checks=_checks([_line(row, reasons, _remarks(row, stands_for, named)) for row, stands_for in lines]),
        reasons="<ol>\n" + "\n".join(f"<li>{escape(reason)}</li>" for reason in reasons) + "\n</ol>",
    )


def write(rows: list[Row], path: Path = PAGE) -> None:
    """Write the page beside the sheet."""
    path.write_text(html(rows), encoding="utf-8", newline="\n")


def _numbered(reasons: Iterable[str]) -> dict[str, int]:
    """Number the reasons in the order in which they are met."""
    met = dict.fromkeys(reason for reason in reasons if reason)
    return {reason: number for number, reason in enumerate(met, start=1)}


def _remarks(row: Row, stands_for: int, named: Counter) -> list[str]:
    """Return what is to be said below a row: its case where another has the same name, and its table."""
    case = row.test.partition("[")[2].removesuffix("]")
    said = [f"case: {case}"] if case and named[row.what] > 1 else []
    said += [f"furthest off of {row.values} figures"] if row.values > 1 and row.tolerance != EXACT else []
    said += [f"furthest off of {stands_for} rows: {_compared_in(row)}"] if stands_for > 1 else []
    return said


def _line(row: Row, reasons: dict[str, int], remarks: list[str]) -> list[str]:
    return [_cell_of(row, name, reasons, remarks) for name in COLUMNS]


def _cell_of(row: Row, name: str, reasons: dict[str, int], remarks: list[str]) -> str:
    told = escape(_readable(row, name))
    if name == "what":
        told += "".join(f"<br><small>{escape(remark)}</small>" for remark in remarks)
    if name == "tolerance" and row.reason:
        told += f" <sup>{reasons[row.reason]}</sup>"
    if name in ("published", "ours") and row.unit:
        told += f" {escape(row.unit)}"
    return f'<td class="{name}"{_sort_key(row, name)}>{told}</td>'


def _readable(row: Row, name: str) -> str:
    """Return a cell; of our figure no more digits than it takes to see how it differs."""
    told = getattr(row, name)
    if name not in ("published", "ours") or row.tolerance == EXACT:
        return told
    digits = len(row.published.partition("e")[0].replace(".", "").lstrip("-0"))
    if name == "ours":
        return f"{float(told):.{min(max(digits, 2) + 2, LONGEST)}g}"
    return f"{float(told):.{LONGEST}g}" if digits > LONGEST else told


def _sort_key(row: Row, name: str) -> str:
    """A difference sorts by its share of the tolerance, since a micrometre is much here and little there."""
    if name == "difference":
        return f' data-key="{share_of_tolerance(row):.6g}"'
    return f' data-key="{escape(getattr(row, name))}"' if name in FIGURES else ""


def _cell(value) -> str:
    return f'<td class="{"number" if isinstance(value, int) else "word"}">{escape(str(value))}</td>'


def _checks(lines) -> str:
    widths = "".join(f'<col class="{name}">' for name in COLUMNS)
    return _table(COLUMNS.values(), lines, f' id="checks"><colgroup>{widths}</colgroup')


def _table(heads, lines, opening: str = "") -> str:
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    body = "\n".join(f"<tr>{''.join(cells)}</tr>" for cells in lines)
    return (
        f'<div class="sideways"><table{opening}>\n<thead><tr>{head}</tr></thead>\n'
        f"<tbody>\n{body}\n</tbody>\n</table></div>"
    )
