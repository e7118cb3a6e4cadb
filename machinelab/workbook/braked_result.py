"""A measured braked run beside what the design had promised, and what follows from the difference."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from machinelab.estimate import Estimate
from machinelab.spindle.brake import Stop
from machinelab.spindle.brake_circuit import RPM, brake_time_constant_s, inertia_from_braking_kg_m2
from machinelab.spindle.brake_design import late_stop
from machinelab.spindle.brake_fit import BrakedFit
from machinelab.spindle.brake_law import late_speed
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.measured import with_interval


@dataclass(frozen=True)
class BrakedResult:
    """A fitted braked run and the brake as designed.

    Parameters
    ----------
    fit : BrakedFit
        What the log tells.
    numbers : BrakeNumbers
        What the machine file promises.
    """

    fit: BrakedFit
    numbers: BrakeNumbers

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        speed = self.fit.tested_rpm
        time_s, turns = self.fit.stop_time_s(speed), self.fit.turns_to_stop(speed)
        return (
            f"From {speed:.0f} rpm it stood after {with_interval(time_s)} s and {with_interval(turns)} turns."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return (
            f"The brake came in {with_interval(self.fit.contact_delay_s)} s after the drive let go; designed "
            f"were {self.numbers.contact_delay_s:g} s, and {float(self.designed.time_s):.2f} s to standstill."
        )

    @property
    def designed(self) -> Stop:
        """The stop from the tested speed as the machine file has it."""
        return self.designed_from(self.fit.tested_rpm)

    def designed_from(self, speed_rpm: float) -> Stop:
        """The stop from any speed as the machine file has it."""
        return late_stop(
            speed_rpm,
            contact_delay_s=self.numbers.contact_delay_s,
            **self.numbers.circuit,
            **self.numbers.drags,
        )

    def designed_rpm(self, after_s) -> np.ndarray:
        """The designed speed at times after the drive let go."""
        drags = {"viscous_per_s": 0.0, "windage_per_rad": 0.0, **self.numbers.drags}
        brake = (self.numbers.contact_delay_s, 1 / self.time_constant_s, self.numbers.brush_speed_rad_s)
        return late_speed(after_s, self.fit.tested_rpm * RPM, *brake, drags) / RPM

    @property
    def time_constant_s(self) -> float:
        """The designed time constant of the brake."""
        circuit = {name: value for name, value in self.numbers.circuit.items() if name != "brush_drop_v"}
        return float(brake_time_constant_s(**circuit))

    @property
    def inertia_kg_m2(self) -> Estimate:
        """The inertia that the run tells, if the circuit is as the machine file has it."""
        low, best, high = (
            float(
                inertia_from_braking_kg_m2(
                    drag,
                    spindle_emf_v_s_per_rad=self.numbers.spindle_emf_v_s_per_rad,
                    armature_resistance_ohm=self.numbers.armature_resistance_ohm,
                    resistor_ohm=self.numbers.resistor_ohm,
                )
            )
            for drag in (
                self.fit.brake_drag_per_s.interval[1],
                self.fit.brake_drag_per_s.value,
                self.fit.brake_drag_per_s.interval[0],
            )
        )
        return Estimate(best, (low, high))

    @property
    def contact_is_late(self) -> bool:
        """Whether the contact certainly closes later than designed."""
        return self.fit.contact_delay_s.interval[0] > self.numbers.contact_delay_s

    def turns_lost(self, speed_rpm: float) -> float:
        """Turns from a speed that a contact as designed would spare."""
        return speed_rpm / 60 * max(self.fit.contact_delay_s.value - self.numbers.contact_delay_s, 0.0)

    def table(self) -> pd.DataFrame:
        """Designed and measured, figure by figure."""
        fit, designed = self.fit, self.designed
        rows = [
            ("brake comes in after, s", self.numbers.contact_delay_s, fit.contact_delay_s),
            ("time constant of the brake, s", self.time_constant_s, fit.brake_time_constant_s),
            ("inertia at the spindle, kg m²", self.numbers.inertia_kg_m2, self.inertia_kg_m2),
            ("time to standstill, s", float(designed.time_s), fit.stop_time_s(fit.tested_rpm)),
            ("turns to standstill", float(designed.turns), fit.turns_to_stop(fit.tested_rpm)),
        ]
        columns = [f"from {fit.tested_rpm:.0f} rpm", "designed", "measured", "95 % from", "to", "off by"]
        return pd.DataFrame(
            [
                (
                    name,
                    f"{before:.4g}",
                    f"{one.value:.4g}",
                    *(f"{end:.4g}" for end in one.interval),
                    _off(before, one),
                )
                for name, before, one in rows
            ],
            columns=columns,
        ).set_index(columns[0])


def _off(designed: float, measured: Estimate) -> str:
    return f"{100 * (measured.value / designed - 1):+.0f} %" if designed else ""
