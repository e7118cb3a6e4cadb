"""Spindle encoder: change lines, pulley, top speed or gate; see what keeps up and how finely speed shows."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

import numpy as np

from machinelab.spindle.encoder import (
    EDGES_PER_LINE,
    counting_resolution_rpm,
    counts_per_spindle_turn,
    crossover_speed_rpm,
    edge_rate_hz,
    period_resolution_rpm,
)
from machinelab.units import Field, show
from machinelab.workbook.figures.encoder import EncoderLimits
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity

SPEED_POINTS = 80
SLOWEST_SHOWN_RPM = 5.0
USUAL_LINES = (100, 200, 256, 360, 400, 500, 600, 1000, 1024, 2000, 2500)
SPEEDS_RPM = tuple(float(rpm) for rpm in range(200, 5050, 50))
GATES_S = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)

LINES = Field(
    name="Lines of the encoder",
    kind="lines",
    low="20",
    high="10000",
    example="600",
    help="As printed on its plate, before any counting of edges.",
)
ENCODER_TEETH = Field(
    name="Teeth of the encoder's pulley",
    kind="teeth",
    low="8",
    high="240",
    example="32",
    help="Fewer teeth turn the encoder faster.",
)
TOP_SPEED = Field(
    name="Highest spindle speed",
    kind="speed",
    low="50 rpm",
    high="10000 rpm",
    example="1500 rpm",
    help="The fastest the spindle will ever turn with the encoder on it.",
)
GATE = Field(
    name="Time over which edges are counted",
    kind="time",
    low="1 ms",
    high="10 s",
    example="100 ms",
    help="A longer time shows smaller steps of speed, later.",
)


@dataclass(frozen=True)
class EncoderFit:
    """The encoder as it sits on the machine, and what has to keep up with it.

    Parameters
    ----------
    lines, spindle_teeth, encoder_teeth : int [line, tooth, tooth]
        The encoder and its belt.
    top_speed_rpm : float [rpm]
        The fastest the spindle turns.
    channel_limit_hz : float [Hz]
        What the encoder's data sheet allows on one channel; NaN when not known.
    counter_limit_hz : float [Hz]
        What the counter allows, edges of both channels; NaN when not known.
    clock_hz : float [Hz]
        The clock that times the edges.
    """

    lines: int
    spindle_teeth: int
    encoder_teeth: int
    top_speed_rpm: float
    channel_limit_hz: float
    counter_limit_hz: float
    clock_hz: float

    @property
    def sits_on_the_spindle(self) -> bool:
        """Whether there is no pulley between the two."""
        return self.spindle_teeth == self.encoder_teeth == 1


@dataclass(frozen=True)
class RateLimit:
    """An edge rate that must not be passed, and what sets it."""

    words: str
    edge_rate_hz: float


@dataclass(frozen=True)
class EncoderChoice:
    """What an encoder gives at every speed, and how near it comes to its limits."""

    counts: Fraction
    top_speed_rpm: float
    top_edge_rate_hz: float
    limits: tuple[RateLimit, ...]
    gate_s: float
    clock_hz: float
    crossover_rpm: float
    counting_step_rpm: float
    speeds_rpm: np.ndarray
    edge_rates_hz: np.ndarray
    resolution_speeds_rpm: np.ndarray
    timing_step_rpm: np.ndarray

    @property
    def nearest_limit(self) -> RateLimit | None:
        """The limit that is met first as the spindle speeds up; None when none is known."""
        return min(self.limits, key=lambda limit: limit.edge_rate_hz, default=None)

    @property
    def highest_speed_rpm(self) -> float:
        """The spindle speed at which the nearest limit is met; NaN when no limit is known."""
        if self.nearest_limit is None:
            return math.nan
        return 60 * self.nearest_limit.edge_rate_hz / float(self.counts)

    @property
    def keeps_up(self) -> bool | None:
        """Whether every limit lies above the top speed's rate; None when no limit is known."""
        if self.nearest_limit is None:
            return None
        return self.top_edge_rate_hz <= self.nearest_limit.edge_rate_hz

    @property
    def timing_words(self) -> str:
        """What the rising curve is, for the figure."""
        return f"timing edge to edge\nwith {show(self.clock_hz, 'Hz')}"

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        rate = f"{show(float(f'{self.top_edge_rate_hz:.3g}'), 'Hz')} of edges at {self.top_speed_rpm:.0f} rpm"
        if self.keeps_up is None:
            return f"{rate}; what the encoder and the counter allow is not known yet."
        if self.keeps_up:
            return f"{rate} is within every limit; the first is met at {self.highest_speed_rpm:.0f} rpm."
        return f"{rate} is too fast: {self.nearest_limit.words} is met at {self.highest_speed_rpm:.0f} rpm."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        limits = "; ".join(f"{limit.words} {show(limit.edge_rate_hz, 'Hz')}" for limit in self.limits)
        return (
            f"{show(self.counts, '1')} edges a spindle turn. Limits: {limits or 'none known'}. "
            f"Counting for {show(self.gate_s, 's')} shows steps of {self.counting_step_rpm:.3g} rpm; "
            f"below {self.crossover_rpm:.3g} rpm timing the edges is finer."
        )

    @property
    def meaning(self) -> str:
        """What the choice means for the machine, in plain words."""
        whole = "a whole number" if self.counts.denominator == 1 else "not a whole number, which does no harm"
        return (
            f"One spindle turn gives {show(self.counts, '1')} edges ({whole}). A counter that misses edges "
            f"does not stop: it loses its place. Counting for {show(self.gate_s, 's')} tells speed in steps "
            f"of {self.counting_step_rpm:.3g} rpm and is that late; below {self.crossover_rpm:.0f} rpm time "
            f"the edges instead."
        )


