"""Push and pull at every joint, and simple questions: which joint makes an occasional scratch."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from machinelab.accuracy.slop import Slop, own_shares_mm, slop
from machinelab.accuracy.suspects import TESTS, Ranking, rank_suspects
from machinelab.workbook.mark_results import percent
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

JOINTS = ("saddle", "cross slide", "top slide", "tool post", "tool")


@dataclass(frozen=True)
class SlopResult:
    """Play and stiffness of every joint, from the bed outward."""

    joints: tuple[str, ...]
    found: tuple[Slop, ...]
    lengths: ShopLengths = MILLIMETRES

    @property
    def worst(self) -> int:
        """The joint with the most free play that is proven."""
        return int(np.argmax([max(one.gap_mm.interval[0], 0.0) for one in self.found]))

    @property
    def headline(self) -> str:
        """The conclusion in words."""
        worst = self.found[self.worst]
        if worst.gap_mm.interval[0] <= 0:
            return "No free play is proven at any joint; what moves is spring."
        play = self.lengths.estimate(worst.gap_mm, 3)
        return f"The {self.joints[self.worst]} has the most free play: {play}."

    def table(self) -> pd.DataFrame:
        """Each joint with play and stiffness."""
        rows = [
            (joint, self.lengths.estimate(one.gap_mm, 3), _stiff(one))
            for joint, one in zip(self.joints, self.found, strict=True)
        ]
        columns = ["joint, its own share", "free play", "stiffness"]
        return pd.DataFrame(rows, columns=columns).set_index(columns[0]).rename_axis(None)


@dataclass(frozen=True)
class ScratchResult:
    """Suspects for an occasional scratch, and the next question."""

    ranking: Ranking

    @property
    def suspects(self) -> list[tuple[str, float]]:
        """Names with probabilities, the most probable first."""
        return list(zip(self.ranking.suspects, self.ranking.probability, strict=True))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        first, share = self.suspects[0]
        if not self.ranking.decided:
            return f"Undecided: {first} leads with {percent(share)}."
        return f"Look first at: {first} ({percent(share)})."

    @property
    def details(self) -> str:
        """What else is to be said."""
        soft = self.ranking.soft_probability[0]
        said = f"If every answer told much less than assumed, it would still be {percent(soft)}."
        return f"{said} Next: {self.next_question}" if self.next_question else said

    @property
    def next_question(self) -> str:
        """The question whose answer would tell the most."""
        return TESTS[self.ranking.next_test] if self.ranking.next_test else ""


def joint_slop(rows: np.ndarray, *, reading_sd_mm: float, lengths: ShopLengths = MILLIMETRES) -> SlopResult:
    """Take lines of force and the swing at each joint, in N and mm, apart."""
    table = np.asarray(rows, dtype=float)
    force, shares = table[:, 0], own_shares_mm_of(table[:, 1:])
    # A share is a difference of two swings, each the difference of two readings.
    sd = 2 * reading_sd_mm
    found = tuple(slop(force, share, reading_sd_mm=sd) for share in shares.T)
    return SlopResult(JOINTS, found, lengths)


def own_shares_mm_of(swings_mm: np.ndarray) -> np.ndarray:
    """What each joint adds, for every force."""
    return np.array([own_shares_mm(row) for row in swings_mm])


def judge_scratch(answers: dict[str, bool | None]) -> ScratchResult:
    """Rank the suspects by the answers."""
    return ScratchResult(rank_suspects(answers))


def _stiff(one: Slop) -> str:
    low, high = one.stiffness_n_um.interval
    if not np.isfinite(one.stiffness_n_um.value):
        return "too stiff to tell"
    top = f"{high:.3g}" if np.isfinite(high) and high > 0 else "any"
    return f"{one.stiffness_n_um.value:.3g} N/µm ({max(low, 0):.3g} to {top})"
