"""What differs from pass to pass besides the hand: speed, contact, a brake that warms, oil that thins."""

from dataclasses import dataclass, replace

import numpy as np

from machinelab.ranges import not_negative, whole
from machinelab.threads.shoulder_stop import Stopping

__all__ = ["PassDoubts", "PassDraws", "draw_passes"]


@dataclass(frozen=True)
class PassDoubts:
    """How much a pass differs from the next.

    Parameters
    ----------
    speed_sd_share : float [1]
        Standard deviation of the speed over the speed; 0.01 to 0.03 for a knob (common practice, no source).
    contact_delay_sd_s : float [s]
        Standard deviation of the contact's delay; 2 to 5 ms for a relay (common practice, no source).
    hot_brake_share : float [1]
        How much longer the time constant of the hot brake is, at the most: 0.1 to 0.3 (common practice, no
        source). Each pass has a share of it between none and all.
    friction_sd_share : float [1]
        Standard deviation of the logarithm of the friction. Cold oil makes twice the friction of warm
        (common practice, no source), which shortens the stop.

    Source
    ------
    See `draw_passes`.
    """

    speed_sd_share: float = 0.02
    contact_delay_sd_s: float = 0.004
    hot_brake_share: float = 0.2
    friction_sd_share: float = 0.1


@dataclass(frozen=True)
class PassDraws:
    """Speeds and stops of many passes.

    Parameters
    ----------
    speed_share : array [1]
        Speed of each pass over the speed set.
    stopping : Stopping
        What ends each pass, arrays throughout.

    Source
    ------
    See `draw_passes`.
    """

    speed_share: np.ndarray
    stopping: Stopping


def draw_passes(chance, *, draws, stopping, doubts) -> PassDraws:
    """Draw speeds and stops of many passes.

    Formula
    -------
    none: random numbers, normal for speed and contact, even for the warm brake, log-normal for friction

    Parameters
    ----------
    chance : numpy.random.Generator
        Where the random numbers come from.
    draws : int [1]
        How many.
    stopping : Stopping
        What ends a pass on paper: cold brake, warm oil.
    doubts : PassDoubts
        How much it differs.

    Returns
    -------
    PassDraws
        The draws.

    Range
    -----
    One pass at least, doubts from zero up.

    Raises
    ------
    RangeError
        If a number is out of range.

    Examples
    --------
    >>> drawn = draw_passes(
    ...     np.random.default_rng(1),
    ...     draws=10_000,
    ...     stopping=Stopping(coulomb_rad_s2=3.0),
    ...     doubts=PassDoubts(),
    ... )
    >>> round(float(drawn.speed_share.std()), 3)
    0.02

    Source
    ------
    Judgement; the shares are common practice, no source.
    """
    count = whole("draws", draws)
    late_s = chance.normal(0.0, not_negative("contact_delay_sd_s", doubts.contact_delay_sd_s), count)
    longer = 1 + chance.uniform(0.0, 1.0, count) * not_negative("hot_brake_share", doubts.hot_brake_share)
    friction = chance.lognormal(0.0, not_negative("friction_sd_share", doubts.friction_sd_share), count)
    speeds = chance.normal(1.0, not_negative("speed_sd_share", doubts.speed_sd_share), count)
    return PassDraws(
        np.maximum(speeds, 0.0),
        replace(
            stopping,
            contact_delay_s=np.maximum(stopping.contact_delay_s + late_s, 0.0),
            brake_drag_per_s=stopping.brake_drag_per_s / longer,
            coulomb_rad_s2=stopping.coulomb_rad_s2 * friction,
            viscous_per_s=stopping.viscous_per_s * friction,
            windage_per_rad=stopping.windage_per_rad * friction,
        ),
    )
