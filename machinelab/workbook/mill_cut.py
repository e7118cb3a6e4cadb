"""What the mill head drives: its speeds, the torque that its motor leaves, and what a cut asks of it."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import RAD_S_PER_RPM
from machinelab.spindle.motor_limits import Envelope, continuous_envelope
from machinelab.work.cutting import Cut
from machinelab.work.cutting_force import DOUBT_SHARE, cutting_material
from machinelab.work.cutting_speeds import CuttingSpeed, cutting_speed, speed_for_cutting_rpm
from machinelab.work.milling_chip import heaviest_tooth_mm, peak_chip_mm, tooth_feed_mm
from machinelab.work.rotating_tools import milling
from machinelab.workbook.machine import Machine
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths, shop_lengths

# Carbon brushes, both together; from memory. Friction of the motor: common practice, no source.
BRUSH_DROP_V, LIGHT_SHARE = 2.0, 0.08
# Below it a tooth rubs instead of cutting: 0.005 to 0.01 mm, common practice, no source.
RUBS_BELOW_MM = 0.005
SMALLEST_LOWEST_RPM = 60.0
POINTS = 160
TORQUE_PATHS = (
    "mill_head.supply",
    "mill_head.current",
    "mill_head.motor_turns_per_turn",
    "mill_head.back_emf",
    "mill_head.armature_resistance",
)


@dataclass(frozen=True)
class MillHead:
    """The mill head in plain numbers; None stands for a drive of which too little is known."""

    highest_rpm: float
    lowest_rpm: float
    train: DriveTrain | None
    missing: tuple[str, ...]
    lengths: ShopLengths = MILLIMETRES

    @cached_property
    def speeds_rpm(self) -> np.ndarray:
        """Speeds to draw curves over."""
        return np.linspace(self.lowest_rpm, self.highest_rpm, POINTS)

    def for_hours(self, speed_rpm) -> Envelope | None:
        """Torque that the motor bears for hours; None where the file says too little."""
        return None if self.train is None else continuous_envelope(speed_rpm, self.train)

    def torque_nm(self, speed_rpm: float) -> float:
        """The same at one speed; NaN where the file says too little."""
        return math.nan if self.train is None else float(self.for_hours(speed_rpm).torque_nm)

    @property
    def drive_told(self) -> str:
        """What binds the torque, or what the file must say first."""
        if self.train is None:
            return f"The torque is not known: the machine file lacks {'; '.join(self.missing)}."
        low, high = self.for_hours(self.lowest_rpm), self.for_hours(self.highest_rpm)
        return (
            f"For hours it turns {float(low.torque_nm):.2f} N m at {self.lowest_rpm:.0f} rpm ({low.binding}) "
            f"and {float(high.torque_nm):.2f} N m at {self.highest_rpm:.0f} rpm ({high.binding})."
        )


@dataclass(frozen=True)
class MillCut:
    """A milling cut on the head, worked out.

    Parameters
    ----------
    head : MillHead
        The mill head.
    material, tool : str
        Names of the tables of cutting speeds.
    diameter_mm, teeth : float [mm], int [tooth]
        Of the cutter.
    width_mm, depth_mm : float [mm]
        Of the cut, across the cutter and along it.
    chip_mm : float [mm]
        Thickest chip that each tooth is to take.
    runout_mm : float [mm]
        Total reading of a dial at the cutter.
    """

    head: MillHead
    material: str
    tool: str
    diameter_mm: float
    teeth: int
    width_mm: float
    depth_mm: float
    chip_mm: float
    runout_mm: float

    @cached_property
    def wanted(self) -> CuttingSpeed:
        """What the tables say of the cutting speed."""
        return cutting_speed(self.material, tool=self.tool)

    @property
    def wanted_rpm(self) -> tuple[float, float, float]:
        """Lowest, typical and highest speed that the tables want for this cutter."""
        speeds = (self.wanted.low_m_min, self.wanted.typical_m_min, self.wanted.high_m_min)
        return tuple(float(speed_for_cutting_rpm(one, diameter_mm=self.diameter_mm)) for one in speeds)

    @property
    def speed_rpm(self) -> float:
        """The speed to set: the typical one, as far as the head has it."""
        return float(np.clip(self.wanted_rpm[1], self.head.lowest_rpm, self.head.highest_rpm))

    @property
    def tooth_feed_mm(self) -> float:
        """Feed for each tooth that makes the chip as thick as wanted."""
        return float(tooth_feed_mm(self.chip_mm, width_mm=self.width_mm, diameter_mm=self.diameter_mm))

    @property
    def thinning(self) -> float:
        """Thickest chip over feed for each tooth."""
        return float(peak_chip_mm(1.0, width_mm=self.width_mm, diameter_mm=self.diameter_mm))

    @property
    def feed_mm_min(self) -> float:
        """Travel of the table."""
        return self.tooth_feed_mm * self.teeth * self.speed_rpm

    @property
    def heaviest_mm(self) -> float:
        """Feed of the foremost tooth of a cutter that runs out."""
        return float(heaviest_tooth_mm(self.tooth_feed_mm, runout_mm=self.runout_mm, cutter_teeth=self.teeth))

    @cached_property
    def cut(self) -> Cut:
        """Mean torque and power."""
        law = cutting_material(self.material)
        return milling(
            depth_mm=self.depth_mm,
            width_mm=self.width_mm,
            feed_per_tooth_mm=self.tooth_feed_mm,
            cutter_teeth=self.teeth,
            diameter_mm=self.diameter_mm,
            speed_rpm=self.speed_rpm,
            specific_force_1_n_mm2=law.specific_force_1_n_mm2,
            chip_exponent=law.chip_exponent,
        )

    @property
    def asked_nm(self) -> float:
        """Mean torque that the cut asks, the tables' doubt on top."""
        return (1 + DOUBT_SHARE) * float(self.cut.torque_nm)

    @property
    def available_nm(self) -> float:
        """Torque that the head turns for hours at that speed; NaN where it is not known."""
        return self.head.torque_nm(self.speed_rpm)

    @property
    def deepest_mm(self) -> float:
        """The deepest cut that the head drives for hours; torque goes with depth."""
        return self.depth_mm * self.available_nm / self.asked_nm

    @property
    def drives(self) -> bool | None:
        """Whether the head drives the cut for hours; None where its torque is not known."""
        return None if math.isnan(self.available_nm) else bool(self.asked_nm <= self.available_nm)

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        verb = {True: "drives", False: "does not drive", None: "cannot be said to drive"}[self.drives]
        of = "" if self.drives is None else f" of {self.available_nm:.2f}"
        too_fast = ", but turns too fast for this cutter" if self.burns else ""
        return (
            f"The head {verb} this cut for hours{too_fast}: it asks {self.asked_nm:.2f} N m{of} at "
            f"{self.speed_rpm:.0f} rpm, table at {self.head.lengths.travel(self.feed_mm_min)}."
        )

    @property
    def burns(self) -> bool:
        """Whether even the slowest speed is faster than the tables bear."""
        return self.wanted_rpm[2] < self.head.lowest_rpm

    @property
    def details(self) -> str:
        """What else the figure shows."""
        return f"{self.speed_told} {self.head.drive_told}"

    @property
    def speed_told(self) -> str:
        """Whether the head has the speed that the tables want."""
        low, _, high = self.wanted_rpm
        band = f"The tables want {low:.0f} to {high:.0f} rpm for this cutter"
        if self.burns:
            return f"{band}, and the head cannot turn so slowly: its edges burn. Take a smaller cutter."
        if low > self.head.highest_rpm:
            return f"{band}; the head cannot turn so fast, which costs time only."
        return f"{band}; {self.speed_rpm:.0f} rpm is within the head's range."

    @property
    def chip_told(self) -> str:
        """Feed for each tooth, thinning, and what the run-out does."""
        thin = ""
        if self.thinning < 1:
            thin = (
                f" (the cut is narrow and thins the chip to {self.thinning:.2f} of the feed, so the feed may "
                f"be {1 / self.thinning:.2f} times the chip)"
            )
        lengths = self.head.lengths
        told = f"Feed {lengths.told(self.tooth_feed_mm, 3)} for each tooth{thin}."
        if self.chip_mm < RUBS_BELOW_MM:
            told += f" Chips below {lengths.short(RUBS_BELOW_MM, 1)} rub instead of cutting."
        if self.runout_mm >= self.tooth_feed_mm:
            told += (
                f" The cutter runs out by more than that: one tooth does all the work, "
                f"{lengths.told(self.heaviest_mm, 3)} at a time. Mend the run-out before the feed is raised."
            )
        return told

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        deep = ""
        if self.drives is not None:
            deep = f" It may be {self.head.lengths.short(self.deepest_mm, 2)} deep."
        return (
            f"{self.speed_told} {self.chip_told}{deep} With few teeth in the cut its peaks are 1.5 to 3 "
            "times the mean (common practice, no source)."
        )


