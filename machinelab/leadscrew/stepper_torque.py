"""What torque a stepper has left at speed: the driver's current and volts against the rotor's own voltage.

Two models, each with the limits of driver and winding. `pull_out_bound_nm`, the textbook's curve for a
winding fed with volts, is too kind around the corner; `pull_out_torque_nm` keeps both limits at once, and is
the answer to go by. The rule of thumb stands in `machinelab.leadscrew.stepper_winding`.
"""

import numpy as np

from machinelab.ranges import not_negative, positive, whole

# A hybrid stepper goes through four full steps for each tooth of its rotor.
STEPS_PER_TOOTH = 4
_RAD_S_PER_RPM = np.pi / 30


def in_phase_corner_rpm(
    full_steps,
    *,
    torque_constant_nm_per_a,
    phase_current_a,
    driver_supply_v,
    inductance_h,
    winding_resistance_ohm,
):
    """The speed up to which the driver can hold its whole current in step with the rotor.

    Below it the torque is that of standstill, above it torque falls, at first steeply.

    Formula
    -------
    drop = winding_resistance_ohm * phase_current_a
    flux = full_steps / 4 * inductance_h * phase_current_a
    rise = torque_constant_nm_per_a**2 + flux**2
    spare = max(driver_supply_v**2 - drop**2, 0)
    pull = torque_constant_nm_per_a * drop
    in_phase_corner_rpm = 30 / pi * (sqrt(pull**2 + rise * spare) - pull) / rise

    Parameters
    ----------
    full_steps : int [step]
        Full steps in one turn of the stepper.
    torque_constant_nm_per_a : float or array [N m/A]
        See `machinelab.leadscrew.stepper_winding`.
    phase_current_a : float or array [A]
        Peak of the current that the driver is set to.
    driver_supply_v : float or array [V]
        Direct voltage that feeds the driver.
    inductance_h : float or array [H]
        Inductance of a winding.
    winding_resistance_ohm : float or array [ohm]
        Resistance of a winding.

    Returns
    -------
    float or array [rpm]
        Speed of the stepper; zero when the volts do not even drive the current at standstill.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> motor = {"torque_constant_nm_per_a": 0.47982246, "inductance_h": 3.2e-3}
    >>> driver = {"phase_current_a": 2.8 * 2**0.5, "driver_supply_v": 36, "winding_resistance_ohm": 1.13}
    >>> round(float(in_phase_corner_rpm(200, **motor, **driver)))
    398

    Source
    ------
    Derived here: the volts on a winding with its current in step with the rotor,
    (K w + R I)^2 + (N w L I)^2 = V^2, solved for the speed.
    """
    current_a = positive("phase_current_a", phase_current_a)
    constant = positive("torque_constant_nm_per_a", torque_constant_nm_per_a)
    drop_v = positive("winding_resistance_ohm", winding_resistance_ohm) * current_a
    flux = whole("full_steps", full_steps) / STEPS_PER_TOOTH * positive("inductance_h", inductance_h)
    rise = constant**2 + (flux * current_a) ** 2
    spare = np.maximum(positive("driver_supply_v", driver_supply_v) ** 2 - drop_v**2, 0)
    pull = constant * drop_v
    return (np.sqrt(pull**2 + rise * spare) - pull) / rise / _RAD_S_PER_RPM


