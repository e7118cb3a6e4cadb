"""What may be left out of a calculation of leadscrews and threads is taken as its own page says."""

import inspect
import pickle
from math import inf

import pytest
from physics_rooms import example_inputs, public_functions, readable_name

NOTHING = (
    *("tip_flat_mm", "tip_radius_mm", "spring_mm", "margin_mm", "start_mm", "flank_effect_mm", "last_cut_mm"),
    *("tool_half_width_mm", "wall_clearance_mm", "spin_up_turns", "lowest_speed_rpm", "reaction_s"),
    *("brush_drop_v", "drive_release_s", "contact_delay_s", "viscous_per_s", "windage_per_rad"),
    *("flank_doubt_deg", "measuring_force_n"),
)
# Numbers and words that stand for what nobody says; what is None or empty is told of in tests of its own.
TAKEN = {
    **dict.fromkeys(NOTHING, 0.0),
    "spring_passes": 0,
    "included_angle_deg": 60.0,
    "starts": 1,
    "pairs": 2,
    "turns": 3,
    "per_turn": 8,
    "word_bits": 32,
    "expansion_per_k": 11.5e-6,
    "density_kg_m3": 7850.0,
    "band_share": 0.2,
    "speed_share": 1.0,
    "clear_share": 0.99,
    "highest_travel_mm_s": inf,
    "groove": "regular",
    "form": "metric",
}
# So that it makes a difference: a push on the wires, flanks in doubt, wires that are not the best.
INSTEAD_OF_THE_EXAMPLES = {"measuring_force_n": 8.0, "wire_mm": 0.95, "flank_doubt_deg": 0.5}


def left_out() -> list:
    return [
        (function, name)
        for function in public_functions()
        if function.__module__.split(".")[1] in ("leadscrew", "threads")
        for name, parameter in inspect.signature(function).parameters.items()
        if parameter.default not in (parameter.empty, None, "")
        and parameter.annotation is parameter.empty
        and name != "taper"
    ]


@pytest.mark.parametrize(
    ("function", "name"),
    left_out(),
    ids=lambda of: of if isinstance(of, str) else readable_name(of),
)
def test_what_is_left_out_is_taken_as_its_page_says(function, name):
    def found(**said):
        inputs = example_inputs(function)
        inputs |= {other: value for other, value in INSTEAD_OF_THE_EXAMPLES.items() if other in inputs}
        del inputs[name]
        return pickle.dumps(function(**inputs, **said))

    assert found() == found(**{name: TAKEN[name]})
