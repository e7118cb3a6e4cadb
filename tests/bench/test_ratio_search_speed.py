"""The search for a gear ratio against trying every fraction, side by side, with the same answers."""

import timeit
from fractions import Fraction

import pytest

from machinelab.leadscrew.gearing import nearest_ratio, steps_per_count
from machinelab.leadscrew.lead import diametral_pitch_lead_mm, module_lead_mm, pitch_lead_mm, tpi_lead_mm

pytestmark = pytest.mark.bench

# The invented demo machine: 8 tpi screw, 4000 steps a turn, 2700 counts a turn of the spindle.
THREADS = [
    *(module_lead_mm(Fraction(module)) for module in ("1/2", "7/10", "1", "3/2")),
    *(diametral_pitch_lead_mm(pitch) for pitch in (16, 24, 32)),
    *(tpi_lead_mm(Fraction(tpi)) for tpi in ("23/2", "19", "26", "27")),
    *(pitch_lead_mm(Fraction(pitch)) for pitch in ("3/4", "1", "7/4")),
]
RATIOS = [steps_per_count(lead, Fraction(127, 40), 4000, 2700) for lead in THREADS]


def every_pair(ratio, top, bottom):
    wanted = float(ratio)
    pairs = ((abs(p / q - wanted), q, p) for q in range(1, bottom + 1) for p in range(1, top + 1))
    _, denominator, numerator = min(pairs)
    return Fraction(numerator, denominator)


def every_denominator(ratio, top, bottom):
    wanted = float(ratio)
    tries = ((min(max(round(wanted * q), 1), top), q) for q in range(1, bottom + 1))
    return Fraction(*min(tries, key=lambda pq: abs(pq[0] / pq[1] - wanted)))


def best_ms(search, limit, runs):
    return 1000 * min(
        timeit.repeat(lambda: [search(ratio, limit, limit) for ratio in RATIOS], number=1, repeat=runs)
    )


@pytest.mark.parametrize(
    ("usual_way", "limit", "times"),
    [(every_pair, 255, 100), (every_denominator, 255, 2), (every_denominator, 65535, 300)],
)
def test_the_search_gives_what_trying_every_fraction_gives_and_far_sooner(usual_way, limit, times, figures):
    assert [nearest_ratio(one, limit, limit) for one in RATIOS] == [
        usual_way(one, limit, limit) for one in RATIOS
    ]
    ours, usual = best_ms(nearest_ratio, limit, runs=20), best_ms(usual_way, limit, runs=2)
    tried = usual_way.__name__.replace("_", " ")
    figures.add(
        f"{len(RATIOS)} gear ratios within {limit}, beside {tried}",
        ours,
        "ms",
        wanted=f"{times} times quicker",
        usual=f"{tried} tried",
        usual_value=usual,
    )
    assert usual > times * ours