def pull_out_bound_nm(
    stepper_speed_rpm,
    *,
    full_steps,
    torque_constant_nm_per_a,
    phase_current_a,
    driver_supply_v,
    inductance_h,
    winding_resistance_ohm,
):
    """A ceiling for the torque at speed: the smaller of what the current gives and what the volts give.

    Each limit is taken as if the other were not there, so around the corner it promises too much. It serves
    as a bound beside `pull_out_torque_nm`.

    Formula
    -------
    speed_rad_s = pi / 30 * abs(stepper_speed_rpm)
    reactance = full_steps / 4 * speed_rad_s * inductance_h
    impedance = sqrt(winding_resistance_ohm**2 + reactance**2)
    lost = torque_constant_nm_per_a * speed_rad_s * winding_resistance_ohm / impedance
    drawn = min(phase_current_a, (driver_supply_v - lost) / impedance)
    pull_out_bound_nm = torque_constant_nm_per_a * max(drawn, 0)

    Parameters
    ----------
    stepper_speed_rpm : float or array [rpm]
        Speed of the stepper; the direction does not matter.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    torque_constant_nm_per_a : float or array [N m/A]
        See `machinelab.leadscrew.stepper_winding`.
    phase_current_a : float or array [A]
        Peak of the current that the driver is set to.
    driver_supply_v : float or array [V]
        Direct voltage that feeds the driver.
    inductance_h : float or array [H]
        Inductance of a winding.
    winding_resistance_ohm : float or array [ohm]
        Resistance of a winding.

    Returns
    -------
    float or array [N m]
        Not to be had in full near the corner.

    Range
    -----
    Any finite speed, the rest above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> motor = {"full_steps": 200, "torque_constant_nm_per_a": 0.47982246, "inductance_h": 3.2e-3}
    >>> driver = {"phase_current_a": 2.8, "driver_supply_v": 36, "winding_resistance_ohm": 1.13}
    >>> round(float(pull_out_bound_nm(1200, **motor, **driver)), 4)
    0.7771

    Source
    ------
    Pull-out torque of a winding fed with sine volts: Acarnley, Stepping Motors, from memory.
    """
    constant = positive("torque_constant_nm_per_a", torque_constant_nm_per_a)
    speed_rad_s, resistance_ohm, _, impedance_ohm = _winding(
        stepper_speed_rpm, full_steps, inductance_h, winding_resistance_ohm
    )
    lost_v = constant * speed_rad_s * resistance_ohm / impedance_ohm
    by_volts_a = (positive("driver_supply_v", driver_supply_v) - lost_v) / impedance_ohm
    current_a = np.minimum(positive("phase_current_a", phase_current_a), by_volts_a)
    return constant * np.maximum(current_a, 0)


def pull_out_torque_nm(
    stepper_speed_rpm,
    *,
    full_steps,
    torque_constant_nm_per_a,
    phase_current_a,
    driver_supply_v,
    inductance_h,
    winding_resistance_ohm,
):
    """The most torque a stepper gives at a speed before it falls out of step, driver and windings ideal.

    The current may not pass what the driver is set to, nor ask more volts than its supply has; the part of
    it that is in step with the rotor makes the torque. Both limits are circles in the plane of that part and
    the part ahead of it, and the answer is the highest point that lies in both.

    Formula
    -------
    speed_rad_s = pi / 30 * abs(stepper_speed_rpm)
    reactance = full_steps / 4 * speed_rad_s * inductance_h
    impedance = sqrt(winding_resistance_ohm**2 + reactance**2)
    tilt = winding_resistance_ohm / impedance
    emf = torque_constant_nm_per_a * speed_rad_s / impedance
    reach = driver_supply_v / impedance
    in_phase = sqrt(emf**2 + 2 * emf * tilt * phase_current_a + phase_current_a**2)
    ahead = sqrt(emf**2 - 2 * emf * tilt * reach + reach**2)
    along = (emf**2 + phase_current_a**2 - reach**2) / (2 * emf)
    across = sqrt(max(phase_current_a**2 - along**2, 0))
    crossing = across * reactance / impedance - along * tilt
    by_volts = reach - emf * tilt if ahead <= phase_current_a else crossing
    drawn = phase_current_a if in_phase <= reach else by_volts
    pull_out_torque_nm = torque_constant_nm_per_a * max(drawn, 0)

    Parameters
    ----------
    stepper_speed_rpm : float or array [rpm]
        Speed of the stepper; the direction does not matter.
    full_steps : int [step]
        Full steps in one turn of the stepper.
    torque_constant_nm_per_a : float or array [N m/A]
        See `machinelab.leadscrew.stepper_winding`.
    phase_current_a : float or array [A]
        Peak of the current that the driver is set to.
    driver_supply_v : float or array [V]
        Direct voltage that feeds the driver.
    inductance_h : float or array [H]
        Inductance of a winding.
    winding_resistance_ohm : float or array [ohm]
        Resistance of a winding.

    Returns
    -------
    float or array [N m]
        Pull-out torque; zero where the rotor's own voltage is more than the driver can work against.

    Range
    -----
    Any finite speed, the rest above zero; NaN in gives NaN out. Real motors saturate: a stall that was
    measured outranks the curve.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> motor = {"full_steps": 200, "torque_constant_nm_per_a": 0.47982246, "inductance_h": 3.2e-3}
    >>> driver = {"phase_current_a": 2.8, "driver_supply_v": 36, "winding_resistance_ohm": 1.13}
    >>> round(float(pull_out_torque_nm(300, **motor, **driver)), 4)
    1.3435
    >>> bool(pull_out_torque_nm(600, **motor, **driver) < pull_out_bound_nm(600, **motor, **driver))
    True

    Source
    ------
    Derived here from the winding's equations in the rotor's own frame (Acarnley, Stepping Motors, from
    memory): i_q^2 + i_d^2 <= I^2 and (R i_q + N w L i_d + K w)^2 + (R i_d - N w L i_q)^2 <= V^2.
    """
    constant = positive("torque_constant_nm_per_a", torque_constant_nm_per_a)
    limit_a = positive("phase_current_a", phase_current_a)
    speed_rad_s, resistance_ohm, reactance_ohm, impedance_ohm = _winding(
        stepper_speed_rpm, full_steps, inductance_h, winding_resistance_ohm
    )
    lean = resistance_ohm / impedance_ohm
    emf_a = constant * speed_rad_s / impedance_ohm
    reach_a = positive("driver_supply_v", driver_supply_v) / impedance_ohm
    in_phase_a = np.sqrt(emf_a**2 + 2 * emf_a * lean * limit_a + limit_a**2)
    ahead_a = np.sqrt(np.maximum(emf_a**2 - 2 * emf_a * lean * reach_a + reach_a**2, 0))
    # At standstill the circles have one centre and do not cross; there the smaller one decides.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        along_a = (emf_a**2 + limit_a**2 - reach_a**2) / (2 * emf_a)
        across_a = np.sqrt(np.maximum(limit_a**2 - along_a**2, 0))
        crossing_a = across_a * reactance_ohm / impedance_ohm - along_a * lean
    by_volts_a = np.where(ahead_a <= limit_a, reach_a - emf_a * lean, crossing_a)
    current_a = np.where(in_phase_a <= reach_a, limit_a, by_volts_a)
    return constant * np.maximum(current_a, 0)[()]


