"""A slender bar on this machine: how much too thick it comes out, what would do, and how fast it may turn."""

from dataclasses import dataclass, replace

import numpy as np

from machinelab import tables
from machinelab.work.bar import Bar, best_steady_mm, critical_speed_rpm
from machinelab.work.bending import slender_ratio
from machinelab.work.chuck_push import force_across_n
from machinelab.work.cutting import turning
from machinelab.work.cutting_force import DOUBT_SHARE, cutting_material
from machinelab.work.holding import (
    CHUCK_AND_CENTRE,
    CHUCK_AND_STEADY,
    CHUCK_ONLY,
    CHUCK_STEADY_CENTRE,
    HOLDINGS,
    WITH_STEADY,
    diameter_error_mm,
    held_bar,
    largest_force_n,
    longest_work_mm,
)
from machinelab.work.whip import BENT_SHARE, USUAL_SHARE, whip_limit_rpm
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

# What is cut, and the row of the table of bars that it bends like; stainless is a little softer, from memory.
BENDS_LIKE = {
    "free-cutting steel": "steel",
    "mild steel": "steel",
    "medium carbon steel": "steel",
    "alloy steel": "steel",
    "tool steel": "steel",
    "austenitic stainless steel": "steel",
    "grey iron": "cast iron",
    "aluminium": "aluminium",
    "brass": "brass",
    "bronze": "bronze",
    "titanium": "titanium",
}
# Force across the work over force along the cut: 0.3 to 0.5, common practice, no source.
ACROSS_SHARE, ACROSS_DOUBT = 0.4, 0.25
FORCE_DOUBT = float(np.hypot(DOUBT_SHARE, ACROSS_DOUBT))
# Diameters of overhang that the trade allows; common practice, no source. For a steady rest it has no figure.
RULE = {CHUCK_ONLY: (3, 4), CHUCK_AND_CENTRE: (6, 10)}
# A usual shop-made steady rest; a softer one rules the deflection (common practice, no source).
USUAL_STEADY_N_MM = 20_000.0
ANY_RPM = 100.0
POINTS = 121
# No spindle of such a machine comes near.
BEYOND_RPM = 10_000
WITHOUT_STEADY = {CHUCK_AND_STEADY: CHUCK_ONLY, CHUCK_STEADY_CENTRE: CHUCK_AND_CENTRE}


@dataclass(frozen=True)
class Grip:
    """How stiff the chuck is: infinitely, until a push test has told."""

    turning_nmm_rad: float = np.inf
    spring_n_mm: float = np.inf

    @property
    def measured(self) -> bool:
        """Whether a push test has told."""
        return bool(np.isfinite(self.turning_nmm_rad) or np.isfinite(self.spring_n_mm))


RIGID = Grip()


