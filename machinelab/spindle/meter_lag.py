"""What a lagging meter makes of a speed that changes: the forward model that fits compare with readings."""

import numpy as np
from scipy.signal import lfilter

# A part of the meter and brake fits: what the room offers are those.
__all__: list[str] = []

_NODES = 4096


def shown_by_a_lagging_meter(time_s, speed, lag_s, *, first_s):
    """Speed that a meter with a first-order lag shows at some times.

    Parameters
    ----------
    time_s : array of shape (readings,) [s]
        When the readings were taken; nothing changes before ``first_s``.
    speed : callable
        From times to the true speed, in any unit.
    lag_s : float [s]
        Time constant of the meter; 0 for a meter without lag.
    first_s : float [s]
        A moment at which the meter had settled.

    Returns
    -------
    array of shape (readings,)
        The shown speed, in the unit of ``speed``; exact for a speed that is straight between the nodes.
    """
    if lag_s == 0:
        return speed(time_s)
    nodes = np.linspace(first_s, max(np.max(time_s), first_s + 1e-9), _NODES)
    return np.interp(time_s, nodes, lagged_copy(speed(nodes), nodes[1] - nodes[0], lag_s))


def lagged_copy(rows, step_s, lag_s):
    """Pass evenly spaced values through lag_s * dy/dt = row - y, settled at the first, straight between."""
    ratio = step_s / lag_s
    gone = -np.expm1(-ratio)
    newer = 1 - gone / ratio
    state = [(1 - newer) * rows[0]]
    return lfilter([newer, gone - newer], [1.0, gone - 1.0], rows, zi=state)[0]
