"""The speed for a thread on a machine: its groove beside stepper, encoder and spindle."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from machinelab.errors import RangeError
from machinelab.threads.shoulder import highest_speed_rpm
from machinelab.threads.shoulder_groove import standard_groove_mm
from machinelab.work.cutting_speeds import cutting_speed, speed_for_cutting_rpm
from machinelab.workbook import stepper_numbers
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine.sections import ThreadToCut
from machinelab.workbook.shoulder_machine import ShoulderNumbers, shoulder_numbers

GROOVE = "the groove at the shoulder"
TOOL = "the cutting speed of high-speed steel"
# A speed is set by a knob and a display; nothing finer is worth saying.
KNOB_RPM = 5.0


@dataclass(frozen=True)
class Groove:
    """The groove that a thread ends in.

    Parameters
    ----------
    width_mm : float [mm]
        From the last full thread to the wall; 0 for none.
    where_from : str
        The machine file, the owner's limit or the standard.
    """

    width_mm: float
    where_from: str


@dataclass(frozen=True)
class HighestSpeed:
    """The speed at which a thread may be cut up to its shoulder.

    Parameters
    ----------
    speed_rpm : float [rpm]
        The lowest of the limits, rounded down to what a knob can be set to; NaN where none is feasible.
    groove : Groove
        What the tool runs out in.
    limit : str
        What sets the speed, in words.
    limits : dict of str to float
        Every limit that is known, in rpm; NaN for a groove that the tool alone fills.
    lowest_rpm : float [rpm]
        The slowest at which the spindle turns steadily.
    why_not : str
        Why no speed is feasible; empty when one is.
    """

    speed_rpm: float
    groove: Groove
    limit: str
    limits: dict[str, float]
    lowest_rpm: float
    why_not: str

    @property
    def feasible(self) -> bool:
        """Whether the thread can be cut up to its shoulder at any speed."""
        return not math.isnan(self.speed_rpm)

    @property
    def words(self) -> str:
        """The answer in one sentence."""
        if self.feasible:
            return f"{self.speed_rpm:.0f} rpm at the most, set by {self.limit}."
        return f"No feasible speed: {self.why_not}"


def groove_of(machine: Machine, thread: ThreadToCut) -> Groove:
    """The groove drawn for a thread; else the owner's widest, if the standard's is wider."""
    if thread.groove_mm is not None:
        return Groove(thread.groove_mm, "as drawn")
    standard = float(standard_groove_mm(float(thread.pitch_mm)))
    widest = machine.target.groove_mm
    if widest is not None and widest < standard:
        return Groove(widest, "the widest that you accept")
    return Groove(standard, "3.5 pitches (DIN 76-1, from memory)")


def highest_speed(
    machine: Machine, thread: ThreadToCut, numbers: ShoulderNumbers | None = None
) -> HighestSpeed:
    """The highest spindle speed for a thread on a machine, with what sets it.

    Parameters
    ----------
    machine : Machine
        The machine as built.
    thread : ThreadToCut
        A thread whose pitch is known.
    numbers : ShoulderNumbers, optional
        What `machinelab.workbook.shoulder_machine.shoulder_numbers` gathered, to spare gathering it again.

    Returns
    -------
    HighestSpeed
        Speed, groove, what sets it, and every other limit.
    """
    numbers = numbers or shoulder_numbers(machine)
    groove = groove_of(machine, thread)
    limits = {**stepper_numbers.highest_speed(machine, thread).limits_rpm, **_cutting_limit(thread)}
    try:
        limits[GROOVE] = groove_limit_rpm(numbers, thread, groove.width_mm)
    except RangeError as refusal:
        return HighestSpeed(
            math.nan, groove, GROOVE, limits | {GROOVE: math.nan}, numbers.lowest_rpm, str(refusal)
        )
    limit = min(limits, key=limits.get)
    if limits[limit] < numbers.lowest_rpm:
        why = f"{limit} allows {math.floor(limits[limit])} rpm, and the spindle turns steadily only from "
        why += f"{numbers.lowest_rpm:.0f} rpm up."
        return HighestSpeed(math.nan, groove, limit, limits, numbers.lowest_rpm, why)
    settable = max(math.floor(limits[limit] / KNOB_RPM) * KNOB_RPM, numbers.lowest_rpm)
    return HighestSpeed(settable, groove, limit, limits, numbers.lowest_rpm, "")


def _cutting_limit(thread: ThreadToCut) -> dict[str, float]:
    """What high-speed steel bears in this material; seldom the limit, the hand is slower than the tool."""
    try:
        bears = cutting_speed(thread.material or "", operation="threading")
    except RangeError:
        return {}
    if thread.diameter_mm is None:
        return {}
    return {TOOL: float(speed_for_cutting_rpm(bears.high_m_min, diameter_mm=thread.diameter_mm))}


def groove_limit_rpm(numbers: ShoulderNumbers, thread: ThreadToCut, groove_mm: float) -> float:
    """The speed at which 99 passes in 100 end clear of the shoulder.

    Raises
    ------
    RangeError
        If the tool alone fills the groove.
    """
    return _limit_rpm(numbers, abs(thread.lead_mm), groove_mm)


# Each key holds the draws of its machine, so that many of them would fill the memory.
@lru_cache(maxsize=32)
def _limit_rpm(numbers: ShoulderNumbers, lead_mm: Fraction, groove_mm: float) -> float:
    # A page asks for the same speeds again and again, for its tables, its sheet and its post.
    return highest_speed_rpm(
        groove_mm,
        thread_lead_mm=lead_mm,
        tool_half_width_mm=numbers.tool_half_width_mm,
        wall_clearance_mm=numbers.wall_clearance_mm,
        reaction_s=numbers.reactions_s,
        stopping=numbers.draws.stopping,
        speed_share=numbers.draws.speed_share,
        fastest_speed_rpm=numbers.top_rpm,
    )