def available_torque_nm(pull_out_torque_nm, *, stepper_speed_rpm, detent_torque_nm, iron_drag_nm_s):
    """What of the pull-out torque arrives at the stepper's shaft.

    Formula
    -------
    running_nm = iron_drag_nm_s * pi / 30 * abs(stepper_speed_rpm)
    available_torque_nm = max(pull_out_torque_nm - detent_torque_nm - running_nm, 0)

    Parameters
    ----------
    pull_out_torque_nm : float or array [N m]
        See `pull_out_torque_nm`.
    stepper_speed_rpm : float or array [rpm]
        Speed of the stepper.
    detent_torque_nm : float or array [N m]
        What the magnets take without current: 3 to 10 % of the holding torque (common practice, no source).
    iron_drag_nm_s : float or array [N m s]
        What iron and air take for each radian a second; found from a measured curve, else zero.

    Returns
    -------
    float or array [N m]
        Torque for the load and for getting up to speed.

    Range
    -----
    Drags from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a torque or a drag is negative.

    Examples
    --------
    >>> spent = {"detent_torque_nm": 0.1, "iron_drag_nm_s": 0.0}
    >>> round(float(available_torque_nm(1.34, stepper_speed_rpm=300, **spent)), 2)
    1.24

    Source
    ------
    Derived here: the motor's own losses taken off.
    """
    running_nm = not_negative("iron_drag_nm_s", iron_drag_nm_s) * _RAD_S_PER_RPM * np.abs(stepper_speed_rpm)
    made_nm = not_negative("pull_out_torque_nm", pull_out_torque_nm)
    return np.maximum(made_nm - not_negative("detent_torque_nm", detent_torque_nm) - running_nm, 0)


def _winding(stepper_speed_rpm, full_steps, inductance_h, winding_resistance_ohm):
    """Speed, and resistance, reactance and impedance of a winding at it."""
    speed_rad_s = _RAD_S_PER_RPM * np.abs(stepper_speed_rpm)
    teeth = whole("full_steps", full_steps) / STEPS_PER_TOOTH
    reactance_ohm = teeth * speed_rad_s * positive("inductance_h", inductance_h)
    resistance_ohm = positive("winding_resistance_ohm", winding_resistance_ohm)
    return speed_rad_s, resistance_ohm, reactance_ohm, np.hypot(resistance_ohm, reactance_ohm)
