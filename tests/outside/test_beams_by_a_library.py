"""The stiffness matrix and the closed forms of slender work against a beam library and a printed example."""

from functools import cache

import numpy as np
import pytest
import sympy
from inspection.source import EXAMPLE, EXCERPT, Source, library
from sympy.physics.continuum_mechanics.beam import Beam

from machinelab.work.bar import Bar, Section, Support, tool_deflection_mm
from machinelab.work.bending import (
    between_centres_bend_mm,
    chuck_only_bend_mm,
    overhang_bend_mm,
    sag_mm,
    second_moment_mm4,
)
from machinelab.work.holding import held_bar, worst_error_mm

ROOM = "work"
ELASTICITY, FORCE, LENGTH, DIAMETER = 206_000, 150, 300, 20
BEAMS = library("sympy", sympy.__version__, "physics.continuum_mechanics.beam", "rounding of the computer")
CHUCK = Support(0, turning_nmm_rad=np.inf)
# Where each way of holding fixes the bar, for us and for the library.
WAYS = {
    "chuck only": ((CHUCK,), ((0, "fixed"),)),
    "between centres": ((Support(0), Support(LENGTH)), ((0, "pin"), (LENGTH, "roller"))),
    "chuck and centre": ((CHUCK, Support(LENGTH)), ((0, "fixed"), (LENGTH, "roller"))),
    "chuck and chuck": (
        (CHUCK, Support(LENGTH, turning_nmm_rad=np.inf)),
        ((0, "fixed"), (LENGTH, "fixed")),
    ),
    "chuck and steady rest": ((CHUCK, Support(180)), ((0, "fixed"), (180, "roller"))),
}


def reactions(supports):
    """The names that the library gives to forces and moments of its supports."""
    moments = [sympy.Symbol(f"M_{place}") for place, kind in supports if kind == "fixed"]
    return [sympy.Symbol(f"R_{place}") for place, _ in supports] + moments


@cache
def in_the_library(way, at_mm):
    """Deflection at the force for a bar of unit stiffness; in whole numbers, solved exactly."""
    beam = Beam(LENGTH, 1, 1)
    supports = WAYS[way][1]
    for place, kind in supports:
        beam.apply_support(place, kind)
    beam.apply_load(-FORCE, at_mm, -1)
    beam.solve_for_reaction_loads(*reactions(supports))
    return abs(float(beam.deflection().subs(beam.variable, at_mm)))


def library_deflection_mm(way, at_mm, second_moment):
    return in_the_library(way, at_mm) / (ELASTICITY * second_moment)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("at_mm", [90, 240])
def test_the_stiffness_matrix_bends_a_bar_as_the_library_does(compare, way, at_mm):
    wanted = library_deflection_mm(way, at_mm, second_moment_mm4(DIAMETER))
    bar = Bar((Section(LENGTH, DIAMETER),), WAYS[way][0])
    found = tool_deflection_mm(bar, FORCE, [at_mm])
    compare(f"{way}, 150 N at {at_mm} of 300 mm", found[0], wanted, BEAMS, rel=1e-6, unit="mm")


def test_a_tube_bends_as_the_library_says(compare):
    wanted = library_deflection_mm("chuck only", 240, second_moment_mm4(DIAMETER, 14.0))
    found = tool_deflection_mm(Bar((Section(LENGTH, DIAMETER, 14.0),), (CHUCK,)), FORCE, [240])
    compare("tube of 20 by 14 mm from the chuck", found[0], wanted, BEAMS, rel=1e-6, unit="mm")


def test_the_closed_forms_bend_a_bar_as_the_library_does(compare):
    solid = second_moment_mm4(DIAMETER)
    told = {"rel": 1e-6, "unit": "mm"}
    wanted = library_deflection_mm("chuck only", LENGTH, solid)
    compare("closed form, chuck only", chuck_only_bend_mm(FORCE, LENGTH, DIAMETER), wanted, BEAMS, **told)
    wanted = library_deflection_mm("between centres", LENGTH // 2, solid)
    found = between_centres_bend_mm(FORCE, LENGTH, DIAMETER)
    compare("closed form, middle between centres", found, wanted, BEAMS, **told)
    wanted = library_deflection_mm("chuck and steady rest", LENGTH, solid)
    found = overhang_bend_mm(FORCE, 180, LENGTH - 180, DIAMETER)
    compare("closed form, overhang beyond a steady", found, wanted, BEAMS, **told)


def test_a_bar_sags_by_its_weight_as_the_library_says(compare):
    weight_n_mm = 7850e-9 * 9.80665 * np.pi / 4 * DIAMETER**2
    beam = Beam(LENGTH, ELASTICITY, sympy.Float(second_moment_mm4(DIAMETER)))
    beam.apply_support(0, "fixed")
    beam.apply_load(sympy.Float(-weight_n_mm), 0, 0)
    beam.solve_for_reaction_loads(*reactions([(0, "fixed")]))
    wanted = abs(float(beam.deflection().subs(beam.variable, LENGTH)))
    compare("sag of 20 by 300 mm", sag_mm(LENGTH, DIAMETER), wanted, BEAMS, rel=1e-6, unit="mm")


def test_the_worst_error_of_a_bar_between_centres_is_twice_the_librarys(compare):
    wanted = 2 * library_deflection_mm("between centres", LENGTH // 2, second_moment_mm4(DIAMETER))
    bar = held_bar("between centres", bar_diameter_mm=DIAMETER, overhang_mm=LENGTH)
    compare(
        "error of diameter between centres", worst_error_mm(bar, FORCE), wanted, BEAMS, rel=1e-4, unit="mm"
    )


def test_a_printed_cantilever_of_five_inches_bends_as_printed(compare):
    """Example on a page about round beams: 15 in, 5 in across, 20 lbf, steel; 30e6 psi reckoned back."""
    psi = 0.45359237 * 9.80665 / 25.4**2
    bend = chuck_only_bend_mm(20 * psi * 25.4**2, 15 * 25.4, 5 * 25.4, elasticity_n_mm2=30e6 * psi)
    source = Source(
        EXAMPLE, "page on the deflection of solid round beams; its modulus reckoned back", EXCERPT
    )
    compare("cantilever of 15 in by 5 in, 20 lbf", bend / 25.4, 2.44461e-5, source, abs=1e-10, unit="in")
