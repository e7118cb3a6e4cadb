"""The envelope of the spindle drive: the most torque at the chuck at each speed, and what limits it there.

Supply, drive, magnets, brushes, heat, belt and bearings each draw a line over the speeds. Whatever lies
lowest binds; which one it is tells what to change.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.ranges import not_negative
from machinelab.spindle.motor import shaft_power_w, torque_nm
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, USUAL_STANDSTILL_SHARE, continuous_current_a
from machinelab.spindle.motor_overload import (
    SALVAGED_PEAK_MULTIPLE,
    USUAL_PRODUCT_MULTIPLE,
    commutation_current_a,
    magnet_limit_a,
)

SUPPLY = "the supply's voltage"
DRIVE = "the drive's current limit"
MAGNETS = "the magnets' peak current"
BRUSHES = "sparking at the brushes"
HEAT = "heat"
BELT = "the belt slips"
TOP = "the motor's highest speed"

# Common practice, no source: 0.92 to 0.97 for one belt.
USUAL_BELT_EFFICIENCY = 0.95


@dataclass(frozen=True)
class DriveTrain:
    """The motor, what feeds it and what joins it to the spindle; NaN stands for what is not known.

    Parameters
    ----------
    motor_turns_per_spindle_turn : Fraction or float [turn/turn]
        Belt ratio.
    supply_v : float [V]
        Direct voltage at the brushes with the knob fully up.
    back_emf_v_s_per_rad : float [V s/rad]
        Back EMF.
    armature_resistance_ohm : float [ohm]
        Resistance of the armature, warm.
    rated_current_a : float [A]
        Current on the plate.
    rated_motor_speed_rpm : float [rpm]
        Speed on the plate.
    brush_drop_v : float [V]
        Voltage lost at both brushes; 2 V for carbon (from memory).
    no_load_torque_nm : float [N m]
        Friction and iron loss of the motor at its own shaft.
    highest_motor_speed_rpm : float [rpm]
        What armature and bearings are made for.
    drive_current_a : float [A]
        The most that the drive lets through.
    form_factor : float [1]
        Rms over average current of the drive.
    standstill_share : float [1]
        Heat shed at standstill of that at rated speed.
    belt_efficiency : float [1]
        Share of the power that the belt passes on.
    slip_torque_nm : float [N m]
        Torque at the motor's pulley at which the belt slips.
    spindle_drag_nm : float [N m]
        Friction of the spindle itself.
    """

    motor_turns_per_spindle_turn: Fraction | float
    supply_v: float
    back_emf_v_s_per_rad: float
    armature_resistance_ohm: float
    rated_current_a: float
    rated_motor_speed_rpm: float
    brush_drop_v: float = 2.0
    no_load_torque_nm: float = 0.0
    highest_motor_speed_rpm: float = math.nan
    drive_current_a: float = math.nan
    form_factor: float = USUAL_FORM_FACTORS["smoothed"]
    standstill_share: float = USUAL_STANDSTILL_SHARE
    belt_efficiency: float = USUAL_BELT_EFFICIENCY
    slip_torque_nm: float = math.nan
    spindle_drag_nm: float = 0.0

    def motor_speed_rpm(self, speed_rpm):
        """Speed of the motor at a spindle speed."""
        return not_negative("speed_rpm", speed_rpm) * float(self.motor_turns_per_spindle_turn)

    def torque_nm(self, speed_rpm, *, current_limit_a):
        """Torque at the spindle within a limit of the motor's current, see `machinelab.spindle.motor`."""
        return torque_nm(
            speed_rpm,
            motor_turns_per_spindle_turn=self.motor_turns_per_spindle_turn,
            supply_v=self.supply_v,
            brush_drop_v=self.brush_drop_v,
            back_emf_v_s_per_rad=self.back_emf_v_s_per_rad,
            armature_resistance_ohm=self.armature_resistance_ohm,
            current_limit_a=current_limit_a,
            no_load_torque_nm=self.no_load_torque_nm,
            belt_efficiency=self.belt_efficiency,
            spindle_drag_nm=self.spindle_drag_nm,
        )

    def torque_of_current_nm(self, current_a):
        """Torque at the spindle that a current makes, whatever the supply."""
        shaft_nm = self.back_emf_v_s_per_rad * current_a - self.no_load_torque_nm
        at_spindle_nm = float(self.motor_turns_per_spindle_turn) * self.belt_efficiency * shaft_nm
        return np.maximum(at_spindle_nm - self.spindle_drag_nm, 0)


@dataclass(frozen=True)
class Envelope:
    """The most torque at the spindle at each speed, and every limit that was taken into account.

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speeds.
    torque_nm : float or array [N m]
        The lowest of the limits at each speed.
    binding : array of str
        Which limit that is.
    limits_nm : mapping of str to array [N m]
        Each limit by its name.
    """

    speed_rpm: np.ndarray
    torque_nm: np.ndarray
    binding: np.ndarray
    limits_nm: dict[str, np.ndarray]

    @property
    def power_w(self) -> np.ndarray:
        """Power at the spindle at each speed."""
        return shaft_power_w(self.torque_nm, speed_rpm=self.speed_rpm)


