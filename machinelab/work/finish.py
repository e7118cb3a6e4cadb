"""The finish that a tool with a rounded nose leaves: ridges as wide as the feed, as high as the nose allows.

What is reckoned here is the least that a feed can leave. Below 30 to 50 m/min a built-up edge, and at any
speed chatter, leave 1.5 to 3 times as much (common practice, no source), so a light lathe with high-speed
steel hardly ever reaches the reckoned figure in steel.
"""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import positive

__all__ = [
    "ExpectedRoughness",
    "expected_roughness",
    "feed_for_finish_mm",
    "largest_finish_feed_mm",
    "mean_roughness_um",
    "nearly_mean_roughness_um",
    "nearly_peak_to_valley_um",
    "peak_to_valley_um",
]

# Feed over nose radius up to which the nose alone shapes the ridges; common practice, no source.
LARGEST_FEED_SHARE = 0.8
# Below this speed chips weld to the edge and tear; common practice, no source: between 30 and 50 m/min.
BUILT_UP_BELOW_M_MIN = 50.0
BUILT_UP_FACTORS = (1.5, 3.0)
# Chips thinner than this are squeezed rather than cut; common practice, no source.
RUBS_BELOW_MM = {"high-speed steel": 0.03, "carbide": 0.05}


@dataclass(frozen=True)
class ExpectedRoughness:
    """Between which figures the mean roughness of a real cut is likely to lie.

    Parameters
    ----------
    least_roughness_um : float or array [um]
        When the tool is keen and nothing shakes.
    most_roughness_um : float or array [um]
        With a built-up edge; no worse than this unless something is wrong.
    """

    least_roughness_um: float
    most_roughness_um: float


def peak_to_valley_um(feed_mm, *, nose_radius_mm):
    """How high the ridges are that a feed leaves, from valley to peak (Rt).

    Formula
    -------
    peak_to_valley_um = 1000 * (nose_radius_mm - sqrt(nose_radius_mm**2 - feed_mm**2 / 4))

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for each turn.
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [um]
        Height of the ridges.

    Range
    -----
    Feeds up to about 0.8 of the nose radius, beyond it the straight edges cut too; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the feed is more than twice the radius.

    Examples
    --------
    >>> round(float(peak_to_valley_um(0.1, nose_radius_mm=0.4)), 3)
    3.137

    Source
    ------
    Derived here: two circles side by side meet at that height.
    """
    feed, radius = _feed_and_radius(feed_mm, nose_radius_mm)
    return 1000 * (radius - np.sqrt(radius**2 - feed**2 / 4))


def nearly_peak_to_valley_um(feed_mm, *, nose_radius_mm):
    """The same by the shop formula, a trifle low.

    Formula
    -------
    nearly_peak_to_valley_um = 1000 * feed_mm**2 / (8 * nose_radius_mm)

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for each turn.
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [um]
        Height of the ridges.

    Range
    -----
    Feeds up to about 0.8 of the nose radius, where it is 4 % low; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the feed is more than twice the radius.

    Examples
    --------
    >>> round(float(nearly_peak_to_valley_um(0.1, nose_radius_mm=0.4)), 3)
    3.125

    Source
    ------
    Textbook: the circle taken as a parabola.
    """
    feed, radius = _feed_and_radius(feed_mm, nose_radius_mm)
    return 1000 * feed**2 / (8 * radius)


def mean_roughness_um(feed_mm, *, nose_radius_mm):
    """The mean roughness (Ra) that a feed leaves at the least.

    Formula
    -------
    mean_roughness_um = 1000 * feed_mm**2 / (18 * sqrt(3) * nose_radius_mm)

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for each turn.
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [um]
        Mean distance of the ridges from their middle line; 1 um is 39.4 microinches.

    Range
    -----
    Feeds up to about 0.8 of the nose radius, where it is 5 % low; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the feed is more than twice the radius.

    Examples
    --------
    >>> round(float(mean_roughness_um(0.2, nose_radius_mm=0.8)), 3)
    1.604

    Source
    ------
    Derived here: mean deviation of a row of parabolas from their middle line.
    """
    feed, radius = _feed_and_radius(feed_mm, nose_radius_mm)
    return 1000 * feed**2 / (18 * np.sqrt(3) * radius)


