"""The sheets of page 08: pull of a string or a torque screwdriver, and what was heard along the speeds."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from machinelab.units import Field
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.stepper import StepperView
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.stepper_built import StepperNumbers
from machinelab.workbook.stepper_tests import (
    IdleTorque,
    Listened,
    idle_by_screwdriver,
    idle_by_string,
    listened,
)

# How far a torque curve from a plate may be off, and an idle torque that was only reckoned; common practice,
# no source.
CURVE_DOUBT_SHARE = 0.2
RECKONED_IDLE_DOUBT_SHARE = 0.5

PULL = Field(
    name="Pull on the string",
    kind="force",
    above_zero=True,
    high="1000 N",
    example="6 N",
    help="Steady, while the pulley turns slowly; the jerk at the start is more and does not count.",
)
ACROSS = Field(
    name="Diameter on which the string lies",
    kind="length",
    low="3 mm",
    high="500 mm",
    example="60 mm",
    help="Over the pulley or a drum on the screw, a string's thickness added.",
)
PULL_DOUBT = Field(
    name="Uncertainty of the pull",
    kind="force",
    above_zero=True,
    high="500 N",
    example="0.5 N",
    help="How far the balance wandered, to either side.",
)
TURNING = Field(
    name="Torque that turns the screw",
    kind="torque",
    above_zero=True,
    high="50 N m",
    example="0.2 N m",
    help="At the screw's own end, turned slowly, carriage moving.",
)
TURNING_DOUBT = Field(
    name="Uncertainty of the torque",
    kind="torque",
    above_zero=True,
    high="20 N m",
    example="0.02 N m",
    help="How far the reading wandered, to either side.",
)
ROUGH = Field(
    name="Carriage travel where it is roughest",
    kind="feed_rate",
    above_zero=True,
    high="20000 mm/min",
    example="50 mm/min",
    help="From slow upwards: the first speed at which it growls loudest.",
)
ROUGH_DOUBT = Field(
    name="Uncertainty of that travel",
    kind="feed_rate",
    above_zero=True,
    high="5000 mm/min",
    example="5 mm/min",
    help="Half of the stretch over which it growls.",
)
FASTEST = Field(
    name="Fastest travel tried",
    kind="feed_rate",
    above_zero=True,
    high="20000 mm/min",
    example="600 mm/min",
    help="Up to where it fell out of step, or as far as you went.",
)
OUTCOMES = {"it held its step": False, "it fell out of step": True}

Keep = Callable[[str, str], None]


@dataclass(frozen=True)
class StepperResults:
    """What was measured at the stepper; either may be missing."""

    idle: IdleTorque | None
    heard: Listened | None

    def __bool__(self) -> bool:
        return bool(self.idle or self.heard)

    def margin_doubt(self, view: StepperView) -> float:
        """How far the torque in hand may be off, k = 2: the curve's doubt and that of the idle torque."""
        numbers = view.numbers
        idle_doubt_nm = (
            self.idle.uncertainty_nm if self.idle else RECKONED_IDLE_DOUBT_SHARE * numbers.idle_torque_nm
        )
        at_stepper_nm = idle_doubt_nm / float(numbers.motor_turns_per_screw_turn) / numbers.belt_efficiency
        share = math.hypot(CURVE_DOUBT_SHARE, at_stepper_nm / view.load_nm)
        return max(view.margin * share, 0.001)


def string_sheet(kept: Mapping[str, str], keep: Keep) -> Sheet:
    """The sheet for a string that unwinds from the screw's pulley."""
    rows = {
        "pull_n": Typed(PULL, kept.get("pull_n", "")),
        "across_mm": Typed(ACROSS, kept.get("across_mm", "")),
        "doubt_n": Typed(PULL_DOUBT, kept.get("doubt_n", "")),
    }
    return Sheet(rows, work_out=idle_by_string, tell=lambda idle: [str(idle)], keep=keep)


def driver_sheet(kept: Mapping[str, str], keep: Keep) -> Sheet:
    """The sheet for a torque screwdriver at the end of the screw."""
    rows = {
        "torque_nm": Typed(TURNING, kept.get("torque_nm", "")),
        "doubt_nm": Typed(TURNING_DOUBT, kept.get("doubt_nm", "")),
    }
    return Sheet(rows, work_out=idle_by_screwdriver, tell=lambda idle: [str(idle)], keep=keep)


def listening_sheet(kept: Mapping[str, str], keep: Keep, numbers: StepperNumbers, tell: Callable) -> Sheet:
    """The sheet for the speeds that were heard."""
    rows = {
        "rough_mm_min": Typed(ROUGH, kept.get("rough_mm_min", "")),
        "doubt_mm_min": Typed(ROUGH_DOUBT, kept.get("doubt_mm_min", "")),
        "fastest_mm_min": Typed(FASTEST, kept.get("fastest_mm_min", "")),
        "fell_out": Choice("What happened there", OUTCOMES, chosen=kept.get("fell_out", "")),
    }
    return Sheet(rows, work_out=partial(listened, numbers), tell=tell, keep=keep)
