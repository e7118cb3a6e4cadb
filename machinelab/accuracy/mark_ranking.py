"""Which part printed the marks: every part of the machine weighed against the spacing that was measured."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from machinelab.accuracy.marks import DriveElement, seen_spacing_mm, spacing_mm
from machinelab.errors import RangeError
from machinelab.ranges import positive

__all__ = ["MarkRanking", "TellingTest", "counted_spacing_sd_mm", "rank_elements", "telling_test"]

NONE_OF_THESE = "none of these"
ALIKE = 2.0
STILL_PROBABLE = 0.1
DECIDED = 0.75
NONE_PRIOR = 0.5


@dataclass(frozen=True)
class MarkRanking:
    """Candidates in the order of their probability.

    Parameters
    ----------
    names : tuple of str
        From the most to the least probable; one stands for none of them.
    spacing_mm : tuple of float [mm]
        Where the marks of each would stand, as seen along the bar; missing for none of them.
    probability : tuple of float [1]
        Of each.
    cannot_tell : tuple of str
        Those whose marks stand within two uncertainties of the first one's, or that are a tenth as probable.
    decided : bool
        True when the first is three times as probable as all others together and nothing is like it.
    """

    names: tuple[str, ...]
    spacing_mm: tuple[float, ...]
    probability: tuple[float, ...]
    cannot_tell: tuple[str, ...]
    decided: bool


@dataclass(frozen=True)
class TellingTest:
    """What to change for the next cut, so that the leading candidates part.

    Parameters
    ----------
    feed_mm : float [mm]
        Feed for one turn of the spindle.
    speed_rpm : float [rpm]
        Spindle speed.
    foretold_mm : tuple of float [mm]
        Where the marks of each candidate would then stand, in the order given.
    """

    feed_mm: float
    speed_rpm: float
    foretold_mm: tuple[float, ...]


def counted_spacing_sd_mm(rule_sd_mm, bands):
    """The standard uncertainty of a spacing that was found by measuring over several bands.

    Formula
    -------
    counted_spacing_sd_mm = sqrt(2) * rule_sd_mm / bands

    Parameters
    ----------
    rule_sd_mm : float or array [mm]
        Of one end of the measurement: about 0.25 for a steel rule, 0.02 for a caliper.
    bands : int or array [1]
        Spacings from the first mark to the last.

    Returns
    -------
    float or array [mm]
        Standard deviation of one spacing.

    Range
    -----
    At least one band; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the figures are zero or negative.

    Examples
    --------
    >>> round(float(counted_spacing_sd_mm(0.25, 10)), 4)
    0.0354

    Source
    ------
    Derived here: two ends, each with its own doubt. The rule's and caliper's are common practice, no source.
    """
    return np.sqrt(2) * positive("rule_sd_mm", rule_sd_mm) / positive("bands", bands)


def rank_elements(
    elements: Sequence[DriveElement],
    *,
    observed_mm,
    observed_sd_mm,
    feed_mm,
    feed_share,
    speed_rpm,
    screw_lead_mm,
    none_prior=NONE_PRIOR,
) -> MarkRanking:
    """Weigh every part of the machine against a measured spacing.

    Formula
    -------
    none: Bayes' rule with a normal density about each part's spacing, of the measurement's and the part's own
    doubt together, and a flat density from a tenth to ten times the measured spacing for none of them

    Parameters
    ----------
    elements : sequence of DriveElement
        The parts of this machine, with their harmonics.
    observed_mm : float [mm]
        Spacing of the marks along the bar.
    observed_sd_mm : float [mm]
        Its standard uncertainty, see `counted_spacing_sd_mm`.
    feed_mm : float [mm]
        Feed for one turn of the spindle, as measured.
    feed_share : float [1]
        Its standard uncertainty as a share.
    speed_rpm : float [rpm]
        Spindle speed.
    screw_lead_mm : float [mm]
        Lead of the leadscrew.
    none_prior : float [1]
        How likely it is, beside all parts together, that it is none of them.

    Returns
    -------
    MarkRanking
        Candidates with probabilities, and those that cannot be told from the first.

    Range
    -----
    At least one part; spacing and doubts above zero.

    Raises
    ------
    RangeError
        If there is no part, or a figure is zero or negative.

    Examples
    --------
    >>> parts = [DriveElement("leadscrew", "screw", 1.0), DriveElement("mains", "time", 120.0)]
    >>> found = rank_elements(
    ...     parts,
    ...     observed_mm=3.02,
    ...     observed_sd_mm=0.035,
    ...     feed_mm=0.1,
    ...     feed_share=0.01,
    ...     speed_rpm=300,
    ...     screw_lead_mm=3.0,
    ... )
    >>> found.names[0], found.decided
    ('leadscrew', True)

    Source
    ------
    Bayes' rule, textbook.
    """
    if not elements:
        raise RangeError(
            "There is no part to suspect; describe the drive on the page of the machine as built."
        )
    seen = float(positive("observed_mm", observed_mm))
    doubt = float(positive("observed_sd_mm", observed_sd_mm))
    cut = {"feed_mm": feed_mm, "speed_rpm": speed_rpm, "screw_lead_mm": screw_lead_mm}
    places = np.array([_seen_mm(element, cut) for element in elements])
    own = np.array([_own_sd_mm(element, cut, feed_share) for element in elements])
    density = _densities(seen, places, np.hypot(doubt, own))
    prior = np.array([element.prior for element in elements])
    weights = np.append(prior / prior.sum() * density, none_prior / (9.9 * seen))
    probability = weights / weights.sum()
    order = sorted(range(probability.size), key=probability.__getitem__, reverse=True)
    names = [*(element.name for element in elements), NONE_OF_THESE]
    spots = np.append(places, np.nan)
    alike = _like_the_first(order, spots, ALIKE * doubt, probability)
    return MarkRanking(
        names=tuple(names[place] for place in order),
        spacing_mm=tuple(float(spots[place]) for place in order),
        probability=tuple(float(one) for one in probability[order]),
        cannot_tell=tuple(names[place] for place in alike),
        decided=bool(probability[order[0]] >= DECIDED and not alike and order[0] < len(elements)),
    )


def telling_test(
    elements: Sequence[DriveElement], *, feed_mm, speed_rpm, screw_lead_mm, feeds_mm, speeds_rpm
) -> TellingTest:
    """The feed and speed, among those the machine can do, at which the leading candidates part the most.

    Parts that keep step with the spindle follow the feed, parts of the screw follow nothing, and what keeps
    its own time follows feed and speed: two knobs tell the three apart.

    Formula
    -------
    none: the pair of feed and speed with the largest smallest ratio between any two foretold spacings

    Parameters
    ----------
    elements : sequence of DriveElement
        The candidates that cannot be told apart yet, at least two.
    feed_mm : float [mm]
        Feed of the cut at hand.
    speed_rpm : float [rpm]
        Its speed.
    screw_lead_mm : float [mm]
        Lead of the leadscrew.
    feeds_mm : sequence of float [mm]
        Other feeds to choose from.
    speeds_rpm : sequence of float [rpm]
        Other speeds to choose from.

    Returns
    -------
    TellingTest
        What to change, and what each candidate would then do.

    Range
    -----
    At least two candidates and one other setting.

    Raises
    ------
    RangeError
        If there are fewer.

    Examples
    --------
    >>> parts = [DriveElement("leadscrew", "screw", 1.0), DriveElement("belt", "spindle", 1 / 30)]
    >>> found = telling_test(
    ...     parts, feed_mm=0.1, speed_rpm=300, screw_lead_mm=3.0, feeds_mm=[0.2], speeds_rpm=[300]
    ... )
    >>> [round(one, 3) for one in found.foretold_mm]
    [3.0, 6.0]

    Source
    ------
    Derived here.
    """
    if len(elements) < 2:
        raise RangeError("There is nothing to tell apart: give at least two candidates.")
    settings = [(feed, speed) for feed in [feed_mm, *feeds_mm] for speed in [speed_rpm, *speeds_rpm]][1:]
    if not settings:
        raise RangeError("There is no other feed or speed to choose from; give at least one.")

    def foretold(setting) -> np.ndarray:
        cut = {"feed_mm": setting[0], "speed_rpm": setting[1], "screw_lead_mm": screw_lead_mm}
        return np.array([_seen_mm(element, cut) for element in elements])

    def parted(setting) -> float:
        places = np.sort(foretold(setting)[np.isfinite(foretold(setting))])
        return float(np.min(np.diff(np.log(places)))) if places.size == len(elements) else -np.inf

    # The first of equals changes the least, since the list begins at the feed in use.
    best = max(settings, key=parted)
    return TellingTest(float(best[0]), float(best[1]), tuple(float(one) for one in foretold(best)))


def _seen_mm(element: DriveElement, cut: dict) -> float:
    return float(seen_spacing_mm(element, **cut))


def _own_sd_mm(element: DriveElement, cut: dict, feed_share: float) -> float:
    """Doubt of where a part's marks are seen: by its own rate, and by the feed where it follows that."""
    seen = _seen_mm(element, cut)
    if not np.isfinite(seen):
        return float("nan")
    # Folding magnifies: a small change of the rate moves what is seen by seen over true.
    true = float(spacing_mm(element, **cut))
    by_rate = element.rate_share * seen**2 / true
    # What is seen scales with the feed, but for marks of the screw that are not folded.
    follows = element.locked_to != "screw" or seen > 1.001 * true
    return float(np.hypot(by_rate, feed_share * seen if follows else 0.0))


def _densities(seen, places: np.ndarray, sd: np.ndarray) -> np.ndarray:
    from scipy.stats import norm

    shown = np.isfinite(places)
    density = np.zeros(places.shape)
    density[shown] = norm.pdf(seen, places[shown], sd[shown])
    return density


def _like_the_first(order, spots, near_mm, probability) -> list[int]:
    """Places of the parts that this measurement cannot tell from the first, which must be a part itself."""
    first = order[0]
    if np.isnan(spots[first]):
        return []
    near = np.abs(spots - spots[first]) < near_mm
    probable = (probability >= STILL_PROBABLE * probability[first]) & ~np.isnan(spots)
    return [place for place in order[1:] if near[place] or probable[place]]
