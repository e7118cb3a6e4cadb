"""Torques in words for either kind of shop: newton metres and inch pounds side by side."""

from machinelab.units import number

LBF_IN_NM = number("1 lbf in", "N m")


def torque_words(torque_nm: float) -> str:
    """Write a torque in both units, no finer than anybody needs.

    Examples
    --------
    >>> torque_words(3.6), torque_words(0.2), torque_words(11.3)
    ('3.6 N m · 32 lbf in', '0.2 N m · 1.8 lbf in', '11 N m · 100 lbf in')
    """
    return f"{_short(float(torque_nm))} N m · {_short(float(torque_nm) / LBF_IN_NM)} lbf in"


def _short(torque: float) -> str:
    """Whole from ten on, a tenth from one on, below that two figures that count."""
    if abs(torque) >= 1:
        return f"{torque:.{0 if abs(torque) >= 10 else 1}f}"
    return f"{torque:.2g}"
