"""Threading to a shoulder: change speed, hand, brake or groove; see where the tool comes to rest."""

from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np

from machinelab.errors import RangeError
from machinelab.spindle.brake_circuit import RPM
from machinelab.spindle.brake_law import late_speed
from machinelab.threads.shoulder import highest_speed_rpm
from machinelab.threads.shoulder_groove import NEARLY_ALWAYS, needed_groove_mm
from machinelab.threads.shoulder_stop import overtravel_turns, run_on
from machinelab.units import Field
from machinelab.workbook.brake_numbers import USUAL_DELAY_S
from machinelab.workbook.figures.scales import rounded_up
from machinelab.workbook.figures.shoulder import ShoulderStop
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity
from machinelab.workbook.shoulder_machine import COUNT, ShoulderNumbers

SPEED_POINTS, CURVE_POINTS, PATH_POINTS = 9, 60, 120
# A count scatters so little that few passes show its curve.
COUNTED_DRAWS = 500
# A time constant beside which friction does all the work: as good as no brake.
NO_BRAKE_S = 50.0

SPEED = Field(
    name="Spindle speed in the pass",
    kind="speed",
    low="5 rpm",
    high="3000 rpm",
    example="100 rpm",
    help="Turns to rest grow faster than the speed: half the speed needs less than half the groove.",
)
REACTION = Field(
    name="Reaction",
    kind="time",
    low="0 s",
    high="3 s",
    example="300 ms",
    help="From the end of the thread to the stop command: your hand, or the counter's own delay.",
)
DELAY = Field(
    name="Delay of the brake contact",
    kind="time",
    low="0 s",
    high="2 s",
    example="30 ms",
    help="From the command to the brake biting. So long the spindle runs on freely.",
)
BRAKE = Field(
    name="Time constant of the brake",
    kind="time",
    low="20 ms",
    high="100 s",
    example="0.8 s",
    help="How long the resistor alone takes to 37 % of the speed. 50 s: as good as none.",
)
GROOVE = Field(
    name="Groove at the shoulder",
    kind="length",
    low="0.2 mm",
    high="100 mm",
    example="2.5 mm",
    help="From the last full thread to the wall.",
)


