"""The brake's share of a threading pass: two stops each time, one at the shoulder and one on the way back."""

from dataclasses import dataclass

import numpy as np

from machinelab.ranges import not_negative, positive
from machinelab.spindle.brake_design import late_stop
from machinelab.spindle.brake_heat import average_power_w

__all__ = ["BrakeCircuit", "PassHeat", "pass_heat"]


@dataclass(frozen=True)
class BrakeCircuit:
    """Motor, resistor and inertia of a braked spindle.

    Parameters
    ----------
    spindle_emf_v_s_per_rad : float [V s/rad]
        Voltage constant at the spindle.
    armature_resistance_ohm, resistor_ohm : float [ohm]
        Armature and brake resistor.
    brush_drop_v : float [V]
        Voltage lost at both brushes together.
    inertia_kg_m2 : float [kg m2]
        All that turns, felt at the spindle.

    Source
    ------
    See `machinelab.spindle.brake`.
    """

    spindle_emf_v_s_per_rad: float
    armature_resistance_ohm: float
    resistor_ohm: float
    brush_drop_v: float
    inertia_kg_m2: float


@dataclass(frozen=True)
class PassHeat:
    """What the two stops of a pass leave behind.

    Parameters
    ----------
    resistor_energy_j, armature_energy_j : float or array [J, J]
        Heat in the resistor and in the motor's winding, both stops together.
    mean_power_w : float or array [W]
        Power that the resistor must be rid of, pass after pass.
    peak_power_w : float or array [W]
        Power in the resistor at the first moment of the harder stop.

    Source
    ------
    See `pass_heat`.
    """

    resistor_energy_j: float
    armature_energy_j: float
    mean_power_w: float
    peak_power_w: float


def pass_heat(speed_rpm, *, return_speed_rpm, cycle_s, stopping, circuit) -> PassHeat:
    """Heat of the brake in one pass after another.

    Formula
    -------
    none: `machinelab.spindle.brake_design.late_stop` from both speeds, over the time of a cycle

    Parameters
    ----------
    speed_rpm, return_speed_rpm : float or array [rpm, rpm]
        Spindle speed in the cut and on the way back.
    cycle_s : float or array [s]
        From one pass to the next.
    stopping : Stopping
        The contact's delay and the free spindle's drags.
    circuit : BrakeCircuit
        Motor, resistor and inertia.

    Returns
    -------
    PassHeat
        Energies and powers.

    Range
    -----
    As `machinelab.spindle.brake.stop`, cycle above zero. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> from machinelab.threads.shoulder_stop import Stopping
    >>> circuit = BrakeCircuit(0.864, 1.2, 12.0, 2.0, 0.045)
    >>> brake = Stopping(contact_delay_s=0.03, coulomb_rad_s2=3.0)
    >>> heat = pass_heat(100, return_speed_rpm=100, cycle_s=30.0, stopping=brake, circuit=circuit)
    >>> round(float(heat.resistor_energy_j), 2), round(float(heat.mean_power_w), 3)
    (1.78, 0.059)

    Source
    ------
    See `machinelab.spindle.brake.stop`.
    """
    motor = vars(circuit)
    cutting_rpm = not_negative("speed_rpm", speed_rpm)
    back_rpm = not_negative("return_speed_rpm", return_speed_rpm)
    out, back = (
        late_stop(speed, contact_delay_s=stopping.contact_delay_s, **motor, **stopping.drags)
        for speed in (cutting_rpm, back_rpm)
    )
    in_resistor = out.resistor_energy_j + back.resistor_energy_j
    peak_a = np.maximum(out.peak_current_a, back.peak_current_a)
    return PassHeat(
        in_resistor,
        out.armature_energy_j + back.armature_energy_j,
        average_power_w(in_resistor, period_s=positive("cycle_s", cycle_s)),
        peak_a**2 * circuit.resistor_ohm,
    )
