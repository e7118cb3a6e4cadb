"""The machine as built: one folder with ``machine.toml``, read into plain numbers for the physics.

``load`` reads the machine that was chosen on the start page, or any folder. ``save`` writes changed lines
and keeps everything else in the file as it was. ``fields`` describes every line, for the form.
"""

from machinelab.workbook.machine.built import Machine, asked_for, differences, fields, titles
from machinelab.workbook.machine.file import parse
from machinelab.workbook.machine.folders import choose, chosen, create, empty, load, machines, save
from machinelab.workbook.machine.lines import Line
from machinelab.workbook.machine.needs import needs

__all__ = [
    "Line",
    "Machine",
    "asked_for",
    "choose",
    "chosen",
    "create",
    "differences",
    "empty",
    "fields",
    "load",
    "machines",
    "needs",
    "parse",
    "save",
    "titles",
]