@dataclass(frozen=True)
class ShoulderView:
    """Many passes in one thread, and the groove that they need.

    Parameters
    ----------
    numbers : ShoulderNumbers
        The machine as it was set.
    thread : str
        The thread in words.
    lead_mm, groove_mm, speed_rpm : float [mm, mm, rpm]
        Lead, groove and speed.
    past_turns : array [turn]
        Turns past the thread, pass by pass.
    path_turns, path_rpm : array [turn, rpm]
        A typical pass from the end of its thread on.
    speeds_rpm, often_mm, counted_mm : array [rpm, mm, mm]
        Groove for 99 passes in 100 at every speed, as set and with a count in place of the hand.
    highest_rpm : float [rpm]
        The highest speed in this groove; NaN where the tool alone fills it.
    crash_share : float [1]
        Share of passes that touch the wall.
    """

    numbers: ShoulderNumbers
    thread: str
    lead_mm: float
    groove_mm: float
    speed_rpm: float
    past_turns: np.ndarray
    path_turns: np.ndarray
    path_rpm: np.ndarray
    speeds_rpm: np.ndarray
    often_mm: np.ndarray
    counted_mm: np.ndarray
    highest_rpm: float
    crash_share: float

    @property
    def beside_mm(self) -> float:
        """What the tool takes up of the groove beside its point."""
        return self.numbers.tool_half_width_mm

    def needed_mm(self, share: float) -> float:
        """Groove for a share of the passes, air in it."""
        past = max(float(np.quantile(self.past_turns, share)), 0.0)
        return past * self.lead_mm + self.beside_mm + self.numbers.wall_clearance_mm

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        length = self.numbers.lengths
        return (
            f"{self.thread} at {self.speed_rpm:.0f} rpm: {crashes(self.crash_share)} the shoulder; "
            f"99 in 100 want a groove of {length.told(self.needed_mm(NEARLY_ALWAYS), 1)}, air in it; drawn "
            f"is one of {length.short(self.groove_mm)}."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        middle = float(np.median(self.past_turns))
        return (
            f"Half of the passes end {middle:.2f} turns past the thread or further, one in a hundred beyond "
            f"{float(np.quantile(self.past_turns, NEARLY_ALWAYS)):.2f}. {self.highest}"
        )

    @property
    def highest(self) -> str:
        """The highest speed in this groove, in words."""
        if np.isnan(self.highest_rpm):
            return "The tool alone fills this groove; no speed is low enough."
        lowest = self.numbers.lowest_rpm
        if self.highest_rpm < lowest:
            return (
                f"The groove would allow {int(self.highest_rpm)} rpm; the spindle turns steadily only from "
                f"{lowest:.0f} rpm up, so no speed is feasible."
            )
        return f"The groove allows {int(self.highest_rpm)} rpm at the most."

    @property
    def sentence(self) -> str:
        """What the passes mean for the machine, in plain words."""
        reaction = float(np.median(self.numbers.reactions_s)) * self.speed_rpm / 60
        whole = float(np.median(self.past_turns))
        early = float(np.mean(self.past_turns < 0))
        whose = "the counter's" if self.numbers.stopped_by == COUNT else "your hand's"
        told = [
            self.highest,
            f"Of {whole:.2f} turns in an ordinary pass, {reaction:.2f} are {whose} and "
            f"{whole - reaction:.2f} the machine's.",
        ]
        if early > 0.005:
            told.append(f"{early:.0%} of the passes stop before the end of the thread.")
        return " ".join(told)


def crashes(share: float) -> str:
    """How many passes hit something, in words."""
    if share == 0:
        return "hardly a pass would hit"
    if share > 0.995:
        return "every pass would hit"
    if share < 0.01:
        thousandth = max(round(1000 * share), 1)
        return f"{thousandth} {'pass' if thousandth == 1 else 'passes'} in 1000 would hit"
    return f"{share:.0%} of the passes would hit"


def view_shoulder(
    as_built: ShoulderNumbers,
    thread: str,
    lead_mm: float,
    *,
    speed_rpm: float,
    reaction_s: float,
    contact_delay_s: float,
    brake_time_constant_s: float,
    groove_mm: float,
) -> ShoulderView:
    """Work out many passes and what surrounds them."""
    stopping = replace(
        as_built.stopping,
        contact_delay_s=contact_delay_s,
        brake_drag_per_s=1 / brake_time_constant_s if brake_time_constant_s < NO_BRAKE_S else 0.0,
    )
    numbers = replace(as_built, stopping=stopping).with_reaction(reaction_s)
    draws, reactions = numbers.draws, numbers.reactions_s
    speeds = speed_rpm * draws.speed_share
    ran_on = run_on(speeds, stopping=draws.stopping).run_on_turns
    past = overtravel_turns(speeds, reaction_s=reactions, run_on_turns=ran_on)
    touching = needed_groove_mm(past, thread_lead_mm=lead_mm, tool_half_width_mm=numbers.tool_half_width_mm)
    fastest = rounded_up(1.6 * max(speed_rpm, 2 * numbers.lowest_rpm))
    return ShoulderView(
        numbers=numbers,
        thread=thread,
        lead_mm=lead_mm,
        groove_mm=groove_mm,
        speed_rpm=speed_rpm,
        past_turns=past,
        **_path(numbers, speed_rpm),
        speeds_rpm=np.linspace(0, fastest, CURVE_POINTS),
        often_mm=_curve(numbers, fastest, lead_mm),
        counted_mm=_curve(replace(numbers.stopped_by_count(), drawn=COUNTED_DRAWS), fastest, lead_mm),
        highest_rpm=_highest(numbers, groove_mm, lead_mm, max(numbers.top_rpm, fastest)),
        crash_share=float(np.mean(touching > groove_mm)),
    )


def _path(numbers: ShoulderNumbers, speed_rpm: float) -> dict[str, np.ndarray]:
    """Speed against turns of the median pass, from the end of its thread."""
    stopping, reaction = numbers.draws.stopping.typical, max(float(np.median(numbers.reactions_s)), 0.0)
    drags = stopping.drags
    time_s = np.linspace(0, float(run_on(speed_rpm, stopping=stopping).run_on_s), PATH_POINTS)
    brake = (stopping.contact_delay_s, stopping.brake_drag_per_s, stopping.brush_speed_rad_s)
    speed = late_speed(time_s, speed_rpm * RPM, *brake, drags)
    steps = np.diff(time_s) * (speed[1:] + speed[:-1]) / 2 / (2 * np.pi)
    turns = speed_rpm / 60 * reaction + np.concatenate([[0.0], np.cumsum(steps)])
    return {
        "path_turns": np.concatenate([[0.0], turns]),
        "path_rpm": np.concatenate([[speed_rpm], speed / RPM]),
    }


@lru_cache(maxsize=16)
def _curve(numbers: ShoulderNumbers, fastest_rpm: float, lead_mm: float) -> np.ndarray:
    """Groove for 99 passes in 100 at every speed, worked out at a few and drawn smoothly through them."""
    from scipy.interpolate import PchipInterpolator

    speeds = fastest_rpm * np.linspace(0, 1, SPEED_POINTS) ** 1.5
    each = speeds[:, None] * numbers.draws.speed_share
    ran_on = run_on(each, stopping=numbers.draws.stopping).run_on_turns
    past = overtravel_turns(each, reaction_s=numbers.reactions_s, run_on_turns=ran_on)
    needed = needed_groove_mm(
        past,
        thread_lead_mm=lead_mm,
        tool_half_width_mm=numbers.tool_half_width_mm,
        wall_clearance_mm=numbers.wall_clearance_mm,
    )
    through = PchipInterpolator(speeds, np.quantile(needed, NEARLY_ALWAYS, axis=1))
    return through(np.linspace(0, fastest_rpm, CURVE_POINTS))


@lru_cache(maxsize=16)
def _highest(numbers: ShoulderNumbers, groove_mm: float, lead_mm: float, fastest_rpm: float) -> float:
    try:
        return highest_speed_rpm(
            groove_mm,
            thread_lead_mm=lead_mm,
            tool_half_width_mm=numbers.tool_half_width_mm,
            wall_clearance_mm=numbers.wall_clearance_mm,
            reaction_s=numbers.reactions_s,
            stopping=numbers.draws.stopping,
            speed_share=numbers.draws.speed_share,
            fastest_speed_rpm=fastest_rpm,
        )
    except RangeError:
        return float("nan")


def shoulder_panel(
    as_built: ShoulderNumbers, thread: str, lead_mm: float, *, speed_rpm: float, groove_mm: float
) -> LivePanel:
    """Build the panel, starting at the machine as built."""
    settings = as_set(as_built, speed_rpm=speed_rpm, groove_mm=groove_mm)
    fastest = int(max(as_built.top_rpm, 200))
    slow = [float(rpm) for rpm in (*range(20, 200, 5), *range(200, fastest + 1, 20)) if rpm <= fastest]
    thousandths = [*range(0, 100, 5), *range(100, 800, 20)]
    controls = {
        "speed_rpm": Quantity(SPEED, sweep=slow, start=speed_rpm),
        "reaction_s": Quantity(
            REACTION, sweep=[one / 1000 for one in thousandths], own=settings["reaction_s"]
        ),
        "contact_delay_s": Quantity(
            DELAY, sweep=[one / 1000 for one in range(0, 500, 10)], own=settings["contact_delay_s"]
        ),
        "brake_time_constant_s": Quantity(
            BRAKE,
            sweep=[float(f"{one:.2g}") for one in np.geomspace(0.05, NO_BRAKE_S, 50)],
            own=settings["brake_time_constant_s"],
        ),
        "groove_mm": Quantity(
            GROOVE, sweep=[round(0.1 * tenths, 1) for tenths in range(5, 121)], own=groove_mm
        ),
    }
    compute = partial(view_shoulder, as_built, thread, lead_mm)
    if not as_built.braked:
        # A contact that is not there has no delay; a brake that is tried gets a usual one.
        controls.pop("contact_delay_s")
        compute = partial(compute, contact_delay_s=USUAL_DELAY_S)
    return LivePanel(
        controls=controls, compute=compute, chart=ShoulderStop(), sentence=lambda view: view.sentence
    )


def as_set(as_built: ShoulderNumbers, *, speed_rpm: float, groove_mm: float) -> dict[str, float]:
    """The panel's settings at the machine as built, rounded as a person would type them."""
    drag = as_built.stopping.brake_drag_per_s
    return {
        "speed_rpm": speed_rpm,
        "reaction_s": round(as_built.reaction_s, 3),
        "contact_delay_s": round(float(as_built.stopping.contact_delay_s), 3),
        "brake_time_constant_s": float(f"{1 / drag:.3g}") if drag else NO_BRAKE_S,
        "groove_mm": groove_mm,
    }
