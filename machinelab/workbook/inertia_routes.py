"""The ways to the moment of inertia, each with all its doubts, side by side and beside the machine file."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import pandas as pd

from machinelab.estimate import Estimate
from machinelab.spindle.brake_inertia import inertia_from_braked_run
from machinelab.spindle.coast_inertia import inertia_from_disc
from machinelab.spindle.coastdown import CoastdownFit
from machinelab.spindle.inertia import braking_doubt_share, friction_doubt_share
from machinelab.workbook.measured import value_with_uncertainty
from machinelab.workbook.torque_words import torque_words
from machinelab.workbook.verdict import Agreement, agrees

DISC, BRAKE = "with the disc", "with the brake"
READINGS = "the readings"
FRICTION = "friction that differs from run to run"
READINGS_AND_FRICTION = f"{READINGS} and {FRICTION}"
OWN_DISC = "the disc's own inertia"
VOLTS_AND_OHMS = "the motor's volts and the ohms of the loop"


@dataclass(frozen=True)
class Route:
    """One way to the inertia.

    Parameters
    ----------
    name : str
        ``DISC`` or ``BRAKE``.
    value : float [kg m2]
        What it gives.
    doubts : mapping of str to float
        Each doubt of 95 % as a share of the value, by what it comes from.
    warnings : tuple of str
        What to know before the figure is used.
    """

    name: str
    value: float
    doubts: Mapping[str, float]
    warnings: tuple[str, ...]

    @property
    def share(self) -> float:
        """All doubts together, as a share of the value."""
        return math.hypot(*self.doubts.values())

    @property
    def inertia(self) -> Estimate:
        """The value with all doubts."""
        return Estimate.symmetric(self.value, self.share * self.value)

    @property
    def shown(self) -> str:
        """The value with its uncertainty, as it stands in a record."""
        return value_with_uncertainty(self.value, self.inertia.expanded_uncertainty, "kg m²")

    @property
    def weak_point(self) -> str:
        """What most of the doubt comes from."""
        return max(self.doubts, key=self.doubts.get)


def disc_route(
    pairs: Iterable[tuple[CoastdownFit, CoastdownFit]],
    *,
    added_inertia_kg_m2: float,
    added_doubt_share: float,
    friction_scatter_share: float,
) -> Route:
    """The inertia by pairs of a free run and a run with a disc; several pairs tell their own scatter."""
    free_runs, disc_runs = zip(*pairs, strict=True)
    told = inertia_from_disc(free_runs, disc_runs, added_inertia_kg_m2=added_inertia_kg_m2)
    by_runs = told.inertia_kg_m2.expanded_uncertainty / told.inertia_kg_m2.value
    if len(free_runs) > 1:
        doubts = {READINGS_AND_FRICTION: by_runs, OWN_DISC: added_doubt_share}
        return Route(DISC, float(told.inertia_kg_m2.value), doubts, told.warnings)
    scatter = friction_doubt_share(told.drag_ratio.value, friction_scatter_share=2 * friction_scatter_share)
    doubts = {
        READINGS: by_runs,
        FRICTION: float(scatter),
        OWN_DISC: added_doubt_share,
    }
    return Route(DISC, float(told.inertia_kg_m2.value), doubts, told.warnings)


def brake_route(
    free: CoastdownFit,
    log,
    *,
    circuit: Mapping[str, float],
    filed_lag_s: float | None,
    emf_doubt_share: float,
    resistance_doubt_share: float,
    friction_scatter_share: float,
) -> Route:
    """The inertia by a free run and a braked one; a log of a display is reckoned with its lag."""
    known = {**circuit, "friction_scatter_share": friction_scatter_share}
    told = inertia_from_braked_run(free, log, **known)
    if told.braked.readings.update_s:
        # Only a display holds its numbers; an encoder does not lag.
        told = inertia_from_braked_run(free, log, **known, **_lag(free, filed_lag_s))
    doubts = {
        READINGS_AND_FRICTION: told.inertia_kg_m2.expanded_uncertainty / told.inertia_kg_m2.value,
        VOLTS_AND_OHMS: float(
            braking_doubt_share(
                emf_doubt_share=emf_doubt_share, resistance_doubt_share=resistance_doubt_share
            )
        ),
    }
    return Route(BRAKE, told.inertia_kg_m2.value, doubts, told.warnings)


def _lag(free: CoastdownFit, filed_lag_s: float | None) -> dict[str, float]:
    if free.lag_s is not None:
        return {"lag_s": free.lag_s.value, "lag_doubt_s": free.lag_s.expanded_uncertainty}
    return {"lag_s": filed_lag_s or 0.0}


@dataclass(frozen=True)
class InertiaFound:
    """What is known of the inertia: one route or two, and what stands in the machine file.

    Parameters
    ----------
    routes : tuple of Route
        At least one.
    filed_kg_m2 : float or None [kg m2]
        What the machine file has.
    free : CoastdownFit
        The free run, whose drags become newton metres.
    """

    routes: tuple[Route, ...]
    filed_kg_m2: float | None
    free: CoastdownFit

    @property
    def best(self) -> Route:
        """The route with the least doubt."""
        return min(self.routes, key=lambda route: route.share)

    @property
    def agreement(self) -> Agreement | None:
        """Whether the two routes agree; None while there is only one."""
        if len(self.routes) < 2:
            return None
        first, second = (route.inertia for route in self.routes)
        return agrees(
            first.value,
            uncertainty=first.expanded_uncertainty,
            predicted=second.value,
            predicted_uncertainty=second.expanded_uncertainty,
        )

    @property
    def file_agreement(self) -> Agreement | None:
        """Whether the machine file agrees with the better route; None where the file is silent."""
        if self.filed_kg_m2 is None:
            return None
        found = self.best.inertia
        return agrees(
            found.value,
            uncertainty=found.expanded_uncertainty,
            predicted=self.filed_kg_m2,
            predicted_uncertainty=0.0,
        )

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        best = f"{self.best.value:.3g} kg m² ± {100 * self.best.share:.2g} %"
        if self.agreement is None:
            return f"The inertia is {best}, {self.best.name}."
        if self.agreement.agrees:
            return f"Disc and brake agree; {self.best.name} the inertia is {best}."
        return f"Disc and brake DO NOT AGREE; the more certain one, {self.best.name}, says {best}."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return " ".join(self.told())

    def table(self) -> pd.DataFrame:
        """Each route with its interval and its weak point, and the line of the machine file."""
        rows = [
            (
                route.name,
                f"{route.value:.3g}",
                *(f"{end:.3g}" for end in route.inertia.interval),
                f"±{100 * route.share:.2g} %",
                route.weak_point,
            )
            for route in self.routes
        ]
        if self.filed_kg_m2 is not None:
            rows.append(("in the machine file", f"{self.filed_kg_m2:.3g}", "", "", "", ""))
        columns = ["", "inertia, kg m²", "95 % from", "to", "doubt", "mostly by"]
        return pd.DataFrame(rows, columns=columns).set_index("")

    def friction_table(self) -> pd.DataFrame:
        """The free run's drags in newton metres, by the better route."""
        inertia, drags, speed = self.best.value, self.free.drags, self.free.start_speed_rpm.value
        rad_s = speed * 2 * math.pi / 60
        rows = [
            ("dry friction", inertia * drags["coulomb_rad_s2"]),
            (f"viscous drag at {speed:.0f} rpm", inertia * drags["viscous_per_s"] * rad_s),
            (f"windage at {speed:.0f} rpm", inertia * drags["windage_per_rad"] * rad_s**2),
            (
                f"all at {speed:.0f} rpm",
                float(self.free.friction_torque_nm(speed, inertia_kg_m2=inertia)),
            ),
        ]
        return pd.DataFrame(
            [(name, torque_words(torque)) for name, torque in rows], columns=["", "torque at the spindle"]
        ).set_index("")

    def told(self) -> list[str]:
        """What it comes to, line by line."""
        return [
            *(f"Inertia {route.name}: {route.shown}." for route in self.routes),
            *self._compared(),
            *self._beside_the_file(),
            *(f"Mind, {route.name}: {warning}" for route in self.routes for warning in route.warnings),
        ]

    def _compared(self):
        if self.agreement is None:
            only = self.best
            other = BRAKE if only.name == DISC else DISC
            yield (
                f"There is one way so far, and nothing to hold it against. A run {other} errs in other "
                "ways: if both agree, believe them."
            )
            return
        best = self.best
        poorer = next(route for route in self.routes if route is not best)
        yield (
            f"The two ways {'agree' if self.agreement.agrees else 'DO NOT AGREE'}: they are "
            f"{abs(self.routes[0].value - self.routes[1].value):.2g} kg m² apart, which is "
            f"{self.agreement.e_n:.2g} times what both doubts together allow."
        )
        yield (
            f"The better one here is {best.name}, known to {100 * best.share:.2g} % against "
            f"{100 * poorer.share:.2g} %: the run {poorer.name} suffers most from {poorer.weak_point}, the "
            f"run {best.name} from {best.weak_point}."
        )
        if not self.agreement.agrees:
            yield self._mismatch()

    def _mismatch(self) -> str:
        values = {route.name: route.value for route in self.routes}
        if values[BRAKE] > values[DISC]:
            return (
                "The brake gives more. Either the loop has more ohms than the machine file says (a hot "
                "resistor, leads, brushes), the motor makes fewer volts than it says (weak magnets), or the "
                "belt slips under the brake; or the spindle ran more freely with the disc than without, "
                "being warmer. Measure the ohms hot, then take both coasts again, in turn."
            )
        return (
            "The disc gives more. Either the disc beats the air or loads the bearings, so that friction grew "
            "with it, or its own inertia is overrated (a hole, a groove); or the loop has fewer ohms than "
            "the machine file says. Weigh and measure the disc again, then take both coasts again, in turn."
        )

    def _beside_the_file(self):
        if self.filed_kg_m2 is None:
            yield "The machine file has no inertia yet."
            return
        off = 100 * (self.filed_kg_m2 / self.best.value - 1)
        agreed = self.file_agreement.agrees
        yield (
            f"The machine file has {self.filed_kg_m2:.3g} kg m², {abs(off):.1f} % from that: "
            f"{'within' if agreed else 'OUTSIDE'} the doubt of the measurement."
            + ("" if agreed else " Put the measured figure into the file: brake and threading lean on it.")
        )
