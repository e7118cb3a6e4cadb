"""Square or not: the mill head over its table, the cross slide to the spindle, and what a cut shows of it."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, fit_with_known_sd
from machinelab.ranges import not_negative, positive

__all__ = ["Tram", "cross_slide_mm_m", "dish_mm", "face_hollow_mm", "step_mm", "tram"]

FEWEST = 4
WIDEST_GAP_DEG = 130.0


@dataclass(frozen=True)
class Tram:
    """How the mill spindle leans, from a dial swept over the table.

    Right is the side of rising X, back that of rising Y; the head leans towards the side where the dial reads
    more because the table stands nearer.

    Parameters
    ----------
    lean_right_mm_m : Estimate [mm/m]
        Lean of the spindle in the vertical plane along X.
    lean_back_mm_m : Estimate [mm/m]
        Lean in the vertical plane along Y.
    total_mm : float [mm]
        Highest less lowest reading of the sweep.
    high_deg : float [deg]
        Where the reading is highest, counted from right (0) over back (90).
    uneven_mm : float [mm]
        Largest part of a reading that no lean explains: the table is not flat, or a chip lies there.
    """

    lean_right_mm_m: Estimate
    lean_back_mm_m: Estimate
    total_mm: float
    high_deg: float
    uneven_mm: float


def tram(angle_deg, reading_mm, *, sweep_radius_mm, reading_sd_mm) -> Tram:
    """How far the mill spindle is out of square with the table, from a swept dial.

    Formula
    -------
    none: linear least squares of reading = mean + radius * (right * cos(angle) + back * sin(angle))

    Parameters
    ----------
    angle_deg : array of shape (readings,) [deg]
        Where the dial stood: 0 right, 90 back, 180 left, 270 front.
    reading_mm : array of shape (readings,) [mm]
        What it showed; more where the table is nearer.
    sweep_radius_mm : float [mm]
        From the spindle's axis to the dial's tip.
    reading_sd_mm : float [mm]
        Standard uncertainty of one reading, see `machinelab.accuracy.indicator.reading_sd_mm`.

    Returns
    -------
    Tram
        Lean in two directions with intervals, and how uneven the table is.

    Range
    -----
    At least four readings with no gap wider than a third of a turn.

    Raises
    ------
    RangeError
        If there are too few or they lie on one side.

    Examples
    --------
    >>> found = tram([0, 90, 180, 270], [0.025, 0.0, -0.025, 0.0], sweep_radius_mm=100, reading_sd_mm=0.003)
    >>> round(found.lean_right_mm_m.value, 6), round(found.lean_back_mm_m.value, 6)
    (0.25, 0.0)

    Source
    ------
    Derived here: a leaning axis makes the swept dial rise and fall once a turn.
    """
    radius = float(positive("sweep_radius_mm", sweep_radius_mm))
    sd = float(positive("reading_sd_mm", reading_sd_mm))
    angle, reading = columns_of(angle_deg=angle_deg, reading_mm=reading_mm)
    placed = np.sort(angle % 360)
    if angle.size < FEWEST or np.max(np.diff(np.append(placed, placed[0] + 360))) > WIDEST_GAP_DEG:
        raise RangeError(
            f"{angle.size} readings do not go round the sweep; "
            f"take at least {FEWEST}: right, back, left, front."
        )
    turned = np.radians(angle)
    design = np.column_stack([np.ones_like(turned), np.cos(turned), np.sin(turned)])
    (_, right, back), left_over = fit_with_known_sd(design, reading, sd)
    return Tram(
        lean_right_mm_m=_over(right, radius),
        lean_back_mm_m=_over(back, radius),
        total_mm=float(np.ptp(reading)),
        high_deg=float(np.degrees(np.arctan2(back.value, right.value)) % 360),
        uneven_mm=float(np.max(np.abs(left_over))),
    )


def dish_mm(lean_mm_m, cutter_diameter_mm, cut_width_mm):
    """How hollow a face is that a leaning cutter mills along the direction of its lean.

    Formula
    -------
    radius_mm = cutter_diameter_mm / 2
    dish_mm = lean_mm_m / 1000 * (radius_mm - sqrt(radius_mm**2 - cut_width_mm**2 / 4))

    Parameters
    ----------
    lean_mm_m : float or array [mm/m]
        Lean of the spindle along the feed.
    cutter_diameter_mm : float or array [mm]
        Diameter on which the edges run.
    cut_width_mm : float or array [mm]
        Width of the cut, at most the diameter.

    Returns
    -------
    float or array [mm]
        Depth of the hollow in the middle of the cut.

    Range
    -----
    Widths up to the diameter; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the cut is wider than the cutter or a size cannot be.

    Examples
    --------
    >>> round(float(dish_mm(0.25, 50, 40)), 6)
    0.0025

    Source
    ------
    Derived here: the edges run on a leaning circle, whose side view is a flat ellipse.
    """
    radius = np.asarray(positive("cutter_diameter_mm", cutter_diameter_mm), dtype=float) / 2
    half_width = np.asarray(positive("cut_width_mm", cut_width_mm), dtype=float) / 2
    if np.any(half_width > radius):
        raise RangeError(
            f"cut_width_mm is {cut_width_mm}; one pass cannot be wider than the cutter, "
            f"{cutter_diameter_mm} mm."
        )
    return np.abs(lean_mm_m) / 1000 * (radius - np.sqrt(radius**2 - half_width**2))


def step_mm(lean_mm_m, step_over_mm):
    """The step between neighbouring passes of a cutter that leans across the feed.

    Formula
    -------
    step_mm = abs(lean_mm_m) / 1000 * step_over_mm

    Parameters
    ----------
    lean_mm_m : float or array [mm/m]
        Lean of the spindle across the feed.
    step_over_mm : float or array [mm]
        From pass to pass.

    Returns
    -------
    float or array [mm]
        Height of the step.

    Range
    -----
    A step-over from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the step-over is negative.

    Examples
    --------
    >>> step_mm(0.25, 40)
    0.01

    Source
    ------
    Derived here: slope times width.
    """
    return abs(lean_mm_m) / 1000 * not_negative("step_over_mm", step_over_mm)


def face_hollow_mm(far_side_mm):
    """How hollow a turned face is, from a dial carried across it by the slide that turned it.

    On the side where the tool worked the dial follows its own path and shows nothing; the other side shows
    the error twice.

    Formula
    -------
    face_hollow_mm = far_side_mm / 2

    Parameters
    ----------
    far_side_mm : float or array [mm]
        Reading at the far edge less reading at the middle; positive when the edge stands out.

    Returns
    -------
    float or array [mm]
        Depth of the hollow at the middle; negative for a face that stands proud.

    Range
    -----
    Any readings; NaN in gives NaN out.

    Examples
    --------
    >>> face_hollow_mm(0.04)
    0.02

    Source
    ------
    Derived here: slide and face lean by the same angle, to opposite sides.
    """
    return far_side_mm / 2


def cross_slide_mm_m(hollow_mm, face_diameter_mm):
    """How far the cross slide is off square, from how hollow the face is that it turned.

    Formula
    -------
    cross_slide_mm_m = 1000 * hollow_mm / (face_diameter_mm / 2)

    Parameters
    ----------
    hollow_mm : float or array [mm]
        Depth of the hollow at the middle.
    face_diameter_mm : float or array [mm]
        Diameter of the face.

    Returns
    -------
    float or array [mm/m]
        Lean of the slide; positive turns a hollow face, the side to which it may be out.

    Range
    -----
    A diameter above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the diameter is zero or negative.

    Examples
    --------
    >>> cross_slide_mm_m(0.02, 160)
    0.25

    Source
    ------
    Derived here: a turned face is a flat cone. Hollow only, up to 0.02 mm on 160 mm: a published inspection
    record of a lathe of 400 mm swing (excerpt read on a third-party page).
    """
    return 1000 * hollow_mm / (positive("face_diameter_mm", face_diameter_mm) / 2)


def _over(reading: Estimate, radius_mm: float) -> Estimate:
    low, high = reading.interval
    return Estimate(1000 * reading.value / radius_mm, (1000 * low / radius_mm, 1000 * high / radius_mm))
