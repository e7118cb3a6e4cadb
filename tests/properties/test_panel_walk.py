"""What the search calls kept, a hundred thousand random actions never see broken."""

import tomllib
from pathlib import Path

import pytest
from simulate.panel_walk import Walk

from machinelab.controls.explore import explore
from machinelab.controls.panel_reading import read_panel

DATA = Path(__file__).resolve().parents[1] / "outside" / "data"
SEEN = ("R1", "R1b", "R2", "R2c", "R3", "R4", "R5", "R6", "R7", "R8", "R9")


def described(name):
    return tomllib.loads((DATA / f"panel_{name}.toml").read_text())


@pytest.mark.slow
@pytest.mark.parametrize("name", ["as_found", "careful"])
def test_a_hundred_thousand_random_actions_break_no_rule_that_the_search_calls_kept(name):
    box = described(name)
    found = explore(read_panel(box))
    walk = Walk(box, seed=7)
    seen = walk.play(100_000)
    assert found.finished
    assert [rule for rule in SEEN if seen[rule] and found.verdict(rule) != "broken"] == []
    assert walk.begun > 3_000, "the player must have got the box to run"


@pytest.mark.slow
def test_the_player_sees_most_of_what_is_wrong_with_the_box_as_found():
    seen = Walk(described("as_found"), seed=3).play(20_000)
    assert set(seen) >= {"R1", "R2c", "R3", "R4", "R5", "R6", "R7", "R8", "R9"}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("contact", "relay"),
    [
        ("K1_b", "K1"),
        ("KM_n", "KM"),
        ("KM_m", "KM"),
        ("K0_a", "K0"),
        ("KS_m", "KS"),
        ("K1_t", "K1"),
    ],
)
def test_a_box_with_one_contact_taken_for_its_opposite_is_judged_alike_by_both(contact, relay):
    box = described("careful")
    said = box["relay"][relay]
    here, there = ("no", "nc") if contact in said.get("no", ()) else ("nc", "no")
    said[here] = [name for name in said[here] if name != contact]
    said[there] = [*said.get(there, []), contact]
    found = explore(read_panel(box))
    seen = Walk(box, seed=11).play(20_000)
    assert [rule for rule in SEEN if seen[rule] and found.verdict(rule) != "broken"] == []
