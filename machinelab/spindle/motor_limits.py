"""The envelope of the spindle drive: the most torque at the chuck at each speed, and what limits it there.

Supply, drive, magnets, brushes, heat, belt and bearings each draw a line over the speeds. Whatever lies
lowest binds; which one it is tells what to change.
"""

import math
from dataclasses import dataclass

import numpy as np

from machinelab.ranges import positive
from machinelab.spindle.brake_limits import commutation_current_a, demagnetising_current_a
from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor import no_load_speed_rpm, shaft_power_w
from machinelab.spindle.motor_heat import USUAL_FORM_FACTORS, continuous_current_a

SUPPLY = "the supply's voltage"
DRIVE = "the drive's current limit"
MAGNETS = "the magnets' peak current"
BRUSHES = "sparking at the brushes"
HEAT = "heat"
BELT = "the belt slips"
TOP = "the motor's highest speed"


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


def top_speed_rpm(drive_train) -> float:
    """The fastest that motor and supply turn the spindle with nothing to cut.

    Formula
    -------
    none: the lower of the motor's highest speed and its speed without load, over the belt ratio.

    Parameters
    ----------
    drive_train : DriveTrain
        Motor, drive and belt.

    Returns
    -------
    float [rpm]
        Spindle speed; what chuck and work bear may be less.

    Range
    -----
    The highest speed of the motor may be missing; then the supply alone counts.

    Raises
    ------
    RangeError
        If a figure of the drive cannot be.

    Examples
    --------
    >>> from machinelab.spindle.drive_train import DriveTrain
    >>> round(
    ...     top_speed_rpm(
    ...         DriveTrain(
    ...             3,
    ...             supply_v=130,
    ...             back_emf_v_s_per_rad=0.288,
    ...             armature_resistance_ohm=1.2,
    ...             rated_current_a=6,
    ...             rated_motor_speed_rpm=4000,
    ...             highest_motor_speed_rpm=4200,
    ...         )
    ...     )
    ... )
    1400

    Source
    ------
    Derived here.
    """
    train = drive_train
    ratio = float(positive("motor_turns_per_spindle_turn", train.motor_turns_per_spindle_turn))
    light_nm = train.no_load_torque_nm + train.spindle_drag_nm / (ratio * train.belt_efficiency)
    light_rpm = no_load_speed_rpm(
        light_nm / train.back_emf_v_s_per_rad,
        supply_v=train.supply_v,
        brush_drop_v=train.brush_drop_v,
        back_emf_v_s_per_rad=train.back_emf_v_s_per_rad,
        armature_resistance_ohm=train.armature_resistance_ohm,
    )
    return float(np.fmin(light_rpm, train.highest_motor_speed_rpm)) / ratio


def _short_time_currents(speed_rpm, train: DriveTrain) -> dict:
    currents = {
        MAGNETS: demagnetising_current_a(train.rated_current_a),
        # Below a turn a minute the brushes set no limit worth a number.
        BRUSHES: commutation_current_a(
            train.rated_current_a,
            motor_speed_rpm=np.maximum(train.motor_speed_rpm(speed_rpm), 1),
            rated_motor_speed_rpm=train.rated_motor_speed_rpm,
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
