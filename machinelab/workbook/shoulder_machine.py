"""What a machine brings to a threading pass up to a shoulder: hand, contact, brake, friction, tool."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.coastdown import CoastdownFit
from machinelab.threads.operator import anticipating_reactions_s, own_reactions_s, surprised_reactions_s
from machinelab.threads.shoulder_cycle import PassWork
from machinelab.threads.shoulder_draws import PassDoubts, PassDraws, draw_passes
from machinelab.threads.shoulder_heat import BrakeCircuit
from machinelab.threads.shoulder_stop import Stopping, braked_by_resistor
from machinelab.workbook.brake_numbers import NEEDED, USUAL_DRY_STOP_S, BrakeNumbers, brake_numbers
from machinelab.workbook.machine import Machine
from machinelab.workbook.machine_runs import braked_run, free_run
from machinelab.workbook.own_stops import OwnStops, kept_stops
from machinelab.workbook.readings import Readings
from machinelab.workbook.recorded_runs import RecordedBrake, recorded_brake, recorded_free_run
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths, shop_lengths

# Taken where the machine file is silent; common practice, no source.
USUAL_REACTION_S, USUAL_LATENCY_S = 0.35, 0.02
USUAL_RETRACT_S, USUAL_CLEARANCE_MM, USUAL_HALF_WIDTH_MM = 0.6, 0.3, 1.0
USUAL_TOP_RPM, USUAL_LOWEST_RPM = 1000.0, 60.0
REACTION_SPREAD = 0.2
LATENCY_SD_S = 0.004
# Of a hand that aims at the line instead of waiting for it: 0.05 to 0.08 s, from memory.
ANTICIPATION_SD_S = 0.065
INFEED_S, START_DELAY_S, RAMP_S = 4.0, 0.2, 2.0
# Enough for one pass in a hundred to be told within a few hundredths of a turn, and for a slider to be quick.
DRAWS, SEED = 4_000, 10
HAND, COUNT, OWN, WITH_THE_TOOL = "hand", "count", "own stops", "a hand that moves with the tool"
STEP = "10"


@dataclass(frozen=True)
class ShoulderNumbers:
    """A machine's threading pass in plain numbers.

    Parameters
    ----------
    stopped_by : str
        What ends the pass: "hand", "count", "own stops" or "a hand that moves with the tool".
    reaction_s : float [s]
        Median reaction, or the latency of the count.
    own_stops_s : tuple of float [s]
        The person's own reactions; empty while there are none.
    stopping : Stopping
        Contact, brake and friction.
    circuit : BrakeCircuit or None
        For the heat; None without a brake.
    braked : bool
        Whether there is a brake.
    tool_half_width_mm, wall_clearance_mm, retract_s, backlash_mm : float [mm, mm, s, mm]
        Tool, air, cross slide, carriage.
    lowest_rpm, top_rpm : float [rpm]
        The slowest steady speed and the highest allowed.
    where_from : tuple of str
        Where each figure comes from, in words.
    drawn : int [1]
        How many passes are drawn.
    lengths : ShopLengths
        How the shop writes lengths.
    """

    stopped_by: str
    reaction_s: float
    own_stops_s: tuple[float, ...]
    stopping: Stopping
    circuit: BrakeCircuit | None
    braked: bool
    tool_half_width_mm: float
    wall_clearance_mm: float
    retract_s: float
    backlash_mm: float
    lowest_rpm: float
    top_rpm: float
    where_from: tuple[str, ...]
    drawn: int = DRAWS
    lengths: ShopLengths = MILLIMETRES

    @cached_property
    def reactions_s(self) -> np.ndarray:
        """Reactions of many passes, the same ones every time."""
        return self._reactions(np.random.default_rng(SEED))

    @cached_property
    def draws(self) -> PassDraws:
        """Speeds and stops of as many passes, the same ones every time."""
        chance = np.random.default_rng(SEED + 1)
        return draw_passes(chance, draws=self.drawn, stopping=self.stopping, doubts=self.doubts)

    @property
    def doubts(self) -> PassDoubts:
        """How much a pass differs from the next; without a brake no contact and no heat do."""
        return PassDoubts() if self.braked else PassDoubts(contact_delay_sd_s=0.0, hot_brake_share=0.0)

    @property
    def spin_up_rad_s2(self) -> float:
        """How quickly the drive's own ramp lets the spindle gain speed."""
        return self.top_rpm * RPM / RAMP_S

    def work(self, *, thread_length_mm: float, lead_in_mm: float, return_speed_rpm: float) -> PassWork:
        """A pass in a thread of a length."""
        return PassWork(
            thread_length_mm=thread_length_mm,
            lead_in_mm=lead_in_mm,
            backlash_mm=self.backlash_mm,
            spin_up_rad_s2=self.spin_up_rad_s2,
            return_speed_rpm=return_speed_rpm,
            infeed_s=INFEED_S,
            retract_s=self.retract_s,
            start_delay_s=START_DELAY_S,
        )

    def stopped_by_count(self) -> "ShoulderNumbers":
        """The same machine with a controller that ends the pass at a count."""
        return replace(self, stopped_by=COUNT, reaction_s=USUAL_LATENCY_S, own_stops_s=())

    def with_the_tool(self) -> "ShoulderNumbers":
        """The same machine under a hand that aims at the line: early as often as late."""
        return replace(self, stopped_by=WITH_THE_TOOL, reaction_s=0.0, own_stops_s=())

    def with_reaction(self, reaction_s: float) -> "ShoulderNumbers":
        """The same scatter about another reaction; own stops are all shifted."""
        shift = reaction_s - self.reaction_s
        own = tuple(one + shift for one in self.own_stops_s)
        return replace(self, reaction_s=reaction_s, own_stops_s=own)

    def with_own_stops(self, own_stops_s) -> "ShoulderNumbers":
        """The same machine under a hand whose stops are known."""
        own = tuple(float(one) for one in own_stops_s)
        told = f"{len(own)} stops of your own (step 10) in place of what is usual"
        return replace(
            self,
            stopped_by=OWN,
            reaction_s=float(np.median(own)),
            own_stops_s=own,
            where_from=(told, *self.where_from),
        )

    def _reactions(self, chance) -> np.ndarray:
        if self.stopped_by == OWN:
            return own_reactions_s(chance, draws=self.drawn, own_stops_s=self.own_stops_s)
        if self.stopped_by == COUNT:
            late = chance.normal(self.reaction_s, LATENCY_SD_S, self.drawn)
            return np.maximum(late, 0.0)
        if self.stopped_by == WITH_THE_TOOL:
            aimed = {"reaction_s": self.reaction_s, "reaction_sd_s": ANTICIPATION_SD_S}
            return anticipating_reactions_s(chance, draws=self.drawn, **aimed)
        if self.reaction_s == 0:
            return np.zeros(self.drawn)
        return surprised_reactions_s(
            chance, draws=self.drawn, reaction_s=self.reaction_s, reaction_spread=REACTION_SPREAD
        )


