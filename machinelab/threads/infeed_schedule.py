"""In how many cuts a thread is taken, and how deep each goes: equal chips, and no cut too fine to bite."""

from dataclasses import dataclass
from math import ceil

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole
from machinelab.threads.flanks import half_angle_rad

__all__ = [
    "InfeedSchedule",
    "equal_area_depths_mm",
    "groove_section_mm2",
    "infeed_schedule",
    "passes_for_first_cut",
    "passes_for_force",
]


@dataclass(frozen=True)
class InfeedSchedule:
    """The cuts of one thread.

    Parameters
    ----------
    depths_mm : tuple of float [mm]
        Where the tool stands in each cut, counted from the blank; the last is the whole depth.
    cuts_mm : tuple of float [mm]
        How much each goes deeper than the one before.
    sections_mm2 : tuple of float [mm2]
        What each takes, as a section through one groove.
    spring_passes : int [1]
        Passes at the last depth once more, which cut what tool and work have sprung away.
    thread_passes : int [1]
        All passes together.

    Source
    ------
    See `infeed_schedule`.
    """

    depths_mm: tuple[float, ...]
    cuts_mm: tuple[float, ...]
    sections_mm2: tuple[float, ...]
    spring_passes: int
    thread_passes: int


def groove_section_mm2(thread_depth_mm, *, included_angle_deg=60.0, tip_flat_mm=0.0, tip_radius_mm=0.0):
    """The section of the groove that a tool has cut at a depth.

    Formula
    -------
    half = included_angle_deg * pi / 360
    sector = tip_radius_mm**2 * acos(max(1 - thread_depth_mm / max(tip_radius_mm, 1/1000000000), -1))
    chord = sqrt(max(2 * tip_radius_mm * thread_depth_mm - thread_depth_mm**2, 0))
    round_only = sector - (tip_radius_mm - thread_depth_mm) * chord
    deep = thread_depth_mm + tip_radius_mm * (1 / sin(half) - 1)
    missing = tip_radius_mm**2 * (1 / tan(half) - pi/2 + half)
    with_flanks = deep**2 * tan(half) - missing
    beside_flat = round_only if thread_depth_mm < tip_radius_mm * (1 - sin(half)) else with_flanks
    groove_section_mm2 = tip_flat_mm * thread_depth_mm + beside_flat

    Parameters
    ----------
    thread_depth_mm : float or array [mm]
        Depth on the radius.
    included_angle_deg : float or array [deg]
        Included angle of the tool.
    tip_flat_mm : float or array [mm]
        Width of the flat at the tool's tip, between its roundings.
    tip_radius_mm : float or array [mm]
        Radius of the tool's tip, or of the corners of its flat.

    Returns
    -------
    float or array [mm2]
        Area; multiplied by the specific cutting force it tells how hard the cut from zero would push.

    Range
    -----
    Sizes from zero up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a size is negative.

    Examples
    --------
    >>> round(float(groove_section_mm2(0.92, tip_flat_mm=0.1875)), 4)
    0.6612

    Source
    ------
    Derived here: triangle or trapezium, less the corner that a radius leaves.
    """
    depth = np.asarray(not_negative("thread_depth_mm", thread_depth_mm), dtype=float)
    flat = np.asarray(not_negative("tip_flat_mm", tip_flat_mm), dtype=float)
    radius = np.asarray(not_negative("tip_radius_mm", tip_radius_mm), dtype=float)
    half = half_angle_rad(included_angle_deg)
    deep = depth + radius * (1 / np.sin(half) - 1)
    with_flanks = deep**2 * np.tan(half) - radius**2 * (1 / np.tan(half) - np.pi / 2 + half)
    sector = radius**2 * np.arccos(np.maximum(1 - depth / np.maximum(radius, 1e-9), -1))
    round_only = sector - (radius - depth) * np.sqrt(np.maximum(2 * radius * depth - depth**2, 0))
    beside_flat = np.where(depth < radius * (1 - np.sin(half)), round_only, with_flanks)
    return (flat * depth + beside_flat)[()]