def mill_head(machine: Machine) -> MillHead:
    """Gather the mill head of a machine that has all that step 15 needs."""
    known = machine.mill_head
    missing = tuple(line.label for line in machine.missing(*TORQUE_PATHS))
    lowest = known.lowest_speed_rpm or min(SMALLEST_LOWEST_RPM, known.highest_speed_rpm / 2)
    train = None if missing else _train(machine)
    return MillHead(known.highest_speed_rpm, lowest, train, missing, shop_lengths(machine))


def _train(machine: Machine) -> DriveTrain:
    known = machine.mill_head
    left_v = known.supply_v - BRUSH_DROP_V - known.current_a * known.armature_resistance_ohm
    rated = max(left_v / known.back_emf_v_s_per_rad / RAD_S_PER_RPM, 1.0)
    return DriveTrain(
        motor_turns_per_spindle_turn=known.motor_turns_per_turn,
        supply_v=known.supply_v,
        back_emf_v_s_per_rad=known.back_emf_v_s_per_rad,
        armature_resistance_ohm=known.armature_resistance_ohm,
        rated_current_a=known.current_a,
        rated_motor_speed_rpm=rated,
        brush_drop_v=BRUSH_DROP_V,
        no_load_torque_nm=LIGHT_SHARE * known.current_a * known.back_emf_v_s_per_rad,
    )


def materials() -> tuple[str, ...]:
    """What can be milled by both tables: a cutting speed and a cutting force."""
    forces = {row["material"] for row in tables.read("cutting_forces") if row["chip_exponent"]}
    speeds = dict.fromkeys(row["material"] for row in tables.read("cutting_speeds"))
    return tuple(name for name in speeds if name in forces)


def mill_cut(
    *,
    head: MillHead,
    material: str,
    tool: str,
    diameter_mm: float,
    teeth,
    width_mm: float,
    depth_mm: float,
    chip_mm: float,
    runout_mm: float,
) -> MillCut:
    """Work a milling cut out."""
    if width_mm > diameter_mm:
        wide, across = (head.lengths.short(size, 4) for size in (width_mm, diameter_mm))
        raise RangeError(
            f"The cut is {wide} wide and the cutter {across}: one pass cannot be wider than the cutter."
        )
    return MillCut(head, material, tool, diameter_mm, int(teeth), width_mm, depth_mm, chip_mm, runout_mm)
