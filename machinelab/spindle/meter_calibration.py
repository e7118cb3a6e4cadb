"""An RPM meter held against a better one: scale, zero, and the usual faults by their names."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import not_negative

__all__ = ["MeterCalibration", "calibrate", "wrong_mark_ratio"]

_FEWEST_SPEEDS = 5
_MOST_MARKS = 8
_NEAR = 0.01
_ODD = 0.02
_ODD_STEPS = 2.0


@dataclass(frozen=True)
class MeterCalibration:
    """A meter's scale and zero: shown = meter_scale * true + zero.

    Parameters
    ----------
    meter_scale : Estimate [1]
        Change of the reading with the true speed; 1 for a true meter.
    zero_rpm : Estimate [rpm]
        What the line shows at standstill.
    largest_residual_rpm : float [rpm]
        Furthest that a reading lies from the line.
    mark_ratio : Fraction or None [1]
        Marks that pass over marks set, where they are not the same.
    odd_speeds_rpm : tuple of float [rpm]
        True speeds at which the reading is far from all the others: pulses missed or counted twice.
    notes : tuple of str
        The faults in words.

    Source
    ------
    See `calibrate`.
    """

    meter_scale: Estimate
    zero_rpm: Estimate
    largest_residual_rpm: float
    mark_ratio: Fraction | None
    odd_speeds_rpm: tuple[float, ...]
    notes: tuple[str, ...]

    def true_rpm(self, shown_rpm):
        """The speed that a reading stands for."""
        return (np.asarray(shown_rpm) - self.zero_rpm.value) / self.meter_scale.value

    def error_share(self, speed_rpm):
        """How far the reading is off at a true speed, as a share of it."""
        return self.meter_scale.value - 1 + self.zero_rpm.value / np.asarray(speed_rpm)


def calibrate(true_rpm, shown_rpm, *, resolution_rpm=0.0) -> MeterCalibration:
    """Find scale and zero of a meter from speeds that a better instrument told as well.

    Formula
    -------
    none: straight line by SciPy's linear regression through the readings that belong together

    Parameters
    ----------
    true_rpm : array of shape (readings,) [rpm]
        Speeds by strobe, encoder or a borrowed tachometer; both directions in turn, each settled.
    shown_rpm : array of shape (readings,) [rpm]
        What the meter showed.
    resolution_rpm : float [rpm]
        Step of its display.

    Returns
    -------
    MeterCalibration
        Scale and zero with 95 % intervals, and the faults that the readings point to.

    Range
    -----
    At least five speeds, the highest at least twice the lowest. NaN readings are left out.

    Raises
    ------
    RangeError
        If there are too few speeds, or they lie too near together.

    Examples
    --------
    >>> found = calibrate([100, 300, 600, 900, 1200], [134, 400, 800, 1200, 1600], resolution_rpm=1)
    >>> found.mark_ratio, round(found.meter_scale.value, 3)
    (Fraction(4, 3), 1.333)

    Source
    ------
    Linear regression, textbook; the named faults are common practice, no source.
    """
    from scipy.stats import linregress
    from scipy.stats import t as student_t

    true, shown = _checked(true_rpm, shown_rpm)
    step = float(not_negative("resolution_rpm", resolution_rpm))
    odd = _far_from_the_others(true, shown, step)
    x, y = true[~odd], shown[~odd]
    line = linregress(x, y)
    left_over = y - line.slope * x - line.intercept
    scatter = np.sqrt(np.sum(left_over**2) / (x.size - 2))
    # A display cannot scatter less than its rounding does.
    doubt = max(scatter, step / np.sqrt(12)) * float(student_t.ppf(0.975, x.size - 2))
    spread = np.sqrt(np.sum((x - x.mean()) ** 2))
    scale = Estimate.symmetric(float(line.slope), doubt / spread)
    zero = Estimate.symmetric(float(line.intercept), doubt * np.sqrt(1 / x.size + (x.mean() / spread) ** 2))
    marks = wrong_mark_ratio(scale.value)
    odd_speeds = tuple(float(speed) for speed in true[odd])
    return MeterCalibration(
        meter_scale=scale,
        zero_rpm=zero,
        largest_residual_rpm=float(np.max(np.abs(shown - line.slope * true - line.intercept))),
        mark_ratio=marks,
        odd_speeds_rpm=odd_speeds,
        notes=tuple(_faults(scale, zero, marks, true[odd], shown[odd] / true[odd] / line.slope)),
    )


def wrong_mark_ratio(meter_scale) -> Fraction | None:
    """The ratio of marks that pass to marks set, where a meter's scale lies near a plain one.

    Formula
    -------
    none: the ratio of whole numbers up to 8 that lies nearest, if within 1 %; none for a true meter

    Parameters
    ----------
    meter_scale : float [1]
        Reading over true speed.

    Returns
    -------
    Fraction or None [1]
        Such as 4/3: four marks pass where the meter is set for three.

    Range
    -----
    Scales above zero.

    Examples
    --------
    >>> wrong_mark_ratio(1.999)
    Fraction(2, 1)
    >>> wrong_mark_ratio(1.004) is None
    True

    Source
    ------
    Derived here: a meter shows pulses over the marks it is set for.
    """
    marks = range(1, _MOST_MARKS + 1)
    ratios = {Fraction(passing, set_for) for passing in marks for set_for in marks}
    nearest = min(ratios, key=lambda ratio: abs(meter_scale / ratio - 1))
    return nearest if nearest != 1 and abs(meter_scale / nearest - 1) <= _NEAR else None


def _checked(true_rpm, shown_rpm):
    true, shown = np.asarray(true_rpm, float), np.asarray(shown_rpm, float)
    if true.shape != shown.shape:
        raise RangeError(
            f"There are {true.size} true speeds and {shown.size} readings; each speed needs its reading."
        )
    known = np.isfinite(true) & np.isfinite(shown)
    true, shown = true[known], shown[known]
    if true.size < _FEWEST_SPEEDS:
        raise RangeError(
            f"A calibration needs at least {_FEWEST_SPEEDS} speeds; there are {true.size}. Take some from "
            "the slowest to the fastest, each once the reading has settled."
        )
    if np.min(true) <= 0 or np.max(true) < 2 * np.min(true):
        raise RangeError(
            f"The true speeds run from {np.min(true):.4g} to {np.max(true):.4g} rpm; take them above zero "
            "and at least from one speed to twice as much, or scale and zero cannot be told apart."
        )
    return true, shown


def _far_from_the_others(true, shown, step):
    """Which readings lie far from all the others, unless a zero of the meter alone puts them there."""
    from scipy.stats import linregress

    ratio, tolerance = shown / true, np.maximum(_ODD, _ODD_STEPS * step / true)
    far = np.abs(ratio / np.median(ratio) - 1) > tolerance
    # With fewer than five left they are no longer the exception.
    if np.sum(~far) < _FEWEST_SPEEDS:
        return np.zeros_like(far)
    line = linregress(true[~far], shown[~far])
    return far & (np.abs(shown - line.slope * true - line.intercept) > tolerance * true)


def _faults(scale: Estimate, zero: Estimate, marks, odd_speeds, odd_ratios):
    if marks is not None:
        yield (
            f"It shows {marks} of the true speed: {marks.numerator} marks pass the pickup where the meter is "
            f"set for {marks.denominator}. Count the magnets and set the meter."
        )
    for speed, ratio in zip(odd_speeds, odd_ratios, strict=True):
        cause = "pulses are missed" if ratio < 1 else "pulses are counted twice, or noise is counted"
        yield f"At {speed:.0f} rpm it shows {ratio:.0%} of what the other readings make likely: {cause}."
    if zero.interval[0] > 0 or zero.interval[1] < 0:
        yield (
            f"The line does not go through zero: {zero.value:+.1f} rpm at standstill. The display rounds one "
            "way, or the drive was still changing when it was read."
        )
    if marks is None and not scale.interval[0] <= 1 <= scale.interval[1]:
        yield f"It reads {100 * (scale.value - 1):+.2f} % off at speed; set its scale, or keep this figure."