def equal_area_depths_mm(
    thread_depth_mm, *, infeed_passes, included_angle_deg=60.0, tip_flat_mm=0.0, tip_radius_mm=0.0
) -> np.ndarray:
    """Where the tool stands in each cut when every cut takes the same section.

    With a sharp tool the depths go as square roots: the first of nine cuts is already a third of the depth.

    Formula
    -------
    none: a row of depths. A sharp tool stands at thread_depth_mm * sqrt(k / infeed_passes) in its cut k, a
    blunt one where `groove_section_mm2` is k / infeed_passes of the whole.

    Parameters
    ----------
    thread_depth_mm : float [mm]
        Depth on the radius.
    infeed_passes : int [1]
        Cuts that go deeper; spring passes come after.
    included_angle_deg : float [deg]
        Included angle of the tool.
    tip_flat_mm, tip_radius_mm : float [mm, mm]
        The tool's tip, see `groove_section_mm2`.

    Returns
    -------
    array [mm]
        Depth of each cut from the blank.

    Range
    -----
    Depth above zero, one cut at least.

    Raises
    ------
    RangeError
        If an input is out of range.

    Examples
    --------
    >>> [round(float(depth), 3) for depth in equal_area_depths_mm(0.92, infeed_passes=4)]
    [0.46, 0.651, 0.797, 0.92]

    Source
    ------
    Derived here; the square roots are common practice.
    """
    depth = float(positive("thread_depth_mm", thread_depth_mm))
    tip = {
        "included_angle_deg": included_angle_deg,
        "tip_flat_mm": tip_flat_mm,
        "tip_radius_mm": tip_radius_mm,
    }
    passes = whole("infeed_passes", infeed_passes)
    sections = groove_section_mm2(depth, **tip) * np.arange(1, passes) / passes
    return np.array([*_depths_of_sections(sections, depth, tip), depth])


def _depths_of_sections(sections: np.ndarray, deepest: float, tip: dict) -> np.ndarray:
    """Where a tool has cut each of some sections: the flanks' square solved, the tip's arc searched."""
    from scipy.optimize import brentq

    half, radius = half_angle_rad(tip["included_angle_deg"]), float(tip["tip_radius_mm"])
    slope, above = np.tan(half), radius * (1 / np.sin(half) - 1)
    missing = radius**2 * (1 / slope - np.pi / 2 + half)
    linear = float(tip["tip_flat_mm"]) + 2 * above * slope
    constant = above**2 * slope - missing - sections
    depths = (np.sqrt(np.maximum(linear**2 - 4 * slope * constant, 0)) - linear) / (2 * slope)
    corner = min(radius * (1 - np.sin(half)), deepest)
    in_arc = sections < groove_section_mm2(corner, **tip)
    depths[in_arc] = [
        brentq(lambda at, wanted=wanted: groove_section_mm2(at, **tip) - wanted, 0, corner, xtol=1e-13)
        for wanted in sections[in_arc]
    ]
    return depths


def passes_for_first_cut(
    thread_depth_mm, *, first_cut_mm, included_angle_deg=60.0, tip_flat_mm=0.0, tip_radius_mm=0.0
) -> int:
    """How many cuts of equal section a thread takes when the first may go so deep.

    Formula
    -------
    none: `groove_section_mm2` at the whole depth over that of the first cut, the next whole number up

    Parameters
    ----------
    thread_depth_mm : float [mm]
        Depth on the radius.
    first_cut_mm : float [mm]
        The deepest first cut the machine takes; 0.15 to 0.25 mm on a lathe of 150 to 250 mm swing (common
        practice, no source).
    included_angle_deg : float [deg]
        Included angle of the tool.
    tip_flat_mm, tip_radius_mm : float [mm, mm]
        The tool's tip, see `groove_section_mm2`.

    Returns
    -------
    int [1]
        Cuts that go deeper.

    Range
    -----
    Above zero.

    Raises
    ------
    RangeError
        If an input is out of range.

    Examples
    --------
    >>> passes_for_first_cut(0.92, first_cut_mm=0.25)
    14

    Source
    ------
    Derived here; for a sharp tool the square of depth over first cut.
    """
    first = min(
        float(positive("first_cut_mm", first_cut_mm)), float(positive("thread_depth_mm", thread_depth_mm))
    )
    tip = {
        "included_angle_deg": included_angle_deg,
        "tip_flat_mm": tip_flat_mm,
        "tip_radius_mm": tip_radius_mm,
    }
    return _up(groove_section_mm2(thread_depth_mm, **tip) / groove_section_mm2(first, **tip))