def shoulder_numbers(machine: Machine) -> ShoulderNumbers:
    """Gather what a machine and its owner bring: own stops before a usual hand."""
    numbers = numbers_with_a_usual_hand(machine)
    own = _own(machine, numbers)
    return numbers.with_own_stops(own.reactions_s) if own else numbers


def numbers_with_a_usual_hand(machine: Machine) -> ShoulderNumbers:
    """Gather what a machine brings, measured before designed, designed before usual; own stops left out."""
    told: list[str] = []
    threading = machine.threading
    stopped_by = threading.stopped_by or HAND
    top = machine.highest_spindle_speed_rpm or USUAL_TOP_RPM
    stopping, circuit = _ending(machine, top, told)
    usual_s = USUAL_LATENCY_S if stopped_by == COUNT else USUAL_REACTION_S
    numbers = ShoulderNumbers(
        stopped_by=stopped_by,
        reaction_s=_or(threading.reaction_s, usual_s, "{:g} s to react", told),
        own_stops_s=(),
        stopping=stopping,
        circuit=circuit,
        braked=circuit is not None,
        tool_half_width_mm=_or(
            threading.tool_half_width_mm, USUAL_HALF_WIDTH_MM, "a tool {:g} mm wide beside its point", told
        ),
        wall_clearance_mm=_or(threading.clearance_mm, USUAL_CLEARANCE_MM, "{:g} mm of air at the wall", told),
        retract_s=_or(threading.retract_s, USUAL_RETRACT_S, "{:g} s to draw the tool back", told),
        backlash_mm=machine.carriage.backlash_mm or 0.0,
        lowest_rpm=_or(
            machine.spindle.lowest_speed_rpm, USUAL_LOWEST_RPM, "no steady speed below {:g} rpm", told
        ),
        top_rpm=top,
        where_from=(),
        lengths=shop_lengths(machine),
    )
    return replace(numbers, where_from=tuple(told))


