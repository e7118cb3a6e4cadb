"""Marks on the work weighed against the machine: one cut or several, and which cut would tell more."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from machinelab.accuracy.mark_ranking import (
    NONE_OF_THESE,
    NONE_PRIOR,
    MarkRanking,
    TellingTest,
    counted_spacing_sd_mm,
    rank_elements,
    telling_test,
)
from machinelab.accuracy.marks import DriveElement, seen_spacing_mm, spacing_mm
from machinelab.errors import RangeError
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

# The feed is known from the gearing, or measured to about this share; common practice, no source.
FEED_SHARE = 0.005
RULERS_MM = {"steel rule": 0.25, "caliper": 0.02, "steel rule under a glass": 0.1}
MOST_SURE = 0.99
OTHER_SHARES = (0.5, 0.7, 1.4, 2.0)


@dataclass(frozen=True)
class MarkCut:
    """One cut with its marks: bands counted over a length."""

    feed_mm: float
    speed_rpm: float
    span_mm: float
    bands: int
    ruler_mm: float

    @property
    def spacing_mm(self) -> float:
        """From mark to mark."""
        return self.span_mm / self.bands

    @property
    def sd_mm(self) -> float:
        """Its standard uncertainty."""
        return float(counted_spacing_sd_mm(self.ruler_mm, self.bands))


@dataclass(frozen=True)
class MarkResult:
    """The cuts that were made and what they point to."""

    cuts: tuple[MarkCut, ...]
    ranking: MarkRanking
    test: TellingTest | None
    leaders: tuple[str, ...]
    lengths: ShopLengths = MILLIMETRES

    @property
    def suspects(self) -> list[tuple[str, float]]:
        """Names with probabilities, the most probable first."""
        return list(zip(self.ranking.names, self.ranking.probability, strict=True))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        first, share = self.ranking.names[0], self.ranking.probability[0]
        if first == NONE_OF_THESE:
            return "The marks fit nothing that turns on this machine: look for chatter, or measure again."
        if self.ranking.decided:
            return f"The marks come from: {first} ({percent(share)})."
        return f"Most probably {first} ({percent(share)}), but that is not decided yet."

    @property
    def details(self) -> str:
        """What else is to be said."""
        last = self.cuts[-1]
        told, number = self.lengths.told, self.lengths.number
        said = f"The marks stand {told(last.spacing_mm, 3)} apart, +/- {number(2 * last.sd_mm, 3)} (k=2)."
        if self.ranking.cannot_tell:
            said += f" Cannot be told from: {'; '.join(self.ranking.cannot_tell[:3])}."
        return said

    @property
    def next_cut(self) -> str:
        """Which cut would tell more, in words."""
        if self.test is None:
            return ""
        places = "; ".join(
            f"{name}: {_apart(place, self.lengths)}"
            for name, place in zip(self.leaders, self.test.foretold_mm, strict=True)
        )
        feed, speed = self.lengths.short(self.test.feed_mm), self.test.speed_rpm
        return (
            f"Next, cut at a feed of {feed} and {speed:.0f} rpm and measure again. The marks would then "
            f"stand so: {places}."
        )


def weigh(
    elements: Sequence[DriveElement],
    cuts: Sequence[MarkCut],
    *,
    screw_lead_mm: float,
    speeds_rpm: tuple[float, float],
    lengths: ShopLengths = MILLIMETRES,
) -> MarkResult:
    """Weigh every part against every cut, one after the other, and find the cut that would tell most."""
    if not cuts:
        raise RangeError("There is no cut yet: type feed, speed, length and the number of spacings.")
    now, none_prior, ranking = list(elements), NONE_PRIOR, None
    for cut in cuts:
        ranking = rank_elements(
            now,
            observed_mm=cut.spacing_mm,
            observed_sd_mm=cut.sd_mm,
            feed_mm=cut.feed_mm,
            feed_share=FEED_SHARE,
            speed_rpm=cut.speed_rpm,
            screw_lead_mm=screw_lead_mm,
            none_prior=none_prior,
        )
        share = dict(zip(ranking.names, ranking.probability, strict=True))
        # What one cut has made unlikely stays possible, for it may have been measured wrongly.
        now = [replace(one, prior=max(share[one.name], 1e-9)) for one in now]
        none_prior = share[NONE_OF_THESE] / max(1 - share[NONE_OF_THESE], 1e-9)
    leaders = [name for name in (ranking.names[0], *ranking.cannot_tell[:2]) if name != NONE_OF_THESE]
    test = None
    if len(leaders) > 1:
        last, known = cuts[-1], {one.name: one for one in elements}
        low, high = speeds_rpm
        test = telling_test(
            [known[name] for name in leaders],
            feed_mm=last.feed_mm,
            speed_rpm=last.speed_rpm,
            screw_lead_mm=screw_lead_mm,
            feeds_mm=[last.feed_mm * share for share in OTHER_SHARES],
            speeds_rpm=[float(np.clip(last.speed_rpm * share, low, high)) for share in OTHER_SHARES],
        )
    return MarkResult(tuple(cuts), ranking, test, tuple(leaders), lengths)


def read_cuts(rows: np.ndarray, *, ruler_mm: float) -> list[MarkCut]:
    """Turn lines of feed, speed, length and number of spacings into cuts."""
    cuts = []
    for feed, speed, span, bands in np.asarray(rows, dtype=float):
        if min(feed, speed, span, bands) <= 0 or bands != round(bands):
            raise RangeError(
                f"The line {feed:g} {speed:g} {span:g} {bands:g} cannot be: type the feed in mm, the speed "
                "in rpm, the length in mm, and the number of spacings over it as a whole number."
            )
        cuts.append(MarkCut(float(feed), float(speed), float(span), int(bands), ruler_mm))
    return cuts


def element_table(
    elements: Sequence[DriveElement],
    *,
    feed_mm: float,
    speed_rpm: float,
    screw_lead_mm: float,
    lengths: ShopLengths = MILLIMETRES,
) -> pd.DataFrame:
    """Where the marks of every part would stand at a feed and a speed."""
    rows = []
    for one in elements:
        cut = {"feed_mm": feed_mm, "speed_rpm": speed_rpm, "screw_lead_mm": screw_lead_mm}
        true, seen = float(spacing_mm(one, **cut)), float(seen_spacing_mm(one, **cut))
        rows.append((one.name, one.locked_to, lengths.short(true, 4), _apart(seen, lengths)))
    columns = ["part", "keeps step with the", "marks along the tool's path", "as seen along the bar"]
    return pd.DataFrame(rows, columns=columns).set_index("part").rename_axis(None)


def percent(share: float) -> str:
    """A probability in words; nothing is ever certain."""
    if share > MOST_SURE:
        return f"over {MOST_SURE:.0%}"
    return f"{share:.0%}" if share >= 1 - MOST_SURE else f"under {1 - MOST_SURE:.0%}"


def _apart(place_mm: float, lengths: ShopLengths) -> str:
    return lengths.short(place_mm) if np.isfinite(place_mm) else "not to be seen"
