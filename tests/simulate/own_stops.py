"""Twenty stops on scrap by one hand, read off a tape round the chuck; INVENTED, as the demo machine is.

The machine stops as an ODE solver says, with the late contact that the demo has.
"""

import numpy as np
from simulate.brake_log import ANGLE, BrakedTruth
from simulate.coast_log import Truth

DEMO = BrakedTruth(Truth(1200, 3.1, 0.021, 9e-5), 0.864, 1.2, 12.0, 2.0, 0.045, contact_delay_s=0.17)
SEED = 1910
SPEED_RPM, STOPS, MEDIAN_S, SPREAD, SPEED_SHARE = 80.0, 20, 0.33, 0.19, 0.01
# A paper tape round the chuck with a hundred divisions.
DIVISION_TURNS = 0.01


def stops_past_mark(seed=SEED):
    """Turns past the mark of each stop, to the nearest division."""
    chance = np.random.default_rng(seed)
    reactions_s = chance.lognormal(np.log(MEDIAN_S), SPREAD, STOPS)
    speeds = SPEED_RPM * (1 + SPEED_SHARE * chance.standard_normal(STOPS))
    run_on = np.array([DEMO.stop(speed)[1][ANGLE] / (2 * np.pi) for speed in speeds])
    turns = speeds / 60 * reactions_s + run_on
    return np.round(turns / DIVISION_TURNS) * DIVISION_TURNS


def as_typed(turns):
    """One stop a line, as a person types them."""
    return "\n".join(f"{one:.2f}" for one in turns)


if __name__ == "__main__":
    print(as_typed(stops_past_mark()))
