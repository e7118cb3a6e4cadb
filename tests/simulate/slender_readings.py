"""A bar pushed at two overhangs and a bar turned and measured; the truth is known because it is put in.

Invented. A chuck that leans and gives, a cut that pushes a little harder than the tables say.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.work.chuck_push import gripped_bend_mm
from machinelab.work.holding import diameter_error_mm, held_bar


@dataclass(frozen=True)
class SlenderTruth:
    """The chuck and the cut as they really are."""

    turning_nmm_rad: float = 1.0e8
    spring_n_mm: float = 2.5e4
    force_n: float = 15.2
    dial_mm: float = 0.002
    micrometer_sd_mm: float = 0.001


def push_lines(truth: SlenderTruth, seed: int, bar_mm: float = 25.0) -> str:
    """Overhang, force and movement, one push a line."""
    generator = np.random.default_rng(seed)
    half = truth.dial_mm / 2
    lines = []
    for out in (40.0, 120.0):
        for push in (50.0, 100.0, 150.0):
            moved = gripped_bend_mm(
                push,
                out,
                bar_mm,
                chuck_turning_nmm_rad=truth.turning_nmm_rad,
                chuck_spring_n_mm=truth.spring_n_mm,
            )
            read = half * np.round((moved + generator.normal(0, half / 2)) / half)
            lines.append(f"{out:g} {push:g} {read:.3f}")
    return "\n".join(lines)


def diameter_lines(
    truth: SlenderTruth, seed: int, diameter_mm: float = 16.0, length_mm: float = 120.0
) -> str:
    """Place and diameter along a bar that only the chuck held."""
    generator = np.random.default_rng(seed)
    bar = held_bar(
        "chuck only",
        bar_diameter_mm=diameter_mm,
        overhang_mm=length_mm,
        chuck_turning_nmm_rad=truth.turning_nmm_rad,
        chuck_spring_n_mm=truth.spring_n_mm,
    )
    places = np.linspace(5, length_mm - 5, 8).round()
    turned = diameter_mm - 0.012 + diameter_error_mm(bar, truth.force_n, places)
    read = np.round(turned + generator.normal(0, truth.micrometer_sd_mm, places.size), 3)
    return "\n".join(f"{place:g} {one:.3f}" for place, one in zip(places, read, strict=True))


if __name__ == "__main__":
    demo = SlenderTruth()
    print(push_lines(demo, 1914), diameter_lines(demo, 1915), sep="\n\n")
