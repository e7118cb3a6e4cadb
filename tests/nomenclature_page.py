"""The nomenclature table of DEVELOPERS.md, written from the one source of all names."""

import sys
from pathlib import Path

from machinelab.tables import nomenclature

PAGE = Path(__file__).resolve().parents[1] / "DEVELOPERS.md"
BEGIN, END = "<!-- nomenclature -->\n", "<!-- end of nomenclature -->\n"


def table() -> str:
    """Return the table as Markdown, numbers first by name."""
    rows = [
        f"| `{one.name}` | {one.unit or '-'} | {one.symbol.replace('|', '¦') or '-'} | {one.meaning} |"
        for one in sorted(nomenclature().values(), key=lambda one: (not one.is_number, one.name))
    ]
    return "\n".join(["| name | unit | symbol | meaning |", "|---|---|---|---|", *rows]) + "\n"


def page_with_table(text: str) -> str:
    """Return a page with the table between its marks."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}{table()}{END}{tail}"


def main() -> int:
    """Write the table into DEVELOPERS.md."""
    PAGE.write_text(page_with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