def short_time_envelope(speed_rpm, drive_train) -> Envelope:
    """The most torque at the spindle for a short time: starting, one heavy pass, a jam.

    Formula
    -------
    none: the lowest of several limits, each with a formula of its own: `torque_nm` with the current that
        supply, drive, magnets and brushes allow, belt slip, and no torque above the highest speed.

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speeds.
    drive_train : DriveTrain
        Motor, drive and belt.

    Returns
    -------
    Envelope
        Torque, the name of the limit that binds at each speed, and all limits.

    Range
    -----
    Speeds from zero up; limits that are not known are left out, and a missing speed gives a missing torque.

    Raises
    ------
    RangeError
        If a speed is negative or a figure of the drive cannot be.

    Examples
    --------
    >>> train = DriveTrain(
    ...     3,
    ...     supply_v=130,
    ...     back_emf_v_s_per_rad=0.288,
    ...     armature_resistance_ohm=1.2,
    ...     rated_current_a=6,
    ...     rated_motor_speed_rpm=4000,
    ...     drive_current_a=9,
    ... )
    >>> found = short_time_envelope(100, train)
    >>> round(float(found.torque_nm), 2), str(found.binding)
    (7.39, "the drive's current limit")

    Source
    ------
    Derived here from the limits named; see each for its own source.
    """
    return _envelope(speed_rpm, drive_train, _short_time_currents(speed_rpm, drive_train))


def continuous_envelope(speed_rpm, drive_train) -> Envelope:
    """The most torque at the spindle in work without end, heat included.

    Formula
    -------
    none: as `short_time_envelope`, and the current that the motor carries without end at its speed.

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speeds.
    drive_train : DriveTrain
        Motor, drive and belt.

    Returns
    -------
    Envelope
        Torque, the name of the limit that binds at each speed, and all limits.

    Range
    -----
    Speeds from zero up; limits that are not known are left out, and a missing speed gives a missing torque.

    Raises
    ------
    RangeError
        If a speed is negative or a figure of the drive cannot be.

    Examples
    --------
    >>> train = DriveTrain(
    ...     3,
    ...     supply_v=130,
    ...     back_emf_v_s_per_rad=0.288,
    ...     armature_resistance_ohm=1.2,
    ...     rated_current_a=6,
    ...     rated_motor_speed_rpm=4000,
    ...     drive_current_a=9,
    ... )
    >>> found = continuous_envelope(100, train)
    >>> round(float(found.torque_nm), 2), str(found.binding)
    (3.24, 'heat')

    Source
    ------
    Derived here from the limits named; see each for its own source.
    """
    all_day_a = continuous_current_a(
        drive_train.motor_speed_rpm(speed_rpm),
        rated_current_a=drive_train.rated_current_a,
        rated_motor_speed_rpm=drive_train.rated_motor_speed_rpm,
        standstill_share=drive_train.standstill_share,
        form_factor=drive_train.form_factor,
        rated_form_factor=USUAL_FORM_FACTORS["smoothed"],
    )
    return _envelope(speed_rpm, drive_train, _short_time_currents(speed_rpm, drive_train) | {HEAT: all_day_a})


def _short_time_currents(speed_rpm, train: DriveTrain) -> dict:
    currents = {
        MAGNETS: magnet_limit_a(train.rated_current_a, peak_multiple=SALVAGED_PEAK_MULTIPLE),
        # Below a turn a minute the brushes set no limit worth a number.
        BRUSHES: commutation_current_a(
            np.maximum(train.motor_speed_rpm(speed_rpm), 1),
            rated_current_a=train.rated_current_a,
            rated_motor_speed_rpm=train.rated_motor_speed_rpm,
            product_multiple=USUAL_PRODUCT_MULTIPLE,
        ),
    }
    known = {} if math.isnan(train.drive_current_a) else {DRIVE: train.drive_current_a}
    return known | currents


def _envelope(speed_rpm, train: DriveTrain, currents_a: dict) -> Envelope:
    speeds = np.asarray(speed_rpm, dtype=float)
    limits = {SUPPLY: train.torque_nm(speeds, current_limit_a=np.inf)}
    limits |= {name: train.torque_of_current_nm(current) for name, current in currents_a.items()}
    if not math.isnan(train.slip_torque_nm):
        limits[BELT] = float(train.motor_turns_per_spindle_turn) * train.slip_torque_nm
    if not math.isnan(train.highest_motor_speed_rpm):
        too_fast = train.motor_speed_rpm(speeds) > train.highest_motor_speed_rpm
        limits[TOP] = np.where(too_fast, 0.0, np.inf)
    names = np.array(list(limits))
    spread = {name: np.broadcast_to(limit, speeds.shape) for name, limit in limits.items()}
    stacked = np.stack(list(spread.values()))
    lowest = stacked.min(axis=0)
    binding = np.where(np.isnan(lowest), "not known", names[stacked.argmin(axis=0)])
    return Envelope(speeds, lowest, binding, spread)
