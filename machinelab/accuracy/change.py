"""Has it changed? Two measurements of one quantity, and what their uncertainties allow to say."""

from machinelab.ranges import positive

__all__ = ["least_provable_change", "normalised_change"]


def normalised_change(earlier, later, *, earlier_uncertainty, later_uncertainty):
    """How large a change is, counted in what the two uncertainties together leave open.

    Up to 1 the two measurements agree: nothing is proven to have changed. Above 1 it has changed, or the two
    were not measured alike.

    Formula
    -------
    normalised_change = abs(later - earlier) / sqrt(earlier_uncertainty**2 + later_uncertainty**2)

    Parameters
    ----------
    earlier, later : float or array [1]
        The two values, in one unit.
    earlier_uncertainty, later_uncertainty : float or array [1]
        Their expanded uncertainties, k = 2, in the same unit.

    Returns
    -------
    float or array [1]
        The change as a multiple; above 1 it is proven.

    Range
    -----
    Uncertainties above zero, of measurements that share no error; where they do (the same dial with the same
    wrong step) the change is better known than this says. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an uncertainty is zero or less.

    Examples
    --------
    >>> normalised_change(30.0, 31.0, earlier_uncertainty=0.3, later_uncertainty=0.4)
    2.0

    Source
    ------
    E_n of ISO/IEC 17043 (from memory).
    """
    left_open = least_provable_change(earlier_uncertainty, later_uncertainty=later_uncertainty)
    return abs(later - earlier) / left_open


def least_provable_change(earlier_uncertainty, *, later_uncertainty):
    """How much a quantity must change before two measurements of it can prove so.

    Formula
    -------
    least_provable_change = sqrt(earlier_uncertainty**2 + later_uncertainty**2)

    Parameters
    ----------
    earlier_uncertainty, later_uncertainty : float or array [1]
        Expanded uncertainties of the two measurements, k = 2, in one unit.

    Returns
    -------
    float or array [1]
        The least change that is proven, in the same unit.

    Range
    -----
    Uncertainties above zero, of measurements that share no error. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If an uncertainty is zero or less.

    Examples
    --------
    >>> least_provable_change(0.3, later_uncertainty=0.4)
    0.5

    Source
    ------
    Derived here: E_n = 1 (ISO/IEC 17043, from memory) solved for the change.
    """
    earlier = positive("earlier_uncertainty", earlier_uncertainty)
    later = positive("later_uncertainty", later_uncertainty)
    return (earlier**2 + later**2) ** 0.5
