"""A bar that stands out behind the headstock, and how near to its whip any bar may be turned."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive
from machinelab.work.bending import STEEL_N_MM2

__all__ = ["bow_growth", "longest_tail_mm", "tail_whip_rpm", "whip_limit_rpm"]

# First root of cos(x) cosh(x) = -1: a bar clamped at one end.
CLAMPED_ROOT = 1.875104068711961
# Common practice, no source: half of the first critical speed, less where the bar is bent or loosely held.
USUAL_SHARE, BENT_SHARE = 0.5, 0.3


def tail_whip_rpm(tail_mm, bar_diameter_mm, elasticity_n_mm2=STEEL_N_MM2, density_kg_m3=7850.0):
    """At which speed a tail of bar that stands out free begins to whip.

    Formula
    -------
    radius_of_gyration_m = bar_diameter_mm / 4000
    wave_m_s = sqrt(elasticity_n_mm2 * 1000000 / density_kg_m3)
    rate_rad_s = 1.875104068711961**2 * wave_m_s * radius_of_gyration_m / (tail_mm / 1000)**2
    tail_whip_rpm = rate_rad_s * 30 / pi

    Parameters
    ----------
    tail_mm : float or array [mm]
        From the last place that holds the bar to its free end.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.
    density_kg_m3 : float or array [kg/m3]
        Density, same table.

    Returns
    -------
    float or array [rpm]
        First critical speed; an upper bound, for no bush clamps a bar as stiffly as reckoned.

    Range
    -----
    Solid round bars; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(float(tail_whip_rpm(400, 12)))
    3225

    Source
    ------
    Cantilever's first bending frequency, any textbook on vibration.
    """
    wave_m_s = np.sqrt(
        positive("elasticity_n_mm2", elasticity_n_mm2) * 1e6 / positive("density_kg_m3", density_kg_m3)
    )
    gyration_m = positive("bar_diameter_mm", bar_diameter_mm) / 4000
    rate = CLAMPED_ROOT**2 * wave_m_s * gyration_m / (positive("tail_mm", tail_mm) / 1000) ** 2
    return rate * 30 / np.pi


def longest_tail_mm(
    speed_rpm, bar_diameter_mm, *, whip_share, elasticity_n_mm2=STEEL_N_MM2, density_kg_m3=7850.0
):
    """How far a bar may stand out free at a speed.

    Formula
    -------
    rate_rad_s = speed_rpm / whip_share * pi / 30
    wave_m_s = sqrt(elasticity_n_mm2 * 1000000 / density_kg_m3)
    longest_tail_mm = 1000 * 1.875104068711961 * sqrt(wave_m_s * bar_diameter_mm / 4000 / rate_rad_s)

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Spindle speed.
    bar_diameter_mm : float or array [mm]
        Diameter of the bar.
    whip_share : float or array [1]
        Share of the first critical speed that is allowed: 0.5, or 0.3 where the bar is bent.
    elasticity_n_mm2 : float or array [N/mm2]
        Modulus of elasticity, table ``bar_materials``.
    density_kg_m3 : float or array [kg/m3]
        Density, same table.

    Returns
    -------
    float or array [mm]
        Length of the tail; a guard or a tube is wanted all the same.

    Range
    -----
    Solid round bars; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(float(longest_tail_mm(1612.5, 12, whip_share=0.5)))
    400

    Source
    ------
    Derived here: `tail_whip_rpm` solved for the length.
    """
    rate = positive("speed_rpm", speed_rpm) / positive("whip_share", whip_share) * np.pi / 30
    wave_m_s = np.sqrt(
        positive("elasticity_n_mm2", elasticity_n_mm2) * 1e6 / positive("density_kg_m3", density_kg_m3)
    )
    return (
        1000 * CLAMPED_ROOT * np.sqrt(wave_m_s * positive("bar_diameter_mm", bar_diameter_mm) / 4000 / rate)
    )


def whip_limit_rpm(critical_speed_rpm, *, whip_share):
    """The fastest that a bar may be turned, for its whip.

    Formula
    -------
    whip_limit_rpm = whip_share * critical_speed_rpm

    Parameters
    ----------
    critical_speed_rpm : float or array [rpm]
        First critical speed, see `machinelab.work.bar.critical_speed_rpm`.
    whip_share : float or array [1]
        Share of it that is allowed.

    Returns
    -------
    float or array [rpm]
        Speed to stay below.

    Range
    -----
    Shares above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> whip_limit_rpm(3225.0, whip_share=0.5)
    1612.5

    Source
    ------
    Common practice, no source: 0.5, and 0.3 where the bar is bent or the clamping is not known.
    """
    return positive("critical_speed_rpm", critical_speed_rpm) * positive("whip_share", whip_share)


def bow_growth(whip_share):
    """How many times its bow at rest a bent bar bows at a share of its first critical speed.

    Formula
    -------
    bow_growth = 1 / (1 - whip_share**2)

    Parameters
    ----------
    whip_share : float or array [1]
        Speed over first critical speed.

    Returns
    -------
    float or array [1]
        Bow over bow at rest.

    Range
    -----
    Shares from 0 up to, but not, 1; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the share is 1 or more: there only friction would bound it.

    Examples
    --------
    >>> round(bow_growth(0.5), 3)
    1.333

    Source
    ------
    Forced vibration without damping, any textbook on vibration.
    """
    share = not_negative("whip_share", whip_share)
    if np.any(share >= 1):
        raise RangeError(f"whip_share is {whip_share}; at the critical speed itself nothing bounds the bow.")
    return 1 / (1 - share**2)
