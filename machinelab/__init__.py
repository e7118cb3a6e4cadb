"""machinelab: commissioning a home-converted combination lathe and mill.

The rooms are named after parts of the machine and of the job. Imports flow one way:
``units`` and ``tables``, then the physics rooms (``spindle``, ``leadscrew``, ``threads``,
``accuracy``, ``work``, ``controls``), then ``workbook``, then the notebooks.
Importing the package loads nothing heavy; each room loads what it needs when it is used.

This file is read before any other, also by a Python that is too old for the rest. So that it ends in a
sentence and not in an error, it is written in what every Python since the second can read.
"""

import sys

OLDEST_PYTHON = (3, 11)

if sys.version_info < OLDEST_PYTHON:
    _wanted, _found = (".".join(map(str, version[:2])) for version in (OLDEST_PYTHON, sys.version_info))
    sys.exit("machinelab needs Python " + _wanted + " or newer; this is Python " + _found + ".")

__version__ = "0.1.0"
