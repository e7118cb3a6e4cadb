"""Speeds at which a stepper shakes: its low resonance, and the middle band in which it hunts by itself.

Both are given as speeds of the stepper; `machinelab.leadscrew.stepper_rate` turns them into spindle speeds to
keep out of in a thread.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.leadscrew.stepper_torque import STEPS_PER_TOOTH
from machinelab.ranges import not_negative, positive, whole

# Stiffness, inertia and the strength of the shaking are not known any better; common practice, no source.
USUAL_BAND_SHARE = 0.2
_RAD_S_PER_RPM = np.pi / 30


@dataclass(frozen=True)
class SpeedBand:
    """A range of speeds to keep out of.

    Parameters
    ----------
    lowest_rpm : float [rpm]
        Where it begins.
    highest_rpm : float [rpm]
        Where it ends.
    """

    lowest_rpm: float
    highest_rpm: float

    def holds(self, speed_rpm: float) -> bool:
        """Whether a speed lies in the band."""
        return self.lowest_rpm <= speed_rpm <= self.highest_rpm


def rotor_resonance_hz(holding_torque_nm, *, full_steps, moved_inertia_kg_m2):
    """How often the rotor swings about its place each second when it is pushed.

    The magnet's pull is a spring, the inertia hangs on it, and little damps it: it rings 10 to 20 times over.

    Formula
    -------
    stiffness_nm_per_rad = full_steps / 4 * holding_torque_nm
    rotor_resonance_hz = sqrt(stiffness_nm_per_rad / moved_inertia_kg_m2) / (2 * pi)

    Parameters
    ----------
    holding_torque_nm : float or array [N m]
        Torque at which the rotor would slip at standstill, at the current that is set.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    moved_inertia_kg_m2 : float or array [kg m2]
        All that moves, at the stepper's shaft.

    Returns
    -------
    float or array [Hz]
        Natural frequency.

    Range
    -----
    All above zero; NaN in gives NaN out. A soft belt between stepper and screw lets the rotor swing almost
    alone, and higher.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(float(rotor_resonance_hz(1.9, full_steps=200, moved_inertia_kg_m2=7.8e-5)), 1)
    175.6

    Source
    ------
    A university's chapter on the physics of stepping motors, read in an excerpt; the stiffness of N teeth on
    a sine of torque derived here.
    """
    teeth = whole("full_steps", full_steps) / STEPS_PER_TOOTH
    stiffness_nm_per_rad = teeth * positive("holding_torque_nm", holding_torque_nm)
    return np.sqrt(stiffness_nm_per_rad / positive("moved_inertia_kg_m2", moved_inertia_kg_m2)) / (2 * np.pi)


def resonant_speed_rpm(resonance_hz, *, full_steps, part):
    """The speed of the stepper at which its full steps shake it in its resonance.

    Formula
    -------
    resonant_speed_rpm = 60 * resonance_hz / (full_steps * part)

    Parameters
    ----------
    resonance_hz : float or array [Hz]
        See `rotor_resonance_hz`.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    part : int [1]
        1 for a step each swing, 2 for one every second swing, and so on; weaker as it grows.

    Returns
    -------
    float or array [rpm]
        Speed of the stepper.

    Range
    -----
    A resonance above zero; NaN in gives NaN out. Microsteps of 8 and more soften it, but the magnets' own
    detent still pulls at every full step.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(resonant_speed_rpm(175.6445, full_steps=200, part=1), 2)
    52.69

    Source
    ------
    Derived here: full steps a second are a whole part of the swings a second.
    """
    steps = whole("full_steps", full_steps) * whole("part", part)
    return 60 * positive("resonance_hz", resonance_hz) / steps


def low_band(resonance_hz, *, full_steps, part, band_share=USUAL_BAND_SHARE) -> SpeedBand:
    """The speeds of the stepper around a resonance.

    Formula
    -------
    centre_rpm = 60 * resonance_hz / (full_steps * part)
    result.lowest_rpm = centre_rpm * (1 - band_share)
    result.highest_rpm = centre_rpm * (1 + band_share)

    Parameters
    ----------
    resonance_hz : float [Hz]
        See `rotor_resonance_hz`.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    part : int [1]
        See `resonant_speed_rpm`.
    band_share : float [1]
        Half the width over the middle; a fifth by default (common practice, no source).

    Returns
    -------
    SpeedBand
        Speeds of the stepper to keep out of.

    Range
    -----
    As `resonant_speed_rpm`.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> round(low_band(175.6445, full_steps=200, part=1).highest_rpm, 1)
    63.2

    Source
    ------
    Derived here; the width is common practice, no source. What was heard at the machine outranks it.
    """
    centre_rpm = resonant_speed_rpm(resonance_hz, full_steps=full_steps, part=part)
    share = not_negative("band_share", band_share)
    return SpeedBand(float(centre_rpm * (1 - share)), float(centre_rpm * (1 + share)))


def hunting_growth_per_s(
    stepper_speed_rpm,
    *,
    full_steps,
    torque_constant_nm_per_a,
    driver_supply_v,
    inductance_h,
    winding_resistance_ohm,
    moved_inertia_kg_m2,
    iron_drag_nm_s,
    load_at_motor_nm,
):
    """How quickly a small swing of the rotor grows at a speed, when the driver gives all its volts.

    Above the corner the driver no longer holds the current, and rotor and current can hunt against each
    other: the growl of the middle speeds, in which a stepper loses its step without any load to blame. Below
    zero a swing dies away.

    Formula
    -------
    none: the largest real part among the four eigenvalues of the equations of winding and rotor, made linear
    about steady running at the speed. With v_d = -V sin(phi) and v_q = V cos(phi) they are
    L di_d/dt = v_d - R i_d + N w L i_q, L di_q/dt = v_q - R i_q - N w L i_d - K w,
    J dw/dt = K i_q - b w - T, dphi/dt = N (w_0 - w).

    Parameters
    ----------
    stepper_speed_rpm : float or array [rpm]
        Speed of the stepper.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    torque_constant_nm_per_a : float [N m/A]
        See `machinelab.leadscrew.stepper_winding`.
    driver_supply_v : float [V]
        Direct voltage that feeds the driver.
    inductance_h : float [H]
        Inductance of a winding.
    winding_resistance_ohm : float [ohm]
        Resistance of a winding.
    moved_inertia_kg_m2 : float [kg m2]
        All that moves, at the stepper's shaft.
    iron_drag_nm_s : float [N m s]
        What iron, air and bearings take for each radian a second; mostly a guess.
    load_at_motor_nm : float [N m]
        Steady load.

    Returns
    -------
    float or array [1/s]
        Growth; NaN at speeds at which the volts do not carry the load at all.

    Range
    -----
    Speeds of zero and above. A driver that regulates its current, and one that damps, behaves better than
    this below its corner.

    Raises
    ------
    RangeError
        If a figure is out of range.

    Examples
    --------
    >>> motor = {"full_steps": 200, "torque_constant_nm_per_a": 0.47982246, "inductance_h": 3.2e-3}
    >>> drive = {"driver_supply_v": 36, "winding_resistance_ohm": 1.13, "moved_inertia_kg_m2": 7.8e-5}
    >>> drag = {"iron_drag_nm_s": 1e-3, "load_at_motor_nm": 0.2}
    >>> hunting_growth_per_s([200, 300], **motor, **drive, **drag).round(1).tolist()
    [-78.6, 38.1]

    Source
    ------
    Derived here. Published treatments: Acarnley, Stepping Motors; Leenhouts, Step Motor System Design
    Handbook; both from memory.
    """
    speed_rad_s = _RAD_S_PER_RPM * np.abs(np.asarray(stepper_speed_rpm, dtype=float))
    constant = positive("torque_constant_nm_per_a", torque_constant_nm_per_a)
    volts = positive("driver_supply_v", driver_supply_v)
    henry = positive("inductance_h", inductance_h)
    ohm = positive("winding_resistance_ohm", winding_resistance_ohm)
    inertia = positive("moved_inertia_kg_m2", moved_inertia_kg_m2)
    drag = not_negative("iron_drag_nm_s", iron_drag_nm_s)
    teeth = whole("full_steps", full_steps) / STEPS_PER_TOOTH
    turning = teeth * speed_rad_s

    in_phase_a = (not_negative("load_at_motor_nm", load_at_motor_nm) + drag * speed_rad_s) / constant
    ahead_a = _steady_ahead_a(in_phase_a, turning * henry, ohm, constant * speed_rad_s, volts)
    ahead_v = ohm * ahead_a - turning * henry * in_phase_a
    in_phase_v = ohm * in_phase_a + turning * henry * ahead_a + constant * speed_rad_s

    equations = np.zeros((*speed_rad_s.shape, 4, 4))
    equations[..., 0, 0] = equations[..., 1, 1] = -ohm / henry
    equations[..., 0, 1], equations[..., 1, 0] = turning, -turning
    equations[..., 0, 2], equations[..., 1, 2] = teeth * in_phase_a, -teeth * ahead_a - constant / henry
    equations[..., 0, 3], equations[..., 1, 3] = -in_phase_v / henry, ahead_v / henry
    equations[..., 2, 1], equations[..., 2, 2] = constant / inertia, -drag / inertia
    equations[..., 3, 2] = -teeth
    runs = np.isfinite(equations).all(axis=(-2, -1))
    found = np.linalg.eigvals(np.where(runs[..., None, None], equations, 0.0))
    return np.where(runs, found.real.max(axis=-1), np.nan)[()]


def _steady_ahead_a(in_phase_a, reactance_ohm, resistance_ohm, emf_v, supply_v):
    """The current ahead of the rotor in steady running; of the two that fit the volts, the one that holds."""
    size = resistance_ohm**2 + reactance_ohm**2
    half = reactance_ohm * emf_v
    rest = size * in_phase_a**2 + 2 * resistance_ohm * in_phase_a * emf_v + emf_v**2 - supply_v**2
    room = half**2 - size * rest
    return (np.sqrt(np.where(room >= 0, room, np.nan)) - half) / size


def hunting_bands(growth_per_s, *, stepper_speed_rpm) -> tuple[SpeedBand, ...]:
    """The ranges of speed in which swings grow, from a curve of their growth.

    Formula
    -------
    none: where the curve passes zero, by straight lines between its points.

    Parameters
    ----------
    growth_per_s : array [1/s]
        See `hunting_growth_per_s`.
    stepper_speed_rpm : array [rpm]
        The speeds of the curve, rising.

    Returns
    -------
    tuple of SpeedBand
        Each range; none when every swing dies away.

    Range
    -----
    Missing points (NaN) end a range.

    Raises
    ------
    RangeError
        If there are not as many speeds as points of the curve.

    Examples
    --------
    >>> [band] = hunting_bands([-2.0, 2.0, 2.0, -6.0], stepper_speed_rpm=[100, 200, 300, 400])
    >>> band.lowest_rpm, band.highest_rpm
    (150.0, 325.0)

    Source
    ------
    Derived here.
    """
    speeds, growth = _same_length(stepper_speed_rpm, growth_per_s)
    grows = np.concatenate([[False], growth > 0, [False]])
    begins, ends = np.flatnonzero(~grows[:-1] & grows[1:]), np.flatnonzero(grows[:-1] & ~grows[1:]) - 1
    return tuple(
        SpeedBand(_crossing(speeds, growth, first, first - 1), _crossing(speeds, growth, last, last + 1))
        for first, last in zip(begins, ends, strict=True)
    )


def _same_length(stepper_speed_rpm, growth_per_s):
    speeds, growth = (
        np.atleast_1d(np.asarray(one, dtype=float)) for one in (stepper_speed_rpm, growth_per_s)
    )
    if speeds.shape != growth.shape:
        raise RangeError(f"There are {speeds.size} speeds for {growth.size} points of the curve.")
    return speeds, growth


def _crossing(speeds, growth, inside: int, outside: int) -> float:
    """The speed at which the growth passes zero between a point inside a range and its neighbour outside."""
    if not 0 <= outside < speeds.size or not np.isfinite(growth[outside]):
        return float(speeds[inside])
    share = growth[inside] / (growth[inside] - growth[outside])
    return float(speeds[inside] + share * (speeds[outside] - speeds[inside]))
