"""A swept dial and a run-down of a mill head; the truth is known because it is put in. Invented."""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

RPM = 2 * np.pi / 60
# Steady speed before the switch is turned off, so that the meter's lag can be told.
STEADY_S = 6.0


@dataclass(frozen=True)
class HeadTruth:
    """The head as it really stands and slows."""

    lean_right_mm_m: float = 0.14
    lean_back_mm_m: float = -0.06
    division_mm: float = 0.002
    uneven_mm: float = 0.0008
    coulomb_rad_s2: float = 14.0
    viscous_per_s: float = 0.16
    lag_s: float = 0.8

    @property
    def stop_s(self) -> float:
        """Time to standstill from 2200 rpm, in closed form for dry and viscous drag."""
        return np.log(1 + self.viscous_per_s * 2200 * RPM / self.coulomb_rad_s2) / self.viscous_per_s


def sweep_lines(truth: HeadTruth, seed: int, radius_mm: float = 90.0, places: int = 8) -> str:
    """Angle and reading, one place a line."""
    generator = np.random.default_rng(seed)
    angle = np.arange(places) * 360 / places
    turned = np.radians(angle)
    lean = truth.lean_right_mm_m * np.cos(turned) + truth.lean_back_mm_m * np.sin(turned)
    reading = 0.1 + radius_mm / 1000 * lean + generator.normal(0, truth.uneven_mm, places)
    half = truth.division_mm / 2
    read = half * np.round(reading / half)
    return "\n".join(f"{one:g} {dial:.3f}" for one, dial in zip(angle, read, strict=True))


def run_lines(truth: HeadTruth, seed: int, start_rpm: float = 2200.0, every_s: float = 0.4) -> str:
    """Time and display of a run-down as filmed, the meter lagging behind the head."""

    def slow(time, state):
        speed, shown = state
        drag = truth.coulomb_rad_s2 + truth.viscous_per_s * speed if time >= STEADY_S and speed > 0 else 0.0
        return [-drag, (speed - shown) / truth.lag_s]

    times = np.arange(0, STEADY_S + 1.3 * truth.stop_s, every_s)
    start = start_rpm * RPM
    run = solve_ivp(slow, (0, times[-1]), [start, start], t_eval=times, rtol=1e-8, max_step=0.02)
    noise = np.random.default_rng(seed).normal(0, 1.0, times.size)
    shown = np.round(np.maximum(run.y[1] / RPM + noise, 0))
    return "\n".join(f"{time:.1f} {one:.0f}" for time, one in zip(times, shown, strict=True))


if __name__ == "__main__":
    demo = HeadTruth()
    print(sweep_lines(demo, 1921), run_lines(demo, 1922), demo.stop_s, sep="\n\n")
