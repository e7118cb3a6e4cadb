"""A log as it was read: its readings, the rows they stood in, and what was understood and repaired."""

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from machinelab.errors import LogError

FEWEST_READINGS = 8


@dataclass(frozen=True, eq=False)
class SpeedLog:
    """What a logger, a person or a pickup wrote down about a turning spindle.

    ``kind`` is ``"speed"`` (``time_s`` and ``speed_rpm``), ``"pulses"`` (``pulse_s``, one moment for every
    mark that passed) or ``"counts"`` (``time_s`` and ``count``, an encoder's running count). Arrays
    that do not belong to the kind are None. ``row`` is the line of the file each reading stood in,
    ``repeated`` how many speed readings equal the one before, ``sha256`` belongs to the raw bytes.
    ``marks_per_turn`` are the pulses or counts of one turn, None where nobody said.
    """

    kind: str
    name: str
    row: np.ndarray
    sha256: str
    notes: tuple[str, ...]
    time_s: np.ndarray | None = None
    speed_rpm: np.ndarray | None = None
    pulse_s: np.ndarray | None = None
    count: np.ndarray | None = None
    marks_per_turn: int | Fraction | None = None
    repeated: int = 0

    def __len__(self):
        return len(self.row)

    def cut(self, first_row, last_row):
        """The readings of a stretch of rows, with a note that the rest was left out.

        Parameters
        ----------
        first_row, last_row : int [1]
            First and last line of the file to keep.

        Returns
        -------
        SpeedLog
            A shorter log; this one stays as it is.

        Raises
        ------
        LogError
            When fewer than eight readings would be left.
        """
        kept = np.flatnonzero((self.row >= first_row) & (self.row <= last_row))
        if len(kept) < FEWEST_READINGS:
            raise LogError(
                f"Rows {first_row} to {last_row} of {self.name} hold {len(kept)} readings; at least "
                f"{FEWEST_READINGS} are needed. The log runs from row {self.row.min()} to {self.row.max()}."
            )
        return self.keep(kept, f"Cut to rows {first_row} to {last_row}.")

    def keep(self, index, note):
        """The readings at the given places (0 is the first), with a note of why."""
        arrays = {
            field: None if (values := getattr(self, field)) is None else values[index]
            for field in ("row", "time_s", "speed_rpm", "pulse_s", "count")
        }
        repeated = 0 if self.speed_rpm is None else repeats(self.speed_rpm[index])
        return replace(self, **arrays, repeated=repeated, notes=(*self.notes, note))


def repeats(speed_rpm):
    """How many readings equal the one before."""
    return int(np.count_nonzero(np.diff(speed_rpm) == 0.0))
