"""A person's own stops on scrap: typed as they were read, turned into reactions, used from then on."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.errors import MachinelabError, RangeError
from machinelab.threads.operator import FEWEST_STOPS, reactions_of_stops_s
from machinelab.threads.shoulder_stop import Stopping
from machinelab.units import Field, read
from machinelab.workbook.typed_table import read_columns

BOX = "stops"
EXAMPLE = "1.85"
TURNS, MILLIMETRES, COUNTS = "turns of the spindle", "mm of the carriage", "counts of the encoder"
UNITS = (TURNS, MILLIMETRES, COUNTS)
SPEED = Field(
    name="Speed at which you stopped",
    kind="speed",
    low="5 rpm",
    high="2000 rpm",
    example="100 rpm",
    help="The speed at which you mean to cut; never faster than you would dare with a shoulder there.",
)
LEAD = Field(
    name="Lead that was set",
    kind="lead",
    low="0.1 mm",
    high="50 mm",
    example="1 mm",
    help="Only counts if you read millimetres off the carriage.",
)
# A drift of this share of the spread from the first half to the second; common practice, no source.
DRIFT_SHARE = 1.0


@dataclass(frozen=True)
class OwnStops:
    """Stops of one person at one speed, and the reactions that they tell.

    Parameters
    ----------
    speed_rpm : float [rpm]
        Spindle speed.
    past_turns : tuple of float [turn]
        Turns past the mark.
    reactions_s : tuple of float [s]
        What is left of them once the machine's own run-on is taken off.
    """

    speed_rpm: float
    past_turns: tuple[float, ...]
    reactions_s: tuple[float, ...]

    @property
    def median_s(self) -> float:
        """The middle reaction."""
        return float(np.median(self.reactions_s))

    @property
    def sd_s(self) -> float:
        """Its standard deviation."""
        return float(np.std(self.reactions_s, ddof=1))

    @property
    def drift_s(self) -> float:
        """How much later the second half of the stops came than the first."""
        half = len(self.reactions_s) // 2
        return float(np.mean(self.reactions_s[-half:]) - np.mean(self.reactions_s[:half]))

    def told(self) -> list[str]:
        """What the stops say, line by line."""
        lines = [
            f"{len(self.reactions_s)} stops at {self.speed_rpm:.0f} rpm: reaction {self.median_s:.2f} s in "
            f"the middle, standard deviation {self.sd_s:.2f} s, the latest {max(self.reactions_s):.2f} s. "
            "They take the place of the reaction in the machine file, here and on every other page."
        ]
        early = sum(one < 0 for one in self.reactions_s)
        if early:
            lines.append(
                f"{early} of them came before the mark. If that is more than a few, the machine's own run-on "
                "is less than the figures of step 06 say: look at the brake again."
            )
        if abs(self.drift_s) > DRIFT_SHARE * self.sd_s:
            later = "later" if self.drift_s > 0 else "earlier"
            lines.append(
                f"The second half came {abs(self.drift_s):.2f} s {later} than the first: you were still "
                "learning, or tiring. Rest, and make another twenty."
            )
        return lines


def own_stops(
    rows: np.ndarray, *, speed_rpm: float, unit: str, lead_mm: float, counts_per_turn, stopping: Stopping
) -> OwnStops:
    """Turn typed readings into reactions.

    Raises
    ------
    RangeError
        If there are too few, or the unit needs something that is not known.
    """
    past = np.ravel(rows) * _turns_per_unit(unit, lead_mm, counts_per_turn)
    if past.size < FEWEST_STOPS:
        raise RangeError(
            f"There are {past.size} stops so far; {FEWEST_STOPS} at least are wanted, better twenty, before "
            "they stand for your hand."
        )
    reactions = reactions_of_stops_s(past, speed_rpm=speed_rpm, stopping=stopping)
    return OwnStops(float(speed_rpm), tuple(map(float, past)), tuple(map(float, reactions)))


def kept_stops(texts: Mapping[str, str], *, counts_per_turn, stopping: Stopping) -> OwnStops | None:
    """The stops that were typed last time; None where there are none that can be used."""
    try:
        return own_stops(
            read_columns(texts.get(BOX, ""), ("past the mark",), EXAMPLE),
            speed_rpm=float(read(texts.get("stops_speed", ""), SPEED).value),
            unit=texts.get("stops_unit", TURNS),
            lead_mm=float(read(texts.get("stops_lead") or "1 mm", LEAD).value),
            counts_per_turn=counts_per_turn,
            stopping=stopping,
        )
    except MachinelabError:
        return None


def _turns_per_unit(unit: str, lead_mm: float, counts_per_turn: Fraction | None) -> float:
    if unit == TURNS:
        return 1.0
    if unit == MILLIMETRES:
        return 1 / lead_mm
    if counts_per_turn is None:
        raise RangeError(
            "How many counts make a turn is not known yet: type turns, or fill in the encoder on page 01."
        )
    return 1 / float(counts_per_turn)
