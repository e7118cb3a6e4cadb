"""The spacing of marks from a logged profile of the surface, taken at any places along it."""

from dataclasses import dataclass

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.least_squares import NORMAL_95, columns_of
from machinelab.ranges import not_negative, positive

__all__ = ["MarkProfile", "false_alarm_chance", "profile_spacing", "spatial_frequency_sd_per_mm"]

FEWEST = 20
GRID_PER_LENGTH = 5
FEWEST_BANDS = 2


@dataclass(frozen=True)
class MarkProfile:
    """The strongest wave in a profile.

    Parameters
    ----------
    spacing_mm : Estimate [mm]
        From mark to mark.
    amplitude_um : float [um]
        Half of what the surface swings.
    false_alarm : float [1]
        Chance that noise alone would show as strong a wave somewhere.
    frequency_per_mm : array of shape (frequencies,) [1/mm]
        What was searched.
    share : array of shape (frequencies,) [1]
        Part of the profile's variance that each frequency explains.
    finest_mm : float [mm]
        Marks closer than this cannot be told from their folded images.
    """

    spacing_mm: Estimate
    amplitude_um: float
    false_alarm: float
    frequency_per_mm: np.ndarray
    share: np.ndarray
    finest_mm: float


def spatial_frequency_sd_per_mm(reading_count, length_mm, amplitude_um, residual_um):
    """How well the frequency of a wave in a noisy profile can be known at all.

    Formula
    -------
    spatial_frequency_sd_per_mm = sqrt(6 / reading_count) * residual_um / (pi * length_mm * amplitude_um)

    Parameters
    ----------
    reading_count : int or array [count]
        Readings of the profile.
    length_mm : float or array [mm]
        Length over which they were taken.
    amplitude_um : float or array [um]
        Half swing of the wave.
    residual_um : float or array [um]
        Standard deviation of the noise.

    Returns
    -------
    float or array [1/mm]
        Standard deviation.

    Range
    -----
    All above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If one is zero or negative.

    Examples
    --------
    >>> round(float(spatial_frequency_sd_per_mm(400, 60, 1, 1)), 8)
    0.00064975

    Source
    ------
    Formula of the literature on periodograms of stars, from memory.
    """
    swing = positive("length_mm", length_mm) * positive("amplitude_um", amplitude_um)
    noise = positive("residual_um", residual_um) * np.sqrt(6 / positive("reading_count", reading_count))
    return noise / (np.pi * swing)


def false_alarm_chance(peak_power, independent_frequencies):
    """The chance that noise alone shows somewhere a peak as high as this.

    Formula
    -------
    false_alarm_chance = 1 - (1 - exp(-peak_power)) ** independent_frequencies

    Parameters
    ----------
    peak_power : float or array [1]
        Height of the peak, in units of the noise's variance.
    independent_frequencies : float or array [1]
        How many frequencies were looked at that tell different things; about half the readings.

    Returns
    -------
    float or array [1]
        Probability.

    Range
    -----
    From no power up; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the power is negative, or nothing was looked at.

    Examples
    --------
    >>> round(float(false_alarm_chance(12, 200)), 6)
    0.001228

    Source
    ------
    Scargle, 1982, from memory.
    """
    one_by_chance = np.exp(-not_negative("peak_power", peak_power))
    tried = positive("independent_frequencies", independent_frequencies)
    # A peak of no height is there by chance alone, and the logarithm of nought says so.
    with np.errstate(divide="ignore"):
        return -np.expm1(tried * np.log1p(-one_by_chance))


def profile_spacing(position_mm, height_um) -> MarkProfile:
    """The strongest regular spacing in a profile read at any places along the work.

    Formula
    -------
    none: a straight line and a bow taken off, Lomb-Scargle periodogram by SciPy

    Parameters
    ----------
    position_mm : array of shape (readings,) [mm]
        Where the profile was read.
    height_um : array of shape (readings,) [um]
        Height of the surface there.

    Returns
    -------
    MarkProfile
        Spacing with its 95 % interval, and whether noise could have made it.

    Range
    -----
    At least 20 readings. Spacings from two medium steps of the readings up to half their length are searched.

    Raises
    ------
    RangeError
        If there are too few readings, they all stand at one place, or the profile is flat.

    Examples
    --------
    >>> x = np.linspace(0, 30, 300)
    >>> found = profile_spacing(x, 2 * np.sin(2 * np.pi * x / 3.0) + np.cos(40 * x))
    >>> round(found.spacing_mm.value, 1)
    3.0

    Source
    ------
    Lomb-Scargle periodogram as in SciPy; false alarms after Scargle, 1982, with the number of frequencies
    that a free search tries after Baluev, 2008, both from memory.
    """
    from scipy.signal import lombscargle

    x, height = columns_of(position_mm=position_mm, height_um=height_um)
    if x.size < FEWEST or np.ptp(x) == 0:
        raise RangeError(
            f"{x.size} readings over {np.ptp(x) if x.size else 0:.3g} mm are too few to find a spacing; take "
            f"at least {FEWEST}, closer together than half a spacing and over several of them."
        )
    length = float(np.ptp(x))
    step = float(np.median(np.diff(np.unique(x))))
    even = np.polyval(np.polyfit(x, height, 2), x)
    wave = height - even
    if not np.any(wave):
        raise RangeError("The profile is flat: there is no mark in it whose spacing could be found.")
    lowest, highest = FEWEST_BANDS / length, 1 / (2 * step)
    if lowest >= highest:
        raise RangeError(
            f"The readings stand {step:.3g} mm apart over {length:.3g} mm; take them closer together."
        )
    frequency = np.arange(lowest, highest, 1 / (GRID_PER_LENGTH * length))
    share = lombscargle(x, wave, 2 * np.pi * frequency, normalize=True)
    found, amplitude, residual = _sharpened(x, wave, frequency[np.argmax(share)], 1 / length)
    hair = np.finfo(float).eps
    explained = float(np.clip(1 - residual**2 * (x.size - 3) / float(wave @ wave), hair, 1 - hair))
    # For noise alone this is the height whose chance at one frequency is its falling exponential.
    power = -(x.size - 3) / 2 * np.log1p(-explained)
    reach = NORMAL_95 * float(
        spatial_frequency_sd_per_mm(x.size, length, amplitude, max(residual, 1e-6 * amplitude))
    )
    return MarkProfile(
        spacing_mm=Estimate(1 / found, (1 / (found + reach), 1 / max(found - reach, lowest / 2))),
        amplitude_um=amplitude,
        false_alarm=float(false_alarm_chance(power, x.size / 2 * np.sqrt(power))),
        frequency_per_mm=frequency,
        share=share,
        finest_mm=2 * step,
    )


def _sharpened(x, wave, start: float, width: float) -> tuple[float, float, float]:
    """The frequency at which a sine leaves the least, its amplitude, and what it leaves."""
    from scipy.optimize import minimize_scalar

    def fitted(frequency: float):
        design = np.column_stack([np.sin(2 * np.pi * frequency * x), np.cos(2 * np.pi * frequency * x)])
        parts, *_ = np.linalg.lstsq(design, wave, rcond=None)
        return parts, wave - design @ parts

    best = minimize_scalar(
        lambda frequency: float(np.sum(fitted(frequency)[1] ** 2)),
        bounds=(start - width / 2, start + width / 2),
        options={"xatol": 1e-4 * width},
    ).x
    parts, left_over = fitted(float(best))
    return float(best), float(np.hypot(*parts)), float(np.sqrt(np.sum(left_over**2) / (x.size - 3)))
