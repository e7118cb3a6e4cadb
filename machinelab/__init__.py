"""machinelab: commissioning a home-converted combination lathe and mill.

The rooms are named after parts of the machine and of the job. Imports flow one way:
``units`` and ``tables``, then the physics rooms (``spindle``, ``leadscrew``, ``threads``,
``accuracy``, ``work``, ``controls``), then ``workbook``, then the notebooks.
Importing the package loads nothing heavy; each room loads what it needs when it is used.
"""

__version__ = "0.1.0"