def passes_for_force(groove_section_mm2, *, specific_force_n_mm2, force_n) -> int:
    """How many cuts of equal section a thread takes when the tool may be pushed so hard.

    Formula
    -------
    infeed_passes = ceil(groove_section_mm2 * specific_force_n_mm2 / force_n)
    passes_for_force = max(infeed_passes, 1)

    Parameters
    ----------
    groove_section_mm2 : float [mm2]
        Section of the whole groove.
    specific_force_n_mm2 : float [N/mm2]
        Specific cutting force of the material; for chips so thin and bent half as much again as the tables
        say is common practice, no source.
    force_n : float [N]
        The cutting force that tool, work and machine stand.

    Returns
    -------
    int [1]
        Cuts that go deeper.

    Range
    -----
    All above zero.

    Raises
    ------
    RangeError
        If an input is not above zero.

    Examples
    --------
    >>> passes_for_force(0.4887, specific_force_n_mm2=2000, force_n=120)
    9

    Source
    ------
    Derived here: force is section times specific cutting force.
    """
    push = positive("groove_section_mm2", groove_section_mm2) * positive(
        "specific_force_n_mm2", specific_force_n_mm2
    )
    return _up(push / positive("force_n", force_n))


def infeed_schedule(
    thread_depth_mm,
    *,
    infeed_passes,
    last_cut_mm=0.0,
    spring_passes=0,
    included_angle_deg=60.0,
    tip_flat_mm=0.0,
    tip_radius_mm=0.0,
) -> InfeedSchedule:
    """The cuts of one thread: equal sections, until a cut would be too fine to bite.

    From there on the rest is shared out in even cuts, none of them finer than the finest allowed; so there
    may be fewer cuts than asked for, and the last ones take more than the others.

    Formula
    -------
    none: `equal_area_depths_mm` with a floor under the single cut

    Parameters
    ----------
    thread_depth_mm : float [mm]
        Depth on the radius.
    infeed_passes : int [1]
        Cuts of equal section.
    last_cut_mm : float [mm]
        The finest cut that still bites; 0.02 to 0.03 mm, or the tool rubs (common practice, no source).
    spring_passes : int [1]
        Passes at the last depth once more; one or two (common practice, no source).
    included_angle_deg : float [deg]
        Included angle of the tool.
    tip_flat_mm, tip_radius_mm : float [mm, mm]
        The tool's tip, see `groove_section_mm2`.

    Returns
    -------
    InfeedSchedule
        Depth, cut and section of each pass.

    Range
    -----
    Depth above zero, one cut at least.

    Raises
    ------
    RangeError
        If an input is out of range, or the finest cut is more than the whole depth.

    Examples
    --------
    >>> plan = infeed_schedule(0.92, infeed_passes=14, last_cut_mm=0.03, spring_passes=1)
    >>> len(plan.depths_mm), round(min(plan.cuts_mm), 3), plan.thread_passes
    (14, 0.033, 15)

    Source
    ------
    Derived here.
    """
    tip = {
        "included_angle_deg": included_angle_deg,
        "tip_flat_mm": tip_flat_mm,
        "tip_radius_mm": tip_radius_mm,
    }
    depths = equal_area_depths_mm(thread_depth_mm, infeed_passes=infeed_passes, **tip)
    finest = float(not_negative("last_cut_mm", last_cut_mm))
    if finest > depths[-1]:
        raise RangeError(
            f"last_cut_mm is {finest:g}, more than the whole depth of {depths[-1]:.3g} mm. "
            "Type the finest cut that still bites, such as 0.03 mm."
        )
    depths = _with_floor(depths, finest)
    sections = groove_section_mm2(depths, **tip)
    springs = whole("spring_passes", spring_passes, at_least=0)
    return InfeedSchedule(
        tuple(map(float, depths)),
        tuple(map(float, np.diff(depths, prepend=0.0))),
        tuple(map(float, np.diff(sections, prepend=0.0))),
        springs,
        len(depths) + springs,
    )


def _with_floor(depths: np.ndarray, finest: float) -> np.ndarray:
    cuts = np.diff(depths, prepend=0.0)
    too_fine = np.flatnonzero(cuts < finest)
    if too_fine.size == 0:
        return depths
    kept = too_fine[0]
    begun = depths[kept - 1] if kept else 0.0
    evenly = int((depths[-1] - begun) / finest * (1 + 1e-12))
    # A rest that is finer than one cut joins the cut before it.
    kept, evenly = (kept, evenly) if evenly else (kept - 1, 1)
    begun = depths[kept - 1] if kept else 0.0
    return np.concatenate([depths[:kept], np.linspace(begun, depths[-1], evenly + 1)[1:]])


def _up(passes) -> int:
    # A hair above a whole number is the whole number: the depth was computed.
    return max(1, ceil(float(passes) * (1 - 1e-12)))
