"""A finished thread on the bench: what a reading over wires says of it, and whether its nut will go on."""

from dataclasses import dataclass

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.threads.flanks import lead_effect_mm, virtual_pitch_diameter_mm
from machinelab.threads.wire_reading import pitch_diameter_from_wires
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.shop_lengths import ShopLengths
from machinelab.workbook.thread_plan import ThreadPlan
from machinelab.workbook.verdict import Verdict

# Push of a ratchet on a micrometer; common practice, no source.
MEASURING_FORCE_N = 8.0
# A pitch diameter farther from the basic one than this share of the pitch was not read on this thread.
FARTHEST_SHARE = 0.5


@dataclass(frozen=True)
class PlannedThread:
    """A thread of the list with its plan, and the error of lead that machine and ratio give it."""

    name: str
    plan: ThreadPlan
    lead_error_ppm: float

    @property
    def measurable(self) -> bool:
        """Whether wires say anything about it."""
        return bool(self.plan.over_wires_mm)


@dataclass(frozen=True)
class FinishedThread:
    """A thread as measured.

    Parameters
    ----------
    planned : PlannedThread
        Which thread it is meant to be.
    pitch_diameter_mm : Estimate
        What the reading tells.
    lead_effect_mm : float
        What the error of lead costs in its nut; 0 while that error is not known.
    """

    planned: PlannedThread
    pitch_diameter_mm: Estimate
    lead_effect_mm: float

    @property
    def lengths(self) -> ShopLengths:
        """How the shop writes lengths."""
        return self.planned.plan.lengths

    @property
    def limits_mm(self) -> tuple[float | None, float]:
        """Smallest and largest pitch diameter as wires may find it: the lead's cost is off the upper one."""
        allowed = self.planned.plan.pitch_diameters_mm
        lower = allowed[0] if len(allowed) > 1 else None
        return lower, round(allowed[-1] - self.lead_effect_mm, 3)

    @property
    def where_from(self) -> str:
        """Where the limits come from."""
        against = self.planned.plan.measured_against
        off = self.lengths.small.told(self.lead_effect_mm)
        taken_off = f", less {off} for the lead" if self.lead_effect_mm else ""
        return f"{self.planned.plan.thread.designation}, {against}{taken_off}"

    @property
    def verdict(self) -> Verdict:
        """Whether it lies within its limits."""
        lower, upper = self.limits_mm
        measured = self.pitch_diameter_mm
        return self.lengths.verdict(measured.value, measured.expanded_uncertainty, lower, upper)

    def told(self) -> list[str]:
        """The same in plain lines."""
        measured, unit = self.pitch_diameter_mm, self.lengths.unit_mm
        found = value_with_uncertainty(
            measured.value / unit, measured.expanded_uncertainty / unit, self.lengths.unit
        )
        lines = [f"{self.planned.name}: the pitch diameter is {found}."]
        if self.lead_effect_mm:
            felt = virtual_pitch_diameter_mm(measured.value, lead_effect_mm=self.lead_effect_mm)
            lines.append(
                f"Screw and ratio put the lead out by {abs(self.planned.lead_error_ppm):.0f} ppm; its nut "
                f"feels {self.lengths.told(felt, 3)}, {self.lengths.small.told(self.lead_effect_mm)} more."
            )
        return [*lines, str(self.verdict), f"Limits: {self.where_from}."]


def finished_thread(
    *, thread: PlannedThread, over_wires_mm, reading_doubt_mm, wire_mm, wire_doubt_mm, nut_mm
) -> FinishedThread:
    """Work out a thread from a reading over wires.

    Raises
    ------
    RangeError
        If the thread cannot be measured with wires, or the reading is not of this thread.
    """
    plan = thread.plan
    if not thread.measurable:
        raise RangeError(f"{thread.name}: {' '.join(plan.notes) or 'wires say nothing about it.'}")
    fitting = plan.wires
    if not fitting.smallest_wire_mm <= wire_mm <= fitting.largest_wire_mm:
        raise RangeError(
            f"Wires of {float(wire_mm):g} mm do not fit {thread.name}: take {fitting.smallest_wire_mm:.2f} "
            f"to {fitting.largest_wire_mm:.2f} mm, or choose the thread that was cut."
        )
    form, pitch = plan.thread.form, float(plan.thread.pitch_mm)
    found = pitch_diameter_from_wires(
        float(over_wires_mm),
        reading_doubt_mm=float(reading_doubt_mm),
        wire_mm=float(wire_mm),
        diameter_doubt_mm=float(wire_doubt_mm),
        pitch_mm=pitch,
        thread_lead_mm=plan.thread.lead_mm,
        included_angle_deg=form.included_angle_deg,
        measuring_force_n=MEASURING_FORCE_N,
    )
    if abs(found.value - plan.target_mm) > FARTHEST_SHARE * pitch:
        raise RangeError(
            f"That would be a pitch diameter of {found.value:.3f} mm, where {thread.name} has about "
            f"{plan.target_mm:.3f} mm. Look at the reading, at the wires, and at which thread is chosen."
        )
    known_ppm = 0.0 if thread.lead_error_ppm != thread.lead_error_ppm else thread.lead_error_ppm
    effect = lead_effect_mm(known_ppm / 1e6 * float(nut_mm), form.included_angle_deg)
    return FinishedThread(thread, found, float(effect))
