"""What a thread's tolerance leaves for an error of pitch: the pitch-diameter tolerance of ISO metric threads.

The formula is a cross-check: the standard's own table is the reference, and differs from it in some cells.
"""

import numpy as np

from machinelab.ranges import positive, whole

# Preferred numbers R40 from 1 to 10 (ISO 3), as the standard's tables of tolerances use them; from memory.
R40 = (
    *(1.00, 1.06, 1.12, 1.18, 1.25, 1.32, 1.40, 1.50, 1.60, 1.70, 1.80, 1.90, 2.00, 2.12, 2.24, 2.36, 2.50),
    *(2.65, 2.80, 3.00, 3.15, 3.35, 3.55, 3.75, 4.00, 4.25, 4.50, 4.75, 5.00, 5.30, 5.60, 6.00, 6.30, 6.70),
    *(7.10, 7.50, 8.00, 8.50, 9.00, 9.50, 10.0),
)


def pitch_diameter_tolerance_um(pitch_mm, *, step_from_mm, step_to_mm):
    """Pitch-diameter tolerance of an external thread of grade 6, by the formula of the standard.

    Formula
    -------
    diameter = sqrt(step_from_mm * step_to_mm)
    pitch_diameter_tolerance_um = 90 * pitch_mm**(2/5) * diameter**(1/10)

    Parameters
    ----------
    pitch_mm : float or array [mm]
        Pitch of the thread.
    step_from_mm, step_to_mm : float or array [mm, mm]
        Ends of the standard's step of diameters that the thread falls into, such as 5.6 and 11.2.

    Returns
    -------
    float or array [um]
        Before rounding to a preferred number, see `nearest_preferred_number`.

    Range
    -----
    Above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the pitch or a diameter is not above zero.

    Examples
    --------
    M10x1.5 lies in the step from 5.6 to 11.2 mm:

    >>> round(float(pitch_diameter_tolerance_um(1.5, step_from_mm=5.6, step_to_mm=11.2)), 2)
    130.18

    Source
    ------
    ISO 965-1, formula from memory.
    """
    pitch = np.asarray(positive("pitch_mm", pitch_mm), dtype=float)
    ends = np.asarray(positive("step_from_mm", step_from_mm)) * np.asarray(positive("step_to_mm", step_to_mm))
    return (90 * pitch**0.4 * np.sqrt(ends) ** 0.1)[()]


def nearest_preferred_number(value):
    """The preferred number of the series R40 that lies nearest.

    Formula
    -------
    none: a look-up in the series, whatever the power of ten

    Parameters
    ----------
    value : float or array [1]
        Any number above zero.

    Returns
    -------
    float or array [1]
        The number of the series nearest to it; of two equally near the smaller.

    Range
    -----
    Above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the number is not above zero.

    Examples
    --------
    >>> float(nearest_preferred_number(130.18))
    132.0

    Source
    ------
    Preferred numbers R40, ISO 3, from memory.
    """
    numbers = np.asarray(positive("value", value), dtype=float)
    tens = 10.0 ** np.floor(np.log10(numbers))
    series = np.array(R40)
    nearest = series[np.argmin(np.abs(numbers[..., None] / tens[..., None] - series), axis=-1)]
    # Whole hundredths first, so that 112 is written 112 and not a hair beside it.
    return np.where(np.isnan(numbers), np.nan, np.round(100 * nearest) * tens / 100)[()]


def preferred_number_on(value, preferred_steps):
    """The preferred number of R40 that stands some steps further on, or back, from one of the series.

    A step is the fortieth root of ten; four of them are the factor 1.25 between neighbouring grades.

    Formula
    -------
    none: a look-up in the series, whatever the power of ten

    Parameters
    ----------
    value : float or array [1]
        A number of the series, or one near it.
    preferred_steps : int [1]
        Steps on; below zero back.

    Returns
    -------
    float or array [1]
        A number of the series.

    Range
    -----
    Above zero; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the number is not above zero, or the steps are not whole.

    Examples
    --------
    The tolerance of grade 7 beside 132 um of grade 6:

    >>> float(preferred_number_on(132, 4))
    170.0

    Source
    ------
    Preferred numbers R40, ISO 3, from memory.
    """
    numbers = np.asarray(nearest_preferred_number(value), dtype=float)
    tens = np.floor(np.log10(numbers) + 1e-9)
    series = np.array(R40[:-1])
    place = np.argmin(np.abs((numbers / 10.0**tens)[..., None] - series), axis=-1)
    further = place + whole("preferred_steps", preferred_steps, at_least=None)
    found = np.round(100 * series[further % 40]) * 10.0 ** (tens + further // 40) / 100
    return np.where(np.isnan(numbers), np.nan, found)[()]
