"""How far apart each turning part of the machine prints its marks on the work."""

from dataclasses import dataclass

import numpy as np

from machinelab.ranges import positive, whole

__all__ = [
    "SCREW",
    "SPINDLE",
    "TIME",
    "DriveElement",
    "harmonics",
    "screw_locked_mm",
    "seen_along_the_bar_mm",
    "seen_spacing_mm",
    "spacing_mm",
    "spindle_locked_mm",
    "time_locked_mm",
]

SPINDLE, SCREW, TIME = "spindle", "screw", "time"
_WHOLE = 1e-9


@dataclass(frozen=True)
class DriveElement:
    """A part that can print marks, and how often it comes round.

    Parameters
    ----------
    name : str
        What it is, in the machinist's words.
    locked_to : str
        What it keeps step with: the spindle, the leadscrew, or the clock.
    rate : float [1]
        Events in a turn of the spindle, in a turn of the leadscrew, or in a second.
    rate_share : float [1]
        Standard uncertainty of the rate as a share of it: belts stretch and slip, gears do not.
    prior : float [1]
        How likely it is beside the others before anything is measured; harmonics less than their mother.
    """

    name: str
    locked_to: str
    rate: float
    rate_share: float = 0.0
    prior: float = 1.0


def spindle_locked_mm(feed_mm, orders_per_turn):
    """Distance of marks made by a part that turns with the spindle.

    Formula
    -------
    spindle_locked_mm = feed_mm / orders_per_turn

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for one turn of the spindle, or the lead of a thread.
    orders_per_turn : float or array [1]
        How often the part comes round in a turn of the spindle.

    Returns
    -------
    float or array [mm]
        Distance along the work.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> spindle_locked_mm(0.1, 2.5)
    0.04

    Source
    ------
    Derived here: the tool moves by the feed while the part comes round so many times.
    """
    return positive("feed_mm", feed_mm) / positive("orders_per_turn", orders_per_turn)


def screw_locked_mm(screw_lead_mm, orders_per_screw_turn):
    """Distance of marks made by a part that turns with the leadscrew: the same at any feed and speed.

    Formula
    -------
    screw_locked_mm = screw_lead_mm / orders_per_screw_turn

    Parameters
    ----------
    screw_lead_mm : float or array [mm]
        Lead of the leadscrew.
    orders_per_screw_turn : float or array [1]
        How often the part comes round in a turn of the screw.

    Returns
    -------
    float or array [mm]
        Distance along the work.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> screw_locked_mm(3, 2)
    1.5

    Source
    ------
    Derived here: the carriage moves by the lead while the part comes round so many times.
    """
    return positive("screw_lead_mm", screw_lead_mm) / positive("orders_per_screw_turn", orders_per_screw_turn)


def time_locked_mm(feed_mm, speed_rpm, frequency_hz):
    """Distance of marks made by something that keeps its own time: the mains, the drive, a ringing tool.

    Formula
    -------
    time_locked_mm = feed_mm * speed_rpm / (60 * frequency_hz)

    Parameters
    ----------
    feed_mm : float or array [mm]
        Feed for one turn of the spindle.
    speed_rpm : float or array [rpm]
        Spindle speed.
    frequency_hz : float or array [Hz]
        Events each second.

    Returns
    -------
    float or array [mm]
        Distance along the work.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> time_locked_mm(0.1, 600, 100)
    0.01

    Source
    ------
    Derived here: travel a second over events a second.
    """
    travel = positive("feed_mm", feed_mm) * positive("speed_rpm", speed_rpm)
    return travel / (60 * positive("frequency_hz", frequency_hz))


def seen_along_the_bar_mm(spacing_mm, feed_mm):
    """The distance at which marks seem to stand along one line of the work, passed once a turn.

    Marks closer than two feeds are sampled too seldom: they seem to stand further apart than they do, and
    marks that come a whole number of times in a turn do not show along the bar at all.

    Formula
    -------
    times = feed_mm / spacing_mm
    seen_along_the_bar_mm = feed_mm / abs(times - floor(times + 1/2))

    Parameters
    ----------
    spacing_mm : float or array [mm]
        True distance of the marks along the tool's path.
    feed_mm : float or array [mm]
        Feed for one turn of the spindle.

    Returns
    -------
    float or array [mm]
        Distance as seen; infinite where nothing shows.

    Range
    -----
    Both above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> round(float(seen_along_the_bar_mm(0.1 / 2.05, 0.1)), 6)
    2.0

    Source
    ------
    Sampling theorem, textbook: frequencies fold about whole multiples of the sampling frequency.
    """
    feed = np.asarray(positive("feed_mm", feed_mm), dtype=float)
    times = feed / positive("spacing_mm", spacing_mm)
    left = np.abs(times - np.floor(times + 0.5))
    with np.errstate(divide="ignore"):
        return np.where(left < _WHOLE * np.maximum(times, 1), np.inf, feed / left)[()]


