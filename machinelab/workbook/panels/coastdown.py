"""Coast-down: see what each drag does to a run-down, and read the measured one off at any speed."""

from dataclasses import dataclass
from fractions import Fraction
from functools import partial

import numpy as np

from machinelab.estimate import Estimate
from machinelab.spindle.coast_law import coast_speed_rad_s, coast_stop_time_s, coast_turns
from machinelab.units import Field, show
from machinelab.workbook.figures.coast_shapes import CoastShapes
from machinelab.workbook.figures.run_on import RunOn
from machinelab.workbook.measured import with_interval
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity
from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

RPM = 2 * np.pi / 60
CURVE_POINTS = 160
NEXT_TO_NONE = 1e-9

START = Field(
    name="Speed when the drive lets go",
    kind="speed",
    low="20 rpm",
    high="10000 rpm",
    example="1200 rpm",
    help="Where the run-down begins.",
)
DRY = Field(
    name="Standstill by dry friction alone",
    kind="time",
    low="0.5 s",
    high="1000 s",
    example="40 s",
    help="How long it would coast if only tight bearings, belt and brushes held it. A loose spindle: longer.",
)
VISCOUS = Field(
    name="Share of grease and oil",
    kind="share",
    low="0 %",
    high="80 %",
    example="30 %",
    help="Of all that slows it at the start speed: the part that grows with speed. Cold grease: more.",
)
WINDAGE = Field(
    name="Share of moving air",
    kind="share",
    low="0 %",
    high="80 %",
    example="10 %",
    help="Of all that slows it at the start speed: the part that grows with speed squared. A fan: more.",
)
LEAD = Field(
    name="Lead of the thread",
    kind="lead",
    low="0.1 mm",
    high="50 mm",
    example="26 tpi",
    help="While the screw stays engaged, the tool travels on by one lead for each turn.",
)


@dataclass(frozen=True)
class CoastShape:
    """A run-down for one set of drags, and how it would be with drags left out."""

    start_rpm: float
    stop_time_s: float
    turns: float
    curves: dict
    sentence: str


def shape_of(
    *, start_rpm: float, dry_stop_s: float, viscous_share: float, windage_share: float
) -> CoastShape:
    """Work out a run-down from what a person can picture: a time for dry friction, shares for the rest."""
    start = start_rpm * RPM
    coulomb = start / dry_stop_s
    rest = max(1 - (viscous_share + windage_share) / 100, 0.05)
    total = coulomb / rest
    drags = {
        "coulomb_rad_s2": coulomb,
        "viscous_per_s": total * viscous_share / 100 / start,
        "windage_per_rad": total * windage_share / 100 / start**2,
    }
    sets = {
        "all together": drags,
        "dry friction alone": {"coulomb_rad_s2": coulomb},
        "dry and viscous": {**drags, "windage_per_rad": 0.0},
    }
    stop_s, turns = float(coast_stop_time_s(start, **drags)), float(coast_turns(start, **drags))
    return CoastShape(
        start_rpm=start_rpm,
        stop_time_s=stop_s,
        turns=turns,
        curves={name: _curve(start, law) for name, law in sets.items()},
        sentence=(
            f"Dry friction alone would take {dry_stop_s:.3g} s; what grows with speed shortens that to "
            f"{stop_s:.3g} s, mostly at the top. The last turns are slowed by dry friction whatever the rest."
        ),
    )


def _curve(start, law):
    time_s = np.linspace(0, float(coast_stop_time_s(start, **law)), CURVE_POINTS)
    return time_s, coast_speed_rad_s(time_s, start_speed_rad_s=start, **law) / RPM


def shapes_panel(*, start_rpm: float, dry_stop_s: float) -> LivePanel:
    """Build the panel that shows what each drag does."""
    return LivePanel(
        controls={
            "start_rpm": Quantity(START, sweep=[float(rpm) for rpm in range(100, 3050, 50)], start=start_rpm),
            "dry_stop_s": Quantity(DRY, sweep=[float(s) for s in range(2, 122, 2)], start=dry_stop_s),
            "viscous_share": Quantity(VISCOUS, sweep=[float(s) for s in range(0, 62, 2)], start=30.0),
            "windage_share": Quantity(WINDAGE, sweep=[float(s) for s in range(0, 32, 2)], start=10.0),
        },
        compute=shape_of,
        chart=CoastShapes(),
        sentence=lambda shape: shape.sentence,
    )


@dataclass(frozen=True)
class RunOnChoice:
    """The measured run-on at one speed, and at all speeds around it."""

    speed_rpm: float
    tested_rpm: float
    speeds_rpm: np.ndarray
    times: Estimate
    turns: Estimate
    limits: dict
    headline: str
    details: str
    sentence: str


def run_on(
    fit,
    limits: dict,
    *,
    speed_rpm: float,
    thread_lead_mm: Fraction,
    lengths: ShopLengths = MILLIMETRES,
) -> RunOnChoice:
    """Read the fitted run-down off at a speed: time, turns, and what the tool travels in a thread."""
    time_s, turns = fit.stop_time_s(speed_rpm), fit.turns_to_stop(speed_rpm)
    speeds = np.linspace(NEXT_TO_NONE, 1.25 * max(fit.tested_rpm, speed_rpm / 1.25), CURVE_POINTS)
    travel_mm, lead = turns.value * float(thread_lead_mm), show(thread_lead_mm, "mm", kind="lead")
    return RunOnChoice(
        speed_rpm=speed_rpm,
        tested_rpm=fit.tested_rpm,
        speeds_rpm=speeds,
        times=fit.stop_time_s(speeds),
        turns=fit.turns_to_stop(speeds),
        limits=limits,
        headline=(
            f"From {speed_rpm:.0f} rpm it coasts {with_interval(time_s)} s "
            f"and turns {with_interval(turns)} times."
        ),
        details="Dotted lines beside the curve bound the 95 % interval.",
        sentence=(
            f"With the screw engaged in a thread with a lead of {lead}, the tool would travel "
            f"{lengths.short(travel_mm)} after the drive lets go at {speed_rpm:.0f} rpm, without brake and "
            "without the time that your hand takes."
        ),
    )


def run_on_panel(
    fit,
    *,
    limits: dict,
    speed_rpm: float,
    thread_lead_mm: Fraction,
    lengths: ShopLengths = MILLIMETRES,
) -> LivePanel:
    """Build the panel that reads the measured run-down off at any speed."""
    highest = 1.5 * fit.tested_rpm
    sweep = [float(rpm) for rpm in range(20, int(highest), 20)]
    leads = (
        Fraction(1, 2),
        Fraction(127, 130),
        Fraction(1),
        Fraction(127, 120),
        Fraction(3, 2),
        Fraction(2),
        Fraction(3),
    )
    return LivePanel(
        controls={
            "speed_rpm": Quantity(START, sweep=sweep, start=speed_rpm),
            "thread_lead_mm": ExactQuantity(LEAD, sweep=leads, start=thread_lead_mm),
        },
        compute=partial(run_on, fit, limits, lengths=lengths),
        chart=RunOn(),
        sentence=lambda choice: choice.sentence,
    )