@dataclass(frozen=True)
class SlenderWork:
    """One bar, how it is held and what is cut.

    Parameters
    ----------
    holding, material : str
        Way to hold, and a name of ``BENDS_LIKE``.
    diameter_mm, length_mm : float [mm]
        Of the bar; the length from the jaws or from centre to centre.
    steady_mm : float [mm]
        Place of the steady rest from the chuck.
    steady_n_mm : float [N/mm]
        Its stiffness.
    depth_mm, feed_mm : float [mm]
        Of the cut.
    typed_force_n : float [N]
        Force across the work as it was measured; 0 takes it from depth and feed.
    allowed_mm : float [mm]
        What the diameter may be too large.
    grip : Grip
        Stiffness of the chuck.
    lengths : ShopLengths
        How the shop writes lengths.
    """

    holding: str
    material: str
    diameter_mm: float
    length_mm: float
    steady_mm: float
    steady_n_mm: float
    depth_mm: float
    feed_mm: float
    typed_force_n: float
    allowed_mm: float
    grip: Grip = RIGID
    lengths: ShopLengths = MILLIMETRES

    @property
    def force_n(self) -> float:
        """Force across the work."""
        if self.typed_force_n:
            return self.typed_force_n
        law = cutting_material(self.material)
        cut = turning(
            depth_mm=self.depth_mm,
            feed_mm=self.feed_mm,
            diameter_mm=self.diameter_mm,
            speed_rpm=ANY_RPM,
            specific_force_1_n_mm2=law.specific_force_1_n_mm2,
            chip_exponent=law.chip_exponent,
        )
        return float(force_across_n(cut.force_n, across_share=ACROSS_SHARE))

    @property
    def force_doubt(self) -> float:
        """Doubt of that force, as a share of it; a force that was measured is taken as it is."""
        return 0.0 if self.typed_force_n else FORCE_DOUBT

    @property
    def most_force_n(self) -> float:
        """The force with its doubt on top."""
        return (1 + self.force_doubt) * self.force_n

    @property
    def elasticity_n_mm2(self) -> float:
        """Modulus of elasticity."""
        return float(self._bends["elasticity_n_mm2"])

    @property
    def density_kg_m3(self) -> float:
        """Density."""
        return float(self._bends["density_kg_m3"])

    @property
    def expansion_per_k(self) -> float:
        """How much it grows for each kelvin."""
        return float(self._bends["expansion_per_k"])

    @property
    def _bends(self) -> dict:
        wanted = BENDS_LIKE[self.material]
        return next(row for row in tables.read("bar_materials") if row["material"] == wanted)

    @property
    def has_steady(self) -> bool:
        """Whether a steady rest stands in it."""
        return self.holding in WITH_STEADY

    @property
    def bar(self) -> Bar:
        """The bar with all that holds it."""
        return held_bar(
            self.holding,
            bar_diameter_mm=self.diameter_mm,
            overhang_mm=self.length_mm,
            steady_share=self.steady_mm / self.length_mm,
            density_kg_m3=self.density_kg_m3,
            **self._stiffness,
        )

    @property
    def longest_mm(self) -> float:
        """How long the bar might be with this cut; NaN where none is short enough."""
        return longest_work_mm(
            self.holding,
            self.most_force_n,
            self.allowed_mm,
            bar_diameter_mm=self.diameter_mm,
            steady_share=self.steady_mm / self.length_mm,
            **self._stiffness,
        )

    @property
    def deepest_mm(self) -> float:
        """The deepest cut at this feed that keeps the limit; force goes with depth."""
        return self.depth_mm * largest_force_n(self.bar, self.allowed_mm) / self.most_force_n

    @property
    def best_steady_mm(self) -> float:
        """Where a steady rest would help the most."""
        bar = replace(self, holding=WITHOUT_STEADY.get(self.holding, self.holding)).bar
        return best_steady_mm(bar, self.force_n, spring_n_mm=self.steady_n_mm)[0]

    @property
    def _stiffness(self) -> dict[str, float]:
        return {
            "steady_spring_n_mm": self.steady_n_mm,
            "chuck_turning_nmm_rad": self.grip.turning_nmm_rad,
            "chuck_spring_n_mm": self.grip.spring_n_mm,
            "elasticity_n_mm2": self.elasticity_n_mm2,
        }


