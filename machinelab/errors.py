"""Every error that a person can cause, in words a machinist can act on.

A message says what was typed, what is allowed, and what to type instead.
Nothing else may reach a person: a bare ``ValueError`` from a calculation is a defect.
"""


class MachinelabError(Exception):
    """Something a person typed, loaded or asked for cannot be used as it stands."""


class UnitError(MachinelabError):
    """A quantity was typed without a unit, with the wrong kind of unit, or cannot be read."""


class RangeError(MachinelabError):
    """A number is outside the range in which the calculation means anything."""


class MachineFileError(MachinelabError):
    """``machine.toml`` cannot be used; the message lists every problem at once."""


class LogError(MachinelabError):
    """A log or a table of readings cannot be used; the message names the line."""


class PanelError(MachinelabError):
    """``panel.toml`` cannot be used; the message lists every problem at once."""


class RecordError(MachinelabError):
    """The commissioning record cannot be read or written safely."""
