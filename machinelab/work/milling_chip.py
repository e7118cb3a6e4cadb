"""The chip of a milling cutter's tooth: thinner in a narrow cut, thicker where the cutter runs out."""

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole

__all__ = ["feed_per_tooth_mm", "heaviest_tooth_mm", "nearly_mean_chip_mm", "peak_chip_mm", "tooth_feed_mm"]


def feed_per_tooth_mm(feed_mm_min, *, speed_rpm, cutter_teeth):
    """How far the work moves for each tooth.

    Formula
    -------
    feed_per_tooth_mm = feed_mm_min / (speed_rpm * cutter_teeth)

    Parameters
    ----------
    feed_mm_min : float or array [mm/min]
        Travel of the table.
    speed_rpm : float or array [rpm]
        Speed of the cutter.
    cutter_teeth : int [tooth]
        Teeth of the cutter.

    Returns
    -------
    float or array [mm]
        Feed for each tooth; below 0.005 to 0.01 mm it rubs (common practice, no source).

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the speed is not above zero or the teeth are no whole number.

    Examples
    --------
    >>> feed_per_tooth_mm(48, speed_rpm=800, cutter_teeth=3)
    0.02

    Source
    ------
    Derived here: travel over the teeth that pass meanwhile.
    """
    return feed_mm_min / (positive("speed_rpm", speed_rpm) * whole("cutter_teeth", cutter_teeth))


def peak_chip_mm(feed_per_tooth_mm, *, width_mm, diameter_mm):
    """How thick a tooth's chip becomes at most; less than the feed when the cut is narrow.

    Formula
    -------
    share = width_mm / diameter_mm
    peak_chip_mm = feed_per_tooth_mm * (2 * sqrt(share * (1 - share)) if share < 1/2 else 1)

    Parameters
    ----------
    feed_per_tooth_mm : float or array [mm]
        Feed for each tooth.
    width_mm : float or array [mm]
        Width of the cut, across the cutter.
    diameter_mm : float or array [mm]
        Diameter of the cutter.

    Returns
    -------
    float or array [mm]
        Thickest part of the chip.

    Range
    -----
    A cutter that stands square to the work; widths up to its diameter. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the cut is wider than the cutter.

    Examples
    --------
    >>> round(float(peak_chip_mm(1, width_mm=1, diameter_mm=10)), 3)
    0.6

    Source
    ------
    Derived here: the tooth's way across the feed where it enters or leaves.
    """
    share = width_share(width_mm, diameter_mm)
    narrow = 2 * np.sqrt(share * (1 - share))
    return positive("feed_per_tooth_mm", feed_per_tooth_mm) * np.where(share >= 0.5, 1.0, narrow)


def nearly_mean_chip_mm(feed_per_tooth_mm, *, width_mm, diameter_mm):
    """How thick a tooth's chip is on average in a narrow cut, by the shop formula.

    Formula
    -------
    nearly_mean_chip_mm = feed_per_tooth_mm * sqrt(width_mm / diameter_mm)

    Parameters
    ----------
    feed_per_tooth_mm : float or array [mm]
        Feed for each tooth.
    width_mm : float or array [mm]
        Width of the cut, across the cutter.
    diameter_mm : float or array [mm]
        Diameter of the cutter.

    Returns
    -------
    float or array [mm]
        Mean chip; exact in `machinelab.work.rotating_tools.milling`.

    Range
    -----
    Cuts up to a third of the diameter, within 7 %; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the cut is wider than the cutter.

    Examples
    --------
    >>> round(float(nearly_mean_chip_mm(0.05, width_mm=1, diameter_mm=10)), 4)
    0.0158

    Source
    ------
    Textbook approximation of the mean along the arc.
    """
    return positive("feed_per_tooth_mm", feed_per_tooth_mm) * np.sqrt(width_share(width_mm, diameter_mm))


def tooth_feed_mm(peak_chip_mm, *, width_mm, diameter_mm):
    """Which feed for each tooth makes a chip so thick at its thickest.

    A narrow cut bears a coarser feed, as long as the cutter runs true: see `heaviest_tooth_mm`.

    Formula
    -------
    share = width_mm / diameter_mm
    tooth_feed_mm = peak_chip_mm / (2 * sqrt(share * (1 - share)) if share < 1/2 else 1)

    Parameters
    ----------
    peak_chip_mm : float or array [mm]
        Wanted thickness of the chip.
    width_mm : float or array [mm]
        Width of the cut, across the cutter.
    diameter_mm : float or array [mm]
        Diameter of the cutter.

    Returns
    -------
    float or array [mm]
        Feed for each tooth.

    Range
    -----
    Widths up to the diameter; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the cut is wider than the cutter.

    Examples
    --------
    >>> round(float(tooth_feed_mm(0.03, width_mm=1, diameter_mm=10)), 3)
    0.05

    Source
    ------
    Derived here: `peak_chip_mm` solved for the feed.
    """
    return positive("peak_chip_mm", peak_chip_mm) / _thinning(width_mm, diameter_mm)


def heaviest_tooth_mm(feed_per_tooth_mm, *, runout_mm, cutter_teeth):
    """How much the foremost tooth of a cutter that runs out takes.

    With runout above the feed for each tooth one tooth alone cuts, and takes the feed of all.

    Formula
    -------
    heaviest_tooth_mm = min(feed_per_tooth_mm + runout_mm, cutter_teeth * feed_per_tooth_mm)

    Parameters
    ----------
    feed_per_tooth_mm : float or array [mm]
        Feed for each tooth.
    runout_mm : float or array [mm]
        Total reading of an indicator at the cutter.
    cutter_teeth : int [tooth]
        Teeth of the cutter.

    Returns
    -------
    float or array [mm]
        Feed that the foremost tooth takes.

    Range
    -----
    Exact for two teeth, the worst case for more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the feed is not above zero, the runout less than zero, or the teeth no whole number.

    Examples
    --------
    >>> round(float(heaviest_tooth_mm(0.02, runout_mm=0.05, cutter_teeth=2)), 3)
    0.04

    Source
    ------
    Derived here: two opposite teeth differ in radius by the whole reading.
    """
    feed = positive("feed_per_tooth_mm", feed_per_tooth_mm)
    alone = whole("cutter_teeth", cutter_teeth) * feed
    return np.minimum(feed + not_negative("runout_mm", runout_mm), alone)


def _thinning(width_mm, diameter_mm):
    """Thickest chip over the feed for each tooth."""
    return peak_chip_mm(1.0, width_mm=width_mm, diameter_mm=diameter_mm)


def width_share(width_mm, diameter_mm):
    """Width of a cut over the cutter's diameter; a cut wider than the cutter is refused."""
    width, across = (
        np.asarray(positive(name, length_mm), dtype=float)
        for name, length_mm in (("width_mm", width_mm), ("diameter_mm", diameter_mm))
    )
    share = width / across
    if np.any(share > 1):
        raise RangeError(
            f"width_mm is {np.nanmax(width):g}, more than the cutter's {np.nanmin(across):g} mm."
        )
    return share
