"""Today's job: what is cut, with which tool, how deep and how fine, and what that asks of the spindle."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.work.cutting import threading, turning
from machinelab.work.cutting_capacity import deepest_cut_mm, largest_drill_mm
from machinelab.work.cutting_force import DOUBT_SHARE, cutting_material
from machinelab.work.cutting_speeds import CuttingSpeed, cutting_speed
from machinelab.work.finish import RUBS_BELOW_MM
from machinelab.work.rotating_tools import drilling

FACING, DRILLING, REAMING, PARTING, THREADING = "facing", "drilling", "reaming", "parting", "threading"
TURNED = ("turning", FACING, "boring")
# Chisel edge and chips in the flutes ask 10 to 30 % more than the lips alone; from memory.
DRILL_FACTOR = 1.2
THREAD_PASSES, THREAD_ANGLE_DEG = 10, 60.0
# A force without torque: reckoning wants a speed, and the torque does not hang on it.
ANY_RPM = 100.0
MOST_DIAMETER_MM = 1000.0


@dataclass(frozen=True)
class Job:
    """One piece of work on the lathe.

    Parameters
    ----------
    material, operation, tool : str
        Names of the tables of cutting speeds.
    diameter_mm : float [mm]
        Diameter that is cut; of the drill or reamer.
    depth_mm : float [mm]
        Depth of cut; in parting the width of the blade, in threading the depth of the thread.
    feed_mm : Fraction or float [mm]
        Feed for each turn; in threading the pitch.
    nose_radius_mm : float [mm]
        Radius of the tool's nose.
    roughness_um : float [um]
        Mean roughness that is wanted.
    """

    material: str
    operation: str
    tool: str
    diameter_mm: float
    depth_mm: float
    feed_mm: Fraction | float
    nose_radius_mm: float
    roughness_um: float

    @property
    def name(self) -> str:
        """The job in a few words, its diameter in millimetres."""
        return self.named(f"{float(self.diameter_mm):.4g} mm")

    def named(self, diameter: str) -> str:
        """The same with the diameter in words."""
        return f"{self.operation} {diameter} {self.material}"

    @property
    def speed_wanted(self) -> CuttingSpeed:
        """What the tables say of the cutting speed."""
        return cutting_speed(self.material, tool=self.tool, operation=self.operation)

    @property
    def leaves_a_finish(self) -> bool:
        """Whether feed and nose shape the surface."""
        return self.operation in TURNED

    @property
    def rubs_below_mm(self) -> float:
        """Feed below which the tool rubs rather than cuts."""
        kind = "carbide" if self.tool == "carbide" else "high-speed steel"
        return RUBS_BELOW_MM[kind]

    @property
    def torque_nm(self) -> float:
        """Torque that it asks, the tables' doubt on top; NaN where nobody can say."""
        return float((1 + DOUBT_SHARE) * _TORQUES[self.operation](self, self._law))

    def most_deep(self, torque_nm, feed_mm):
        """How deep a cut (how large a drill) a torque carries at a feed, the tables' doubt kept in hand."""
        in_hand = np.maximum(np.asarray(torque_nm, dtype=float) / (1 + DOUBT_SHARE), 0.0)
        if self.operation == DRILLING:
            return largest_drill_mm(in_hand, feed_mm=feed_mm, force_factor=DRILL_FACTOR, **self._law)
        if self.operation not in (*TURNED, PARTING):
            return np.full(np.broadcast_shapes(np.shape(in_hand), np.shape(feed_mm)), math.nan)
        return deepest_cut_mm(in_hand, diameter_mm=float(self.diameter_mm), feed_mm=feed_mm, **self._law)

    def most_diameter_mm(self, torque_nm):
        """Up to which diameter a torque carries this cut; NaN where nobody can say."""
        if self.operation == DRILLING:
            return self.most_deep(torque_nm, float(self.feed_mm))
        for_one_mm = replace(self, diameter_mm=1.0).torque_nm
        return np.minimum(np.asarray(torque_nm, dtype=float) / for_one_mm, MOST_DIAMETER_MM)

    @property
    def _law(self) -> dict[str, float]:
        try:
            found = cutting_material(self.material)
        except RangeError:
            return {"specific_force_1_n_mm2": math.nan, "chip_exponent": math.nan}
        return {
            "specific_force_1_n_mm2": found.specific_force_1_n_mm2,
            "chip_exponent": found.chip_exponent,
        }


def materials() -> tuple[str, ...]:
    """The materials whose cutting speeds are known."""
    return tuple(dict.fromkeys(row["material"] for row in tables.read("cutting_speeds")))


def tools() -> tuple[str, ...]:
    """The tools that the table of cutting speeds knows."""
    return tuple(dict.fromkeys(row["tool"] for row in tables.read("cutting_speeds")))


def operations() -> tuple[str, ...]:
    """The kinds of work that the table knows."""
    return tuple(row["operation"] for row in tables.read("cutting_operations"))


def _turned(job: Job, law: dict) -> float:
    return turning(
        depth_mm=float(job.depth_mm),
        feed_mm=float(job.feed_mm),
        diameter_mm=float(job.diameter_mm),
        speed_rpm=ANY_RPM,
        **law,
    ).torque_nm


def _drilled(job: Job, law: dict) -> float:
    return drilling(
        diameter_mm=float(job.diameter_mm),
        feed_mm=float(job.feed_mm),
        speed_rpm=ANY_RPM,
        force_factor=DRILL_FACTOR,
        **law,
    ).torque_nm


def _threaded(job: Job, law: dict) -> float:
    return threading(
        pitch_mm=float(job.feed_mm),
        thread_depth_mm=float(job.depth_mm),
        diameter_mm=float(job.diameter_mm),
        thread_passes=THREAD_PASSES,
        included_angle_deg=THREAD_ANGLE_DEG,
        speed_rpm=ANY_RPM,
        **law,
    ).torque_nm


# What a reamer asks hangs on its clearance and the oil: no figure that would hold.
_TORQUES: dict[str, Callable[[Job, dict], float]] = {
    **dict.fromkeys((*TURNED, PARTING), _turned),
    DRILLING: _drilled,
    THREADING: _threaded,
    REAMING: lambda job, law: math.nan,
}
