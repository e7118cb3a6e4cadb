"""Run-out taken apart: how far off centre, how oval, how three-cornered, and where to tap."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import columns_of, linear_fit
from machinelab.ranges import positive, whole

__all__ = ["Runout", "Split", "bent_bar_mm_m", "fewest_readings", "runout", "split_by_turning"]

MOST_LOBES = 7


@dataclass(frozen=True)
class Runout:
    """A dial's readings round one turn, as a sum of waves.

    Parameters
    ----------
    mean_mm : float [mm]
        Mean of the readings.
    eccentricity_mm : Estimate [mm]
        How far the centre of the surface lies off the axis of turning; the dial swings by twice this.
    high_deg : float [deg]
        Angle at which the surface stands out most: tap here, by the eccentricity.
    lobes_mm : tuple of Estimate [mm]
        Half swing of two lobes (oval), three lobes (a mark of three jaws), and so on.
    total_mm : float [mm]
        Highest reading less lowest: what is usually called run-out.
    roundness_mm : float [mm]
        What is left of that once the eccentricity is taken off.
    scatter_mm : float [mm]
        Standard deviation of what no wave explains.
    """

    mean_mm: float
    eccentricity_mm: Estimate
    high_deg: float
    lobes_mm: tuple[Estimate, ...]
    total_mm: float
    roundness_mm: float
    scatter_mm: float

    @property
    def vector_mm(self) -> complex:
        """The eccentricity with its direction, so that two of them can be added and taken off."""
        return self.eccentricity_mm.value * complex(np.exp(1j * np.radians(self.high_deg)))


@dataclass(frozen=True)
class Split:
    """Run-out shared out between the spindle with its chuck and the part in it.

    Parameters
    ----------
    spindle_mm : complex [mm]
        Share that stays with the spindle.
    part_mm : complex [mm]
        Share that turns with the part.
    """

    spindle_mm: complex
    part_mm: complex


def fewest_readings(lobes):
    """The fewest readings round a turn that can tell a number of lobes from an eccentricity.

    Formula
    -------
    fewest_readings = 2 * lobes + 3

    Parameters
    ----------
    lobes : int [1]
        Highest number of lobes looked for: 3 for a three-jaw chuck.

    Returns
    -------
    int [1]
        Readings, spread evenly.

    Range
    -----
    One lobe (eccentricity alone) or more.

    Raises
    ------
    RangeError
        If the number is not a whole one from 1 up.

    Examples
    --------
    >>> fewest_readings(3)
    9

    Source
    ------
    Derived here: two unknowns a wave, one for the mean, and two readings to judge the fit by.
    """
    return 2 * whole("lobes", lobes) + 3


def runout(angle_deg, reading_mm, *, lobes=3) -> Runout:
    """Take the readings of a dial round one turn apart into eccentricity and lobes.

    Formula
    -------
    none: linear least squares of reading = mean + sum of a_k * cos(k * angle) + b_k * sin(k * angle)

    Parameters
    ----------
    angle_deg : array of shape (readings,) [deg]
        Where the spindle stood, turned always the same way.
    reading_mm : array of shape (readings,) [mm]
        What the dial showed; more means that the surface stands out.
    lobes : int [1]
        Highest number of lobes looked for.

    Returns
    -------
    Runout
        Eccentricity with its direction, lobes, and what is left.

    Range
    -----
    At least ``2 * lobes + 3`` readings with no gap wider than half the smallest wave; missing ones are left
    out.

    Raises
    ------
    RangeError
        If the readings are too few or leave too wide a gap, so that lobes would pass for eccentricity.

    Examples
    --------
    >>> angle = np.arange(12) * 30.0
    >>> found = runout(angle, 0.02 * np.cos(np.radians(angle - 90)))
    >>> round(found.eccentricity_mm.value, 6), round(found.high_deg, 6), round(found.total_mm, 6)
    (0.02, 90.0, 0.04)

    Source
    ------
    Fourier sum by least squares; roundness about the least-squares circle: ISO 12181-1, from memory.
    """
    angle, reading = _round_a_turn(angle_deg, reading_mm, lobes)
    orders = np.arange(1, lobes + 1)
    waves = np.outer(angle, orders)
    design = np.column_stack([np.ones_like(angle), np.cos(waves), np.sin(waves)])
    constants, left_over = linear_fit(design, reading)
    cosines, sines = constants[1 : 1 + lobes], constants[1 + lobes :]
    swings = [_swing(a, b) for a, b in zip(cosines, sines, strict=True)]
    first = cosines[0].value * np.cos(angle) + sines[0].value * np.sin(angle)
    freedom = angle.size - design.shape[1]
    return Runout(
        mean_mm=constants[0].value,
        eccentricity_mm=swings[0],
        high_deg=float(np.degrees(np.arctan2(sines[0].value, cosines[0].value)) % 360),
        lobes_mm=tuple(swings[1:]),
        total_mm=float(np.ptp(reading)),
        roundness_mm=float(np.ptp(reading - first)),
        scatter_mm=float(np.sqrt(left_over @ left_over / freedom)),
    )


def split_by_turning(first_mm, turned_mm):
    """Which share of a run-out is the spindle's and which the part's, from turning the part half round.

    Formula
    -------
    result.spindle_mm = (first_mm + turned_mm) / 2
    result.part_mm = (first_mm - turned_mm) / 2

    Parameters
    ----------
    first_mm : complex [mm]
        Eccentricity as a vector, see `Runout.vector_mm`; angles counted on the spindle.
    turned_mm : complex [mm]
        The same, the part taken out, turned by half a turn, and put back.

    Returns
    -------
    Split
        Two vectors: their sizes need not add up to what the dial showed.

    Range
    -----
    Any vectors; NaN in gives NaN out.

    Examples
    --------
    >>> split_by_turning(0.75 + 0.25j, 0.25 + 0.25j)
    Split(spindle_mm=(0.5+0.25j), part_mm=(0.25+0j))

    Source
    ------
    Derived here: what belongs to the part changes its sign, what belongs to the spindle does not.
    """
    return Split((first_mm + turned_mm) / 2, (first_mm - turned_mm) / 2)


def bent_bar_mm_m(near_mm, far_mm, station_distance_mm):
    """How far a bar leans away from the axis of turning, from its run-out at two places.

    Formula
    -------
    bent_bar_mm_m = 1000 * abs(far_mm - near_mm) / station_distance_mm

    Parameters
    ----------
    near_mm : complex or array [mm]
        Eccentricity near the chuck as a vector.
    far_mm : complex or array [mm]
        The same further out.
    station_distance_mm : float or array [mm]
        Between the two places.

    Returns
    -------
    float or array [mm/m]
        Lean of the bar.

    Range
    -----
    A distance above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the distance is zero or negative.

    Examples
    --------
    >>> bent_bar_mm_m(0.01 + 0j, 0.01 + 0.03j, 100)
    0.3

    Source
    ------
    Derived here: difference of the two vectors over their distance.
    """
    return 1000 * abs(far_mm - near_mm) / positive("station_distance_mm", station_distance_mm)


def _swing(cosine: Estimate, sine: Estimate) -> Estimate:
    """Size of a wave; its doubt is that of its parts, taken along the wave."""
    size = float(np.hypot(cosine.value, sine.value))
    parts = np.hypot(cosine.value * cosine.expanded_uncertainty, sine.value * sine.expanded_uncertainty)
    reach = float(parts / size) if size > 0 else cosine.expanded_uncertainty
    return Estimate(size, (max(0.0, size - reach), size + reach))


def _round_a_turn(angle_deg, reading_mm, lobes: int) -> tuple[np.ndarray, np.ndarray]:
    needed = fewest_readings(lobes)
    if lobes > MOST_LOBES:
        raise RangeError(f"lobes is {lobes}; a dial read by hand tells up to {MOST_LOBES}.")
    angle, reading = columns_of(angle_deg=angle_deg, reading_mm=reading_mm)
    if angle.size < needed:
        raise RangeError(
            f"{angle.size} readings round the turn cannot tell {lobes} lobes from an eccentricity: they "
            f"would pass for it. Take at least {needed}, better {max(12, needed + 3)}, spread evenly."
        )
    placed = np.sort(angle % 360)
    gap = float(np.max(np.diff(np.append(placed, placed[0] + 360))))
    if gap > 180 / lobes:
        raise RangeError(
            f"There is a gap of {gap:.0f} degrees between readings; {lobes} lobes need one at least every "
            f"{180 / lobes:.0f} degrees all round."
        )
    return np.radians(angle), reading
