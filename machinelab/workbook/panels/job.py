"""Today's job: a sheet to fill in, and two panels that ask "what if" of it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction

import numpy as np

from machinelab.units import Field
from machinelab.workbook.figures.job import JobFeeds, JobSpeeds
from machinelab.workbook.job import Job, materials, operations, tools
from machinelab.workbook.job_machine import JobMachine
from machinelab.workbook.job_plan import JobPlan
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity
from machinelab.workbook.panels.sheet import Sheet
from machinelab.workbook.panels.typed import Typed
from machinelab.workbook.shop_lengths import INCHES

TODAY = "today's job"
# The usual steps of a comparison specimen, each twice the next: ISO 468, from memory.
ROUGHNESSES_UM = (0.4, 0.8, 1.6, 3.2, 6.3, 12.5)

DIAMETER = Field(
    name="Diameter that is cut",
    kind="length",
    low="0.5 mm",
    high="1 m",
    example="25 mm",
    help="Of the work at the tool; of the drill or reamer. In facing the outside.",
)
DEPTH = Field(
    name="Depth of cut",
    kind="length",
    low="0.01 mm",
    high="50 mm",
    example="0.5 mm",
    help="Half of what comes off the diameter. Parting: width of the blade. Threading: depth of the thread.",
)
FEED = Field(
    name="Feed for each turn",
    kind="feed",
    low="0.001 mm",
    high="10 mm",
    example="0.1 mm",
    help="How far the tool moves in one turn of the work. Threading: the pitch.",
)
NOSE = Field(
    name="Radius of the tool's nose",
    kind="length",
    low="0.02 mm",
    high="10 mm",
    example="0.4 mm",
    help="As ground, or as the insert's name tells; a hand-stoned point has about 0.2 mm.",
)
FINISH = Field(
    name="Wanted mean roughness (Ra)",
    kind="roughness",
    low="0.05 um",
    high="50 um",
    example="3.2 um",
    help="3.2 µm (125 µin) is a clean turned surface, 0.8 µm (32 µin) a good one.",
)
DEFAULTS: Mapping[str, str] = {
    "material": "mild steel",
    "operation": "turning",
    "tool": "high-speed steel on a light lathe",
    "diameter": "25 mm",
    "depth": "0.5 mm",
    "feed": "0.1 mm",
    "nose_radius": "0.4 mm",
    "roughness": "3.2 um",
}
# The same for a shop that measures in inches.
IN_INCHES: Mapping[str, str] = {
    "diameter": "1 in",
    "depth": "0.02 in",
    "feed": "0.004 in",
    "nose_radius": "1/64 in",
    "roughness": "125 uin",
}


def _named(names) -> dict[str, str]:
    return {name: name for name in names}


def job_sheet(machine: JobMachine, kept: Mapping[str, str], keep: Callable[[str, str], None]) -> Sheet:
    """Build the sheet of today's job, as it was left last time."""
    usual = {**DEFAULTS, **IN_INCHES} if machine.lengths is INCHES else DEFAULTS
    text = {**usual, **kept}
    return Sheet(
        {
            "material": Choice("Material", _named(materials()), chosen=text["material"]),
            "operation": Choice("Kind of work", _named(operations()), chosen=text["operation"]),
            "tool": Choice("Tool", _named(tools()), chosen=text["tool"]),
            "diameter": Typed(DIAMETER, text["diameter"]),
            "depth": Typed(DEPTH, text["depth"]),
            "feed": Typed(FEED, text["feed"]),
            "nose_radius": Typed(NOSE, text["nose_radius"]),
            "roughness": Typed(FINISH, text["roughness"]),
        },
        work_out=lambda **typed: planned(machine, typed_job(**typed)),
        tell=lambda plan: [plan.speed_told, plan.feed_told, plan.finish_told],
        keep=keep,
    )