@dataclass(frozen=True)
class SlenderView:
    """The bar worked out: the error all along it, and what would do."""

    work: SlenderWork
    at_mm: np.ndarray
    error_mm: np.ndarray
    longest_mm: float
    deepest_mm: float
    critical_rpm: float
    top_rpm: float | None

    @property
    def best_steady_mm(self) -> float:
        """Where a steady rest would help the most."""
        return self.work.best_steady_mm

    @property
    def worst_mm(self) -> float:
        """The error where it is worst, the force's doubt on top."""
        return (1 + self.work.force_doubt) * float(self.error_mm.max())

    @property
    def worst_at_mm(self) -> float:
        """Where that is."""
        return float(self.at_mm[np.argmax(self.error_mm)])

    @property
    def keeps(self) -> bool:
        """Whether the limit is kept all along the bar."""
        return self.worst_mm <= self.work.allowed_mm

    @property
    def allowed_rpm(self) -> float:
        """The fastest for the bar's whip, a straight bar held as reckoned."""
        return float(whip_limit_rpm(self.critical_rpm, whip_share=USUAL_SHARE))

    @property
    def bent_rpm(self) -> float:
        """The same for a bar that is bent, or loosely held."""
        return float(whip_limit_rpm(self.critical_rpm, whip_share=BENT_SHARE))

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        word = "keeps" if self.keeps else "breaks"
        told = self.work.lengths.told
        return (
            f"{_capital(self.work.holding)}: the diameter comes out up to {told(self.worst_mm, 3)} too "
            f"large, {told(self.worst_at_mm, 0)} out; that {word} the {told(self.work.allowed_mm, 3)} you "
            "allow."
        )

    @property
    def details(self) -> str:
        """What else the figure shows."""
        passing = " The tool cannot pass the steady rest: cut it in two settings." * self.work.has_steady
        return f"Force across the bar {self.work.force_n:.0f} N. {self.length_told}.{passing}"

    @property
    def length_told(self) -> str:
        """How long the bar might be, in words."""
        if np.isnan(self.longest_mm):
            return "No length keeps the limit with this cut: what holds the bar gives too much already"
        if np.isinf(self.longest_mm):
            return "Bending does not bound the length with so light a cut"
        return f"With this cut the bar may be {self.work.lengths.told(self.longest_mm, 0)} long"

    @property
    def speed_told(self) -> str:
        """How fast it may turn, in words."""
        if self.top_rpm is not None and self.bent_rpm > self.top_rpm:
            return (
                f"{self._whips_told}; even bent or loosely held it bears the "
                f"{self.top_rpm:.0f} rpm that the spindle may turn"
            )
        return (
            f"{self._whips_told}: stay below {self.allowed_rpm:.0f}, below "
            f"{self.bent_rpm:.0f} where it is bent or loosely held"
        )

    @property
    def _whips_told(self) -> str:
        if self.critical_rpm > BEYOND_RPM:
            return "It is too stiff to whip at any speed of such a machine"
        return f"It whips at {self.critical_rpm:.0f} rpm"

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        steady, lengths = "", self.work.lengths
        if self.work.has_steady:
            best = lengths.told(self.best_steady_mm, 0)
            steady = f" The steady rest helps the most {best} from the chuck."
        return (
            f"{self.length_told}; at this length the cut may be {lengths.short(self.deepest_mm, 2)} "
            f"deep.{steady} {self.speed_told}. {self.rule_told}"
        )

    @property
    def rule_told(self) -> str:
        """The workshop's rule of length over diameter, and what it leaves out."""
        ratio = float(slender_ratio(self.work.length_mm, self.work.diameter_mm))
        said = RULE.get(self.work.holding)
        if said is None:
            return f"Length over diameter is {ratio:.1f}; the workshop's rule has no figure for this holding."
        return (
            f"Length over diameter is {ratio:.1f}; the workshop's rule allows {said[0]} to {said[1]} "
            "(common practice, no source) and leaves out that a thinner bar at the same ratio bends more."
        )


def view_slender(
    *,
    holding: str,
    material: str,
    diameter_mm: float,
    length_mm: float,
    steady_mm: float,
    steady_n_mm: float,
    depth_mm: float,
    feed_mm: float,
    typed_force_n: float,
    allowed_mm: float,
    grip: Grip = RIGID,
    top_rpm: float | None = None,
    lengths: ShopLengths = MILLIMETRES,
) -> SlenderView:
    """Work a bar out, whichever way it is held."""
    work = SlenderWork(
        holding,
        material,
        diameter_mm,
        length_mm,
        steady_mm,
        steady_n_mm,
        depth_mm,
        feed_mm,
        typed_force_n,
        allowed_mm,
        grip,
        lengths,
    )
    return view_of(work, top_rpm)


def view_of(work: SlenderWork, top_rpm: float | None) -> SlenderView:
    """Work out one bar."""
    along = np.linspace(0, work.length_mm, POINTS)
    return SlenderView(
        work=work,
        at_mm=along,
        error_mm=diameter_error_mm(work.bar, work.force_n, along),
        longest_mm=work.longest_mm,
        deepest_mm=work.deepest_mm,
        critical_rpm=critical_speed_rpm(work.bar),
        top_rpm=top_rpm,
    )


def every_way(work: SlenderWork, top_rpm: float | None) -> tuple[SlenderView, ...]:
    """The same bar held in every way, a steady rest where it helps the most."""
    ways = (replace(work, holding=holding) for holding in HOLDINGS)
    placed = (replace(way, steady_mm=way.best_steady_mm) if way.has_steady else way for way in ways)
    return tuple(view_of(way, top_rpm) for way in placed)


def below_rpm(speed_rpm: float) -> str:
    """A speed to stay below, in words; far above any spindle its figures say nothing."""
    return "any speed" if speed_rpm > BEYOND_RPM else f"{speed_rpm:.0f} rpm"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