def _own(machine: Machine, numbers: ShoulderNumbers) -> OwnStops | None:
    texts = Readings(machine.folder).of(STEP)
    return kept_stops(texts, counts_per_turn=machine.counts_per_spindle_turn, stopping=numbers.stopping)


def _ending(machine: Machine, top_rpm: float, told: list[str]) -> tuple[Stopping, BrakeCircuit | None]:
    free = free_run(machine)
    drags = _drags(machine, free, top_rpm, told)
    if machine.brake.fitted is False or machine.brake.resistor_ohm is None or machine.missing(*NEEDED):
        told.append("no brake" if machine.brake.fitted is False else "no brake, since it is not known yet")
        return Stopping(**drags), None
    numbers = replace(brake_numbers(machine, free), drags=drags)
    return _braked(machine, numbers, told), BrakeCircuit(**numbers.circuit)


def _drags(machine: Machine, free: CoastdownFit | None, top_rpm: float, told: list[str]) -> dict[str, float]:
    """The free spindle's drags: from its log, else from the record, else usual ones."""
    if free is not None:
        told.append("friction from the free run of step 05, with the chuck and belt of that run")
        return free.drags
    recorded = recorded_free_run(machine)
    if recorded is not None:
        told.append(
            f"friction from the record of step 05: {recorded.stop_time_s:.3g} s from {recorded.from_rpm:.0f} "
            "rpm, taken as alike at every speed, which at low speed is a little kind"
        )
        return {"coulomb_rad_s2": recorded.from_rpm * RPM / recorded.stop_time_s}
    told.append(
        f"dry friction that alone would stop the spindle in {USUAL_DRY_STOP_S:g} s from the top, "
        "until step 05 has measured it (common practice, no source)"
    )
    return {"coulomb_rad_s2": top_rpm * RPM / USUAL_DRY_STOP_S}


def _braked(machine: Machine, numbers: BrakeNumbers, told: list[str]) -> Stopping:
    """Contact and brake: from the log of a braked run, else from the record, else as designed."""
    run = braked_run(machine, numbers)
    if run is not None:
        measured = RecordedBrake(float(run.contact_delay_s.value), 1 / float(run.brake_drag_per_s.value))
    else:
        measured = recorded_brake(machine)
    if measured is None:
        told.append("the brake as designed in step 06, until a braked run has measured it")
        return braked_by_resistor(**numbers.circuit, contact_delay_s=numbers.contact_delay_s, **numbers.drags)
    told.append(
        f"the brake as measured in step 06: it bites {measured.contact_delay_s:.2f} s after the drive lets "
        f"go, with a time constant of {measured.time_constant_s:.2f} s"
    )
    return Stopping(
        contact_delay_s=measured.contact_delay_s,
        brake_drag_per_s=1 / measured.time_constant_s,
        brush_speed_rad_s=numbers.brush_speed_rad_s,
        **numbers.drags,
    )


def _or(known, usual: float, words: str, told: list[str]) -> float:
    if known is None:
        told.append(
            f"{words.format(usual)}, since the machine file does not say (common practice, no source)"
        )
        return usual
    return float(known)
