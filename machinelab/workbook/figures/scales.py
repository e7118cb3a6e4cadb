"""Where an axis ends: on a coarse scale, so that the frame stands still while a control is moved."""

import numpy as np

STEPS = (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)


def rounded_up(value: float) -> float:
    """Give the next step of the coarse scale, at most a third more than the value, which is positive."""
    decade = 10 ** np.floor(np.log10(value))
    return next(float(step * decade) for step in STEPS if step * decade >= value * (1 - 1e-9))