def nearly_mean_roughness_um(feed_mm, *, nose_radius_mm):
    """The same by the formula of many handbooks: a quarter of the height.

    Formula
    -------
    nearly_mean_roughness_um = 1000 * feed_mm**2 / (32 * nose_radius_mm)

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for each turn.
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [um]
        Mean roughness, 3 % lower than `mean_roughness_um`.

    Range
    -----
    Feeds up to about 0.8 of the nose radius; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a length is not above zero, or the feed is more than twice the radius.

    Examples
    --------
    >>> round(float(nearly_mean_roughness_um(0.1, nose_radius_mm=0.4)), 3)
    0.781

    Source
    ------
    Textbook.
    """
    return nearly_peak_to_valley_um(feed_mm, nose_radius_mm=nose_radius_mm) / 4


def feed_for_finish_mm(mean_roughness_um, *, nose_radius_mm):
    """The coarsest feed that could leave a wanted mean roughness.

    Formula
    -------
    feed_for_finish_mm = sqrt(18 * sqrt(3) * nose_radius_mm * mean_roughness_um / 1000)

    Parameters
    ----------
    mean_roughness_um : float or array [um]
        Wanted mean roughness (Ra).
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [mm]
        Feed for each turn.

    Range
    -----
    Results up to about 0.8 of the nose radius; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> round(float(feed_for_finish_mm(1.604, nose_radius_mm=0.8)), 3)
    0.2

    Source
    ------
    Derived here: `mean_roughness_um` solved for the feed.
    """
    wanted = positive("mean_roughness_um", mean_roughness_um)
    return np.sqrt(18 * np.sqrt(3) * positive("nose_radius_mm", nose_radius_mm) * wanted / 1000)


def largest_finish_feed_mm(nose_radius_mm):
    """Up to which feed the nose alone shapes the finish.

    Formula
    -------
    largest_finish_feed_mm = 4/5 * nose_radius_mm

    Parameters
    ----------
    nose_radius_mm : float or array [mm]
        Radius of the tool's nose.

    Returns
    -------
    float or array [mm]
        Feed for each turn.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the radius is not above zero.

    Examples
    --------
    >>> largest_finish_feed_mm(0.5)
    0.4

    Source
    ------
    Common practice, no source.
    """
    return LARGEST_FEED_SHARE * positive("nose_radius_mm", nose_radius_mm)


def expected_roughness(mean_roughness_um, *, cutting_speed_m_min) -> ExpectedRoughness:
    """Between which figures the roughness of a real cut is likely to lie.

    Formula
    -------
    result.least_roughness_um = (3/2 if cutting_speed_m_min < 50 else 1) * mean_roughness_um
    result.most_roughness_um = 3 * mean_roughness_um

    Parameters
    ----------
    mean_roughness_um : float or array [um]
        Mean roughness by feed and nose, see `mean_roughness_um`.
    cutting_speed_m_min : float or array [m/min]
        Cutting speed.

    Returns
    -------
    ExpectedRoughness
        Least and most.

    Range
    -----
    Steel and other metals that weld to the edge; brass and grey iron do better. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> found = expected_roughness(1.6, cutting_speed_m_min=28)
    >>> round(float(found.least_roughness_um), 2), round(float(found.most_roughness_um), 2)
    (2.4, 4.8)

    Source
    ------
    Common practice, no source: 1.5 to 3 times the reckoned figure below 30 to 50 m/min.
    """
    reckoned = positive("mean_roughness_um", mean_roughness_um)
    speed = np.asarray(positive("cutting_speed_m_min", cutting_speed_m_min))
    least, most = BUILT_UP_FACTORS
    factor = np.where(speed < BUILT_UP_BELOW_M_MIN, least, 1.0)
    known = np.where(np.isnan(speed), np.nan, 1.0)
    return ExpectedRoughness(known * factor * reckoned, known * most * reckoned)


def _feed_and_radius(feed_mm, nose_radius_mm):
    feed, radius = positive("feed_mm", feed_mm), positive("nose_radius_mm", nose_radius_mm)
    if np.any(np.asarray(feed) > 2 * np.asarray(radius)):
        raise RangeError(
            f"feed_mm is {np.nanmax(feed):g}, more than twice the nose radius of {np.nanmin(radius):g} mm; "
            "the nose leaves gaps. Type a smaller feed or a larger radius."
        )
    return feed, radius