def choose_encoder(
    encoder: EncoderFit, *, lines: int, encoder_teeth: int, top_speed_rpm: float, gate_s: float
) -> EncoderChoice:
    """Work out rates and resolution for an encoder and its pulley."""
    counts = counts_per_spindle_turn(lines, encoder.spindle_teeth, encoder_teeth)
    speeds = np.linspace(0, 1.15 * top_speed_rpm, SPEED_POINTS)
    told = np.geomspace(SLOWEST_SHOWN_RPM, 1.15 * top_speed_rpm, SPEED_POINTS)
    return EncoderChoice(
        counts=counts,
        top_speed_rpm=top_speed_rpm,
        top_edge_rate_hz=edge_rate_hz(top_speed_rpm, counts),
        limits=rate_limits(encoder),
        gate_s=gate_s,
        clock_hz=encoder.clock_hz,
        crossover_rpm=float(crossover_speed_rpm(counts, encoder.clock_hz, gate_s)),
        counting_step_rpm=float(counting_resolution_rpm(counts, gate_s)),
        speeds_rpm=speeds,
        edge_rates_hz=edge_rate_hz(speeds, counts),
        resolution_speeds_rpm=told,
        timing_step_rpm=period_resolution_rpm(told, counts, encoder.clock_hz),
    )


def rate_limits(encoder: EncoderFit) -> tuple[RateLimit, ...]:
    """List the limits that are known, each as a rate of edges of both channels."""
    known = (
        RateLimit("the encoder's own limit", EDGES_PER_LINE * encoder.channel_limit_hz),
        RateLimit("the counter's limit", encoder.counter_limit_hz),
    )
    return tuple(limit for limit in known if math.isfinite(limit.edge_rate_hz))


def encoder_panel(encoder: EncoderFit, *, gate_s: float) -> LivePanel:
    """Build the panel, starting at the machine as built."""
    controls = {
        "lines": ExactQuantity(LINES, sweep=USUAL_LINES, own=encoder.lines),
        "encoder_teeth": ExactQuantity(ENCODER_TEETH, sweep=range(12, 73), own=encoder.encoder_teeth),
        "top_speed_rpm": Quantity(TOP_SPEED, sweep=SPEEDS_RPM, own=encoder.top_speed_rpm),
        "gate_s": Quantity(GATE, sweep=GATES_S, start=gate_s),
    }
    compute = partial(choose_encoder, encoder)
    if encoder.sits_on_the_spindle:
        # There is no pulley to change.
        del controls["encoder_teeth"]
        compute = partial(compute, encoder_teeth=encoder.encoder_teeth)
    return LivePanel(
        controls=controls,
        compute=compute,
        chart=EncoderLimits(),
        sentence=lambda choice: choice.meaning,
    )
