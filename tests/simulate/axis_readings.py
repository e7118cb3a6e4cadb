"""Readings of a carriage that was sent up and down the bed; the truth is known because it is put in.

Invented. A screw with a lead error, play, an error of every turn and a slide that does not come back alike.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class AxisTruth:
    """What is wrong with an axis."""

    lead_error_ppm: float = 60.0
    play_mm: float = 0.12
    worn_mm: float = 0.0
    every_turn_mm: float = 0.004
    scatter_mm: float = 0.003
    screw_lead_mm: float = 3.175
    division_mm: float = 0.01

    def deviation_mm(self, position_mm, generator) -> np.ndarray:
        """What a dial would show, approached with rising travel."""
        x = np.asarray(position_mm, dtype=float)
        turn = self.every_turn_mm * np.sin(2 * np.pi * x / self.screw_lead_mm + 0.6)
        return self.lead_error_ppm * 1e-6 * x + turn + generator.normal(0, self.scatter_mm, x.shape)

    def read(self, deviation_mm) -> np.ndarray:
        """To half a division, as a careful person reads."""
        half = self.division_mm / 2
        return half * np.round(deviation_mm / half)


def table_lines(
    truth: AxisTruth, seed: int, targets_mm=(20.4, 101.7, 188.2, 271.9, 360.3), runs: int = 5
) -> str:
    """Target, reading up and reading down, one run a line."""
    generator = np.random.default_rng(seed)
    middle = np.mean(targets_mm)
    lines = []
    for target in targets_mm:
        play = truth.play_mm + truth.worn_mm * np.exp(-(((target - middle) / 60) ** 2))
        up = truth.read(truth.deviation_mm(np.full(runs, target), generator))
        down = truth.read(truth.deviation_mm(np.full(runs, target), generator) - play)
        lines += [f"{target:g} {one:.3f} {other:.3f}" for one, other in zip(up, down, strict=True)]
    return "\n".join(lines)


def closely_spaced_lines(truth: AxisTruth, seed: int, start_mm: float = 150.0, turns: int = 3) -> str:
    """Position and reading, eight a turn of the screw."""
    generator = np.random.default_rng(seed)
    position = np.round(start_mm + truth.screw_lead_mm * np.arange(8 * turns + 1) / 8, 3)
    read = truth.deviation_mm(position, generator)
    return "\n".join(f"{x:.3f} {one:.3f}" for x, one in zip(position, read, strict=True))


if __name__ == "__main__":
    demo = AxisTruth()
    print(table_lines(demo, 1934), closely_spaced_lines(demo, 1935), sep="\n\n")
