"""What is left out of a calculation counts as its usual value: the one that is written here, and no other."""

import inspect
from math import inf

import pytest
from physics_rooms import example_inputs, public_functions, readable_name

# Steel; metric and unified threads; a square turning tool, a common drill; figures of the low-voltage rules.
USUAL = {
    "elasticity_n_mm2": 206_000.0,
    "density_kg_m3": 7850.0,
    "expansion_per_k": 11.5e-6,
    "included_angle_deg": 60.0,
    "approach_angle_deg": 90.0,
    "point_angle_deg": 118.0,
    "low_voltage_v": 60.0,
    "exempt_charge_c": 60e-6,
    "force_factor": 1.0,
    "steady_share": 0.5,
    "speed_share": 1.0,
    "clear_share": 0.99,
    "lobes": 3,
    "none_prior": 0.5,
    **dict.fromkeys(("chuck_spring_n_mm", "chuck_turning_nmm_rad", "steady_spring_n_mm", "spring_n_mm"), inf),
    **dict.fromkeys(("starts", "poles", "edges", "reading_count", "steps_on"), 1),
    **dict.fromkeys(("bore_mm", "bore_diameter_mm", "pilot_mm", "tip_flat_mm", "tip_radius_mm"), 0.0),
    **dict.fromkeys(("tool_half_width_mm", "wall_clearance_mm", "margin_mm", "spring_mm", "start_mm"), 0.0),
    **dict.fromkeys(
        ("hysteresis_mm", "scatter_mm", "last_cut_mm", "flank_effect_mm", "flank_doubt_deg"), 0.0
    ),
    **dict.fromkeys(("brush_drop_v", "viscous_per_s", "windage_per_rad", "contact_delay_s"), 0.0),
    **dict.fromkeys(("drive_release_s", "debounce_s", "measuring_force_n", "spin_up_turns"), 0.0),
}
# Tapping rubs on both flanks, and a drill is to stand a worn edge.
OF_ITS_OWN = {("tapping", "force_factor"): 1.75, ("largest_drill_mm", "force_factor"): 1.2}


def may_be_left_out(function) -> list[str]:
    given = inspect.signature(function).parameters
    return [name for name, one in given.items() if one.default is not one.empty and name in USUAL]


CASES = [
    pytest.param(function, name, id=f"{readable_name(function)}-{name}")
    for function in public_functions()
    for name in may_be_left_out(function)
]


@pytest.mark.parametrize(("function", "name"), CASES)
def test_what_is_left_out_is_taken_as_usual(function, name):
    inputs = example_inputs(function)
    inputs.pop(name)
    usual = OF_ITS_OWN.get((function.__name__, name), USUAL[name])
    assert repr(function(**inputs)) == repr(function(**inputs, **{name: usual}))
