"""Resistor brake: change resistor, speed or inertia; see time, turns, current and heat."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from machinelab.spindle.brake import Stop
from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.brake_design import late_stop
from machinelab.spindle.brake_law import late_speed
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_stop_time_s, coast_turns
from machinelab.units import Field, show
from machinelab.workbook.brake_numbers import BrakeNumbers
from machinelab.workbook.figures.brake import BrakeStop
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity

CURVE_POINTS = 220
SPEED_POINTS = 90
# The free run lasts many times longer; the picture ends where it still says something.
SHOWN_STOPS = 1.8

RESISTOR = Field(
    name="Brake resistor",
    kind="resistance",
    low="0.1 ohm",
    high="1 kohm",
    example="12 ohm",
    help="Fewer ohms stop it sooner, with more current at the first moment and more heat in the motor.",
)
SPEED = Field(
    name="Speed when the drive lets go",
    kind="speed",
    low="20 rpm",
    high="10000 rpm",
    example="1200 rpm",
    help="Turns grow with the speed, heat with its square.",
)
INERTIA = Field(
    name="Inertia felt at the spindle",
    kind="inertia",
    low="1 kg cm^2",
    high="5 kg m^2",
    example="0.045 kg m^2",
    help="Everything that turns. A heavier chuck takes longer in proportion.",
)


@dataclass(frozen=True)
class Wanted:
    """What the owner wants; None where nothing is asked."""

    stop_time_s: float | None = None
    turns: float | None = None


@dataclass(frozen=True)
class BrakeView:
    """One braked stop, the free run beside it, and the turns from every speed.

    Parameters
    ----------
    numbers : BrakeNumbers
        The brake as it was set.
    speed_rpm : float [rpm]
        Speed when the drive lets go.
    found : Stop
        From letting go to standstill, the contact's delay in it.
    free_s, free_turns : float [s, turn]
        The same without a brake.
    times_s, braked_rpm, free_rpm : array [s, rpm, rpm]
        Both run-downs.
    speeds_rpm, turns, turns_free : array [rpm, turn, turn]
        Turns from every speed, braked and free.
    wanted : Wanted
        The owner's limits.
    """

    numbers: BrakeNumbers
    speed_rpm: float
    found: Stop
    free_s: float
    free_turns: float
    times_s: np.ndarray
    braked_rpm: np.ndarray
    free_rpm: np.ndarray
    speeds_rpm: np.ndarray
    turns: np.ndarray
    turns_free: np.ndarray
    wanted: Wanted

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        wanted = self.wanted.stop_time_s
        beside = "" if wanted is None else f" (you want {wanted:g} s)"
        return (
            f"From {self.speed_rpm:.0f} rpm: still after {float(self.found.time_s):.2f} s{beside} and "
            f"{float(self.found.turns):.3g} turns; {float(self.found.peak_current_a):.3g} A at first."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return (
            f"Without a brake {self.free_s:.1f} s and {self.free_turns:.0f} turns. The contact closes after "
            f"{show(self.numbers.contact_delay_s, 's')}; below {self.brush_rpm:.0f} rpm no current flows and "
            f"friction alone ends the stop."
        )

    @property
    def brush_rpm(self) -> float:
        """Below this speed the motor's voltage no longer passes the brushes."""
        return self.numbers.brush_speed_rad_s / RPM

    @property
    def tail_s(self) -> float:
        """Time in which friction alone ends the stop."""
        return float(self.found.time_s - self.found.braked_s) - self.numbers.contact_delay_s

    @property
    def sentence(self) -> str:
        """What the stop means for the machine, in plain words."""
        resistor_j, motor_j = float(self.found.resistor_energy_j), float(self.found.armature_energy_j)
        told = [
            f"{resistor_j:.3g} J warm the resistor and {motor_j:.3g} J the motor.",
            f"No resistor shortens the last {max(self.tail_s, 0):.2f} s, nor the "
            f"{show(self.numbers.contact_delay_s, 's')} before the contact closes.",
        ]
        if self.wanted.stop_time_s is not None:
            within = float(self.found.time_s) <= self.wanted.stop_time_s
            told.append(
                f"You want it still within {self.wanted.stop_time_s:g} s: by this calculation it is"
                f"{'' if within else ' not'}."
            )
        return " ".join(told)


def view_brake(
    as_built: BrakeNumbers,
    wanted: Wanted,
    *,
    resistor_ohm: float,
    speed_rpm: float,
    inertia_kg_m2: float,
) -> BrakeView:
    """Work out one braked stop and what surrounds it."""
    numbers = replace(as_built.with_inertia(inertia_kg_m2), resistor_ohm=resistor_ohm)
    delay = numbers.contact_delay_s
    speeds = np.linspace(0, rounded_up(1.08 * max(numbers.top_rpm, speed_rpm)), SPEED_POINTS)
    stop_of = partial(late_stop, contact_delay_s=delay, **numbers.circuit, **numbers.drags)
    found, start = stop_of(speed_rpm), speed_rpm * RPM
    times = np.linspace(0, rounded_up(SHOWN_STOPS * float(found.time_s)), CURVE_POINTS)
    drag = numbers.spindle_emf_v_s_per_rad**2 / (
        (numbers.armature_resistance_ohm + resistor_ohm) * inertia_kg_m2
    )
    brake = (delay, drag, numbers.brush_speed_rad_s, _all_three(numbers.drags))
    return BrakeView(
        numbers=numbers,
        speed_rpm=speed_rpm,
        found=found,
        free_s=float(coast_stop_time_s(start, **numbers.drags)),
        free_turns=float(coast_turns(start, **numbers.drags)),
        times_s=times,
        braked_rpm=late_speed(times, start, *brake) / RPM,
        free_rpm=coast_speed_rad_s(times, start_speed_rad_s=start, **numbers.drags) / RPM,
        speeds_rpm=speeds,
        turns=stop_of(speeds).turns,
        turns_free=coast_turns(speeds * RPM, **numbers.drags),
        wanted=wanted,
    )


def brake_panel(as_built: BrakeNumbers, wanted: Wanted, *, speed_rpm: float) -> LivePanel:
    """Build the panel, starting at the machine as built."""
    ohms = _around(as_built.resistor_ohm, 0.1, 6.0)
    inertias = _around(as_built.inertia_kg_m2, 0.4, 4.0)
    fastest = int(max(as_built.top_rpm, 100))
    return LivePanel(
        controls={
            "resistor_ohm": Quantity(RESISTOR, sweep=ohms, own=as_built.resistor_ohm),
            "speed_rpm": Quantity(
                SPEED,
                sweep=[float(rpm) for rpm in (20, 40, 60, 80, *range(100, fastest + 1, 20))],
                start=speed_rpm,
            ),
            "inertia_kg_m2": Quantity(INERTIA, sweep=inertias, own=as_built.inertia_kg_m2),
        },
        compute=partial(view_brake, as_built, wanted),
        chart=BrakeStop(),
        sentence=lambda view: view.sentence,
    )


def _all_three(drags: dict[str, float]) -> dict[str, float]:
    return {"viscous_per_s": 0.0, "windage_per_rad": 0.0, **drags}


def _around(own: float, least: float, most: float) -> list[float]:
    """Values from a part of the machine's own to a multiple of it, each written with three figures."""
    return [float(f"{own * share:.3g}") for share in np.geomspace(least, most, 60)]
