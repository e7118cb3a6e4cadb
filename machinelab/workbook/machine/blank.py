"""The machine file of a machine of which nothing is known yet: every line there, as a remark to fill in."""

from machinelab.workbook.machine.built import fields, titles
from machinelab.workbook.machine.lines import Line

_HEAD = """\
# The machine as built. Take the # off a line and type what your machine has, always with its unit.
# A line that you leave as it is counts as not known, and the pages that need it say so.
"""


def blank_file() -> str:
    """Write a machine file in which every line is a remark with its help and an example."""
    return _HEAD + "".join(_section(name, title) for name, title in titles().items())


def _section(name: str, title: str) -> str:
    lines = [line for line in fields() if line.section == name]
    # An empty [[thread]] would be a thread of which nothing is known, so that heading is a remark as well.
    mark = "# " if name == "thread" else ""
    return f"\n# ---- {title} ----\n{mark}{lines[0].heading}\n" + "".join(map(_remark, lines))


def _remark(line: Line) -> str:
    choices = f" One of: {', '.join(line.choices)}." if line.kind == "choice" else ""
    return f"# {line.label}. {line.help}{choices}\n# {line.as_written}\n"
