"""What was measured of a feed and of the surface that it left."""

from dataclasses import dataclass
from fractions import Fraction
from math import hypot

from machinelab.errors import RangeError
from machinelab.units import Field
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.verdict import Agreement, agrees

# A feed that differs by more than this is another setting, not an error of measurement.
LARGEST_SHARE = 0.5
# What one count of a knob does is not known without its range: then this; common practice, no source.
USUAL_KNOB_DOUBT_SHARE = 0.02
# The screw's lead when its error is not known; common practice, no source.
USUAL_LEAD_DOUBT_SHARE = 0.0002
FOLLOWS, OWN_KNOB = "the feed follows the spindle", "the feed has its own knob"

TURNS = Field(
    name="Turns of the spindle",
    kind="turns",
    low="5 turns",
    high="5000 turns",
    example="250 turns",
    help="Counted by hand where the feed follows the spindle; with a knob, minutes times the meter's rpm.",
)
TURNS_DOUBT = Field(
    name="Uncertainty of the turns",
    kind="turns",
    low="0 turns",
    high="500 turns",
    example="3 turns",
    help="0 for whole turns counted by hand from mark to mark; for a meter its error over the time.",
)
TRAVEL = Field(
    name="Travel of the carriage",
    kind="length",
    low="0.1 mm",
    high="2 m",
    example="25.2 mm",
    help="By dial indicator or rule, backlash taken up before the first turn.",
)
TRAVEL_DOUBT = Field(
    name="Uncertainty of the travel",
    kind="length",
    above_zero=True,
    high="5 mm",
    example="0.05 mm",
    help="A rule 0.3 mm, a caliper 0.05 mm, a dial indicator 0.02 mm.",
)
SURFACE = Field(
    name="The specimen that feels alike",
    kind="roughness",
    low="0.05 um",
    high="50 um",
    example="1.6 um",
    help="Roughness (Ra) of the turned specimen that a fingernail cannot tell from the work.",
)
SURFACE_DOUBT = Field(
    name="Uncertainty of the comparison",
    kind="roughness",
    above_zero=True,
    high="20 um",
    example="0.6 um",
    help="About half the way to the specimens next to it; no better than a third of the reading.",
)


@dataclass(frozen=True)
class FeedTrial:
    """A feed as it was measured, beside the feed that was set."""

    follows: bool
    set_mm: float
    feed_mm: float
    doubt_mm: float

    @property
    def told(self) -> str:
        """The trial in one line."""
        measured = value_with_uncertainty(self.feed_mm, self.doubt_mm, "mm")
        way = "following the spindle" if self.follows else "by its own knob"
        return f"Set {self.set_mm:.4g} mm a turn, {way}; measured {measured} a turn."

    def agreement(self, knob_step_share: float, lead_error_ppm: float | None) -> Agreement:
        """Whether it came out as it was set."""
        lead = USUAL_LEAD_DOUBT_SHARE if lead_error_ppm is None else lead_error_ppm / 1_000_000
        knob = knob_step_share if knob_step_share == knob_step_share else USUAL_KNOB_DOUBT_SHARE
        share = lead if self.follows else knob
        return agrees(
            self.feed_mm,
            uncertainty=self.doubt_mm,
            predicted=self.set_mm,
            predicted_uncertainty=share * self.set_mm,
            unit="mm",
        )


@dataclass(frozen=True)
class SurfaceTrial:
    """The mean roughness of the work by a comparison specimen."""

    roughness_um: float
    doubt_um: float

    @property
    def told(self) -> str:
        """The comparison in one line."""
        measured = value_with_uncertainty(self.roughness_um, self.doubt_um, "µm")
        return f"Ra {measured} by the comparison specimen."


def feed_trial(
    set_mm: float,
    *,
    follows: bool,
    turns: Fraction,
    turns_doubt: Fraction,
    travel: Fraction,
    travel_doubt: Fraction,
) -> FeedTrial:
    """Work out the feed for each turn from a travel over so many turns."""
    feed = float(travel / turns)
    if abs(feed - set_mm) > LARGEST_SHARE * set_mm:
        raise RangeError(
            f"{float(travel):g} mm in {float(turns):g} turns is {feed:.3g} mm a turn; today's job has "
            f"{set_mm:.3g} mm. Was another feed set, or is it mm in a minute instead of turns?"
        )
    doubt = feed * hypot(float(travel_doubt / travel), float(turns_doubt / turns))
    return FeedTrial(follows, set_mm, feed, doubt)


def surface_trial(*, surface: Fraction, surface_doubt: Fraction) -> SurfaceTrial:
    """The comparison as it was typed."""
    return SurfaceTrial(float(surface), float(surface_doubt))