def typed_job(
    *,
    material: str,
    operation: str,
    tool: str,
    diameter: Fraction,
    depth: Fraction,
    feed: Fraction,
    nose_radius: Fraction,
    roughness: Fraction,
) -> Job:
    """The job as it was typed; the feed stays exact, since the screw may follow it."""
    return Job(
        material=material,
        operation=operation,
        tool=tool,
        diameter_mm=float(diameter),
        depth_mm=float(depth),
        feed_mm=feed,
        nose_radius_mm=float(nose_radius),
        roughness_um=float(roughness),
    )


def planned(machine: JobMachine, job: Job) -> JobPlan:
    """Plan a job; what the tables do not have is refused here, before a picture needs it."""
    plan = JobPlan(job, machine)
    _ = plan.wanted
    return plan


def plan_speed(
    today: JobPlan,
    *,
    material: str,
    operation: str,
    tool: str,
    diameter_mm: float,
    depth_mm: float,
    feed_mm: Fraction,
) -> JobPlan:
    """Plan today's job with another material, work, tool, diameter, depth or feed."""
    other = replace(
        today.job,
        material=material,
        operation=operation,
        tool=tool,
        diameter_mm=diameter_mm,
        depth_mm=depth_mm,
        feed_mm=feed_mm,
    )
    return planned(today.machine, other)


def plan_feed(
    today: JobPlan, *, feed_mm: Fraction, depth_mm: float, nose_radius_mm: float, roughness_um: float
) -> JobPlan:
    """Plan today's job with another feed, depth, nose or finish."""
    other = replace(
        today.job,
        feed_mm=feed_mm,
        depth_mm=depth_mm,
        nose_radius_mm=nose_radius_mm,
        roughness_um=roughness_um,
    )
    return planned(today.machine, other)


def speed_panel(today: JobPlan) -> LivePanel:
    """Build the panel of spindle speeds, starting at today's job."""
    job = today.job
    return LivePanel(
        controls={
            "material": Choice("Material", _named(materials()), chosen=job.material),
            "operation": Choice("Kind of work", _named(operations()), chosen=job.operation),
            "tool": Choice("Tool", _named(tools()), chosen=job.tool),
            "diameter_mm": Quantity(
                DIAMETER, sweep=_round_steps(2, 300, 60), own=job.diameter_mm, own_words=TODAY
            ),
            "depth_mm": _depth(job),
            "feed_mm": _feed(job),
        },
        compute=lambda **values: plan_speed(today, **values),
        chart=JobSpeeds(),
        sentence=lambda plan: plan.speed_told,
    )


def feed_panel(today: JobPlan) -> LivePanel:
    """Build the panel of feed, depth and finish, starting at today's job."""
    job = today.job
    return LivePanel(
        controls={
            "feed_mm": _feed(job),
            "depth_mm": _depth(job),
            "nose_radius_mm": Quantity(
                NOSE, sweep=(0.1, 0.2, 0.4, 0.8, 1.2, 1.6), own=job.nose_radius_mm, own_words=TODAY
            ),
            "roughness_um": Quantity(FINISH, sweep=ROUGHNESSES_UM, own=job.roughness_um, own_words=TODAY),
        },
        compute=lambda **values: plan_feed(today, **values),
        chart=JobFeeds(),
        sentence=lambda plan: f"{plan.feed_told} {plan.finish_told}",
    )


def _depth(job: Job) -> Quantity:
    return Quantity(DEPTH, sweep=_round_steps(0.05, 5, 50), own=job.depth_mm, own_words=TODAY)


def _feed(job: Job) -> ExactQuantity:
    steps = [Fraction(str(value)) for value in _round_steps(0.01, 2, 60)]
    return ExactQuantity(FEED, sweep=steps, own=Fraction(job.feed_mm), own_words=TODAY)


def _round_steps(low: float, high: float, count: int) -> list[float]:
    """Values from low to high in equal ratios, with two figures each."""
    return sorted({float(f"{value:.2g}") for value in np.geomspace(low, high, count)})