def spacing_mm(element: DriveElement, *, feed_mm, speed_rpm, screw_lead_mm):
    """How far apart one part of the machine prints its marks, at a feed and a speed.

    Formula
    -------
    none: `spindle_locked_mm`, `screw_locked_mm` or `time_locked_mm`, by what the part keeps step with

    Parameters
    ----------
    element : DriveElement
        The part.
    feed_mm : float or array [mm]
        Feed for one turn of the spindle.
    speed_rpm : float or array [rpm]
        Spindle speed.
    screw_lead_mm : float or array [mm]
        Lead of the leadscrew.

    Returns
    -------
    float or array [mm]
        True distance along the tool's path.

    Range
    -----
    All above zero.

    Raises
    ------
    RangeError
        If an input is zero or negative.

    Examples
    --------
    >>> screw = DriveElement("leadscrew", SCREW, 1.0)
    >>> spacing_mm(screw, feed_mm=0.1, speed_rpm=300, screw_lead_mm=3.0)
    3.0

    Source
    ------
    See the three functions.
    """
    if element.locked_to == SPINDLE:
        return spindle_locked_mm(feed_mm, element.rate)
    if element.locked_to == SCREW:
        return screw_locked_mm(screw_lead_mm, element.rate)
    return time_locked_mm(feed_mm, speed_rpm, element.rate)


def seen_spacing_mm(element: DriveElement, *, feed_mm, speed_rpm, screw_lead_mm):
    """How far apart the marks of one part are seen along the bar, at a feed and a speed.

    Formula
    -------
    none: `seen_along_the_bar_mm` of `spacing_mm`; the groove of the feed itself stands at every feed

    Parameters
    ----------
    element : DriveElement
        The part.
    feed_mm : float or array [mm]
        Feed for one turn of the spindle.
    speed_rpm : float or array [rpm]
        Spindle speed.
    screw_lead_mm : float or array [mm]
        Lead of the leadscrew.

    Returns
    -------
    float or array [mm]
        Distance as seen; infinite where nothing shows.

    Range
    -----
    All above zero.

    Raises
    ------
    RangeError
        If an input is zero or negative.

    Examples
    --------
    >>> seen_spacing_mm(DriveElement("feed", SPINDLE, 1.0), feed_mm=0.1, speed_rpm=300, screw_lead_mm=3.0)
    0.1

    Source
    ------
    See `seen_along_the_bar_mm`.
    """
    cut = {"feed_mm": feed_mm, "speed_rpm": speed_rpm, "screw_lead_mm": screw_lead_mm}
    true = spacing_mm(element, **cut)
    # The groove is what the other marks are sampled by, and no sample of anything itself.
    return (
        true if element.locked_to == SPINDLE and element.rate == 1 else seen_along_the_bar_mm(true, feed_mm)
    )


def harmonics(element: DriveElement, highest) -> list[DriveElement]:
    """The part itself and what comes two, three ... times for each of its turns, less and less likely.

    Formula
    -------
    none: rates times 1, 2, ... and priors over 1, 2, ...

    Parameters
    ----------
    element : DriveElement
        The part.
    highest : int [1]
        Most events in a turn of the part.

    Returns
    -------
    list of DriveElement
        The part itself first.

    Range
    -----
    One or more.

    Raises
    ------
    RangeError
        If the number is not a whole one from 1 up.

    Examples
    --------
    >>> [one.rate for one in harmonics(DriveElement("belt", SPINDLE, 0.5), 2)]
    [0.5, 1.0]

    Source
    ------
    Derived here; that harmonics are less likely is common practice, no source.
    """
    return [
        DriveElement(
            name=element.name if order == 1 else f"{element.name}, {order} a turn",
            locked_to=element.locked_to,
            rate=element.rate * order,
            rate_share=element.rate_share,
            prior=element.prior / order,
        )
        for order in range(1, whole("highest", highest) + 1)
    ]
