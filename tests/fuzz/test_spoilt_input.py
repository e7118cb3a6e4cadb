"""Whatever comes in spoilt is taken or refused in words: no other error, no wait, no flood, no loss.

The whole run hands in more than 100 000 cases, the quick one some thousands; a seed makes them the same.
"""

import random
import sys
import warnings

import pytest
from fuzz.doors import DOORS
from fuzz.hand_in import handed_in
from fuzz.spoil import spoilt

SEED, MOST_BYTES = 20, 500e6
CASES_IN_ALL = 100_000

doors = pytest.mark.parametrize("door", DOORS, ids=lambda door: door.name)


def peak_bytes() -> float:
    """The most memory that this process has had, where the system tells it."""
    if sys.platform == "win32":
        return 0.0
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)


def hand_in_spoilt(door, cases: int, seed: int) -> tuple[int, float]:
    """Hand in so many spoilt ones; give how many were refused and how long the slowest took."""
    chance, good = random.Random(f"{seed} {door.name}"), door.good()
    refused, slowest_s = 0, 0.0
    for _ in range(cases):
        was_refused, seconds = handed_in(door, spoilt(chance, good))
        refused += was_refused
        slowest_s = max(slowest_s, seconds)
    return refused, slowest_s


def kept_in_bounds(door, cases: int, seed: int):
    before = peak_bytes()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        refused, slowest_s = hand_in_spoilt(door, cases, seed)
    gained = peak_bytes() - before
    print(
        f"\n{door.name}: {cases} cases, {refused} refused, slowest {1000 * slowest_s:.0f} ms, "
        f"{gained / 1e6:.0f} MB gained"
    )
    # A door at which nothing is taken has not been tried.
    assert refused < cases
    assert gained < MOST_BYTES


@doors
def test_some_spoilt_input_ends_well(door):
    kept_in_bounds(door, door.quick, SEED)


@pytest.mark.slow
@doors
def test_much_spoilt_input_ends_well(door):
    kept_in_bounds(door, door.cases, SEED + 1)


def test_the_whole_run_hands_in_more_than_100_000_cases():
    assert sum(door.cases for door in DOORS) >= CASES_IN_ALL
