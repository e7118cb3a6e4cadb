"""Leadscrew gearing: choose a thread, a largest number and microsteps; see what ratio comes of it."""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial

import numpy as np

from machinelab.leadscrew.gearing import nearest_ratio, pitch_error_ppm, steps_per_count
from machinelab.leadscrew.lead_accuracy import NEGLIGIBLE_SHARE, compare_with_screw, lead_error_mm
from machinelab.leadscrew.screw_drive import position_quantum_mm, steps_per_screw_turn
from machinelab.leadscrew.step_pattern import RatioCaution, ratio_cautions, rounding_error_steps
from machinelab.units import Field, show
from machinelab.workbook.figures.gearing import RatioWhatIf
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity

EDGES_SHOWN = 60
THREAD_LENGTH_MM = 50
BOUNDS = tuple(int(bound) for bound in np.unique(np.geomspace(8, 2**17, 70).astype(int)))

# Leads that the slider steps through: common metric pitches and inch threads, millimetres.
METRIC_LEADS_MM = tuple(Fraction(n, 100) for n in (35, 40, 50, 70, 75, 80, 100, 125, 150, 200, 250, 300))
INCH_LEADS_MM = tuple(
    Fraction(127, 5 * n) for n in (40, 32, 28, 26, 24, 20, 19, 18, 16, 14, 13, 12, 11, 10, 8)
)

THREAD = Field(
    name="Thread to cut (lead)",
    kind="lead",
    low="0.1 mm",
    high="50 mm",
    example="26 tpi",
    help="Type 26 tpi or 1 mm; for several starts the lead, not the pitch.",
)
LARGEST = Field(
    name="Largest number the controller holds",
    kind="count",
    low="8",
    high="2147483647",
    example="10000",
    help="The limit on both whole numbers of its ratio; its manual or its setting page tells.",
)
MICROSTEPS = Field(
    name="Step pulses for one full step",
    kind="count",
    low="1",
    high="256",
    example="8",
    help="The microstep switches on the stepper driver.",
)


@dataclass(frozen=True)
class Gearing:
    """What the machine brings to every thread, as exact numbers.

    Parameters
    ----------
    screw_lead_mm : Fraction or int [mm]
        Lead of the leadscrew.
    full_steps, microsteps : int [step, 1]
        Full steps in a turn of the stepper, and step pulses for one full step.
    motor_turns_per_screw_turn : Fraction or int [turn/turn]
        Turns of the stepper for one turn of the screw.
    counts_per_spindle_turn : Fraction or int [count]
        Encoder edges in one turn of the spindle.
    max_numerator, max_denominator : int [1]
        What the controller's fraction can hold.
    screw_error_ppm : float [ppm]
        The screw's own lead error; NaN when it is not known.
    """

    screw_lead_mm: Fraction
    full_steps: int
    microsteps: int
    motor_turns_per_screw_turn: Fraction
    counts_per_spindle_turn: Fraction
    max_numerator: int
    max_denominator: int
    screw_error_ppm: float


@dataclass(frozen=True)
class RatioChoice:
    """The ratio that one thread would be cut with, what it costs, and the curves that show it."""

    lead_mm: Fraction
    wanted: Fraction
    used: Fraction
    error_ppm: float
    screw_error_ppm: float
    step_um: float
    cautions: tuple[RatioCaution, ...]
    bound: int
    counts: np.ndarray
    position_error_um: np.ndarray
    bounds: np.ndarray
    bound_errors_ppm: np.ndarray

    @property
    def thread(self) -> str:
        """The thread's lead in both units."""
        return show(self.lead_mm, "mm", kind="lead")

    @property
    def harmless_ppm(self) -> float:
        """The pitch error below which the screw alone sets the limit; NaN when the screw is not known."""
        return self.screw_error_ppm * float(NEGLIGIBLE_SHARE)

    @property
    def screw_decides(self) -> bool:
        """Whether the ratio's error is small beside what the screw does anyway."""
        if not self.error_ppm:
            return True
        return compare_with_screw(self.error_ppm, self.screw_error_ppm).screw_is_limit

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        ratio = f"{self.thread}: {fraction_text(self.used)} steps an edge"
        if not self.error_ppm:
            return f"{ratio} is exact."
        off = f"{ratio} is {ppm_text(self.error_ppm)} off"
        if np.isnan(self.screw_error_ppm):
            return f"{off}; the screw's own error is not known yet."
        if self.screw_decides:
            return f"{off}, small beside the screw's own error."
        return f"{off}, and that shows beside the screw's own error."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return (
            f"Largest number {self.bound}; one step moves the carriage {self.step_um:.3g} micrometres, "
            f"and the rounding stays within half a step."
        )

    @property
    def meaning(self) -> str:
        """What the choice means for the machine, in plain words."""
        out_um = abs(lead_error_mm(self.error_ppm, THREAD_LENGTH_MM)) * 1000
        lead = f"puts the lead {out_um:.3g} µm out over {THREAD_LENGTH_MM} mm" if out_um else "is exact"
        told = [
            f"The ratio {lead}; rounding to whole steps never adds more than {self.step_um / 2:.2g} µm, "
            "however long the thread."
        ]
        return " ".join(told + [caution.advice for caution in self.cautions])


def choose_ratio(gearing: Gearing, *, lead_mm, largest_number: int, microsteps: int) -> RatioChoice:
    """Find the ratio for a thread when the controller holds numbers so large at most."""
    steps = steps_per_screw_turn(gearing.full_steps, microsteps, gearing.motor_turns_per_screw_turn)
    wanted = steps_per_count(lead_mm, gearing.screw_lead_mm, steps, gearing.counts_per_spindle_turn)
    used = nearest_ratio(wanted, largest_number, largest_number)
    step_um = 1000 * float(position_quantum_mm(gearing.screw_lead_mm, steps))
    counts = np.arange(EDGES_SHOWN + 1)
    return RatioChoice(
        lead_mm=Fraction(lead_mm),
        wanted=wanted,
        used=used,
        error_ppm=pitch_error_ppm(used, wanted),
        screw_error_ppm=gearing.screw_error_ppm,
        step_um=step_um,
        cautions=ratio_cautions(used, microsteps),
        bound=largest_number,
        counts=counts,
        position_error_um=step_um * np.asarray(rounding_error_steps(counts, used), dtype=float),
        bounds=np.array(BOUNDS),
        bound_errors_ppm=np.array(errors_by_bound_ppm(wanted)),
    )


@lru_cache(maxsize=256)
def errors_by_bound_ppm(wanted: Fraction) -> tuple[float, ...]:
    """Give the pitch error of the nearest ratio for each of the bounds that the figure shows."""
    return tuple(pitch_error_ppm(nearest_ratio(wanted, bound, bound), wanted) for bound in BOUNDS)


def gearing_panel(gearing: Gearing, *, lead_mm) -> LivePanel:
    """Build the panel, starting at a thread of the machine and at the controller's own limit."""
    largest = min(gearing.max_numerator, gearing.max_denominator)
    return LivePanel(
        controls={
            "lead_mm": ExactQuantity(
                THREAD, sweep=METRIC_LEADS_MM + INCH_LEADS_MM, own=lead_mm, own_words="on the machine's list"
            ),
            "largest_number": ExactQuantity(LARGEST, sweep=BOUNDS, own=largest),
            "microsteps": ExactQuantity(
                MICROSTEPS, sweep=(1, 2, 4, 8, 16, 32, 64, 128, 256), own=gearing.microsteps
            ),
        },
        compute=partial(choose_ratio, gearing),
        chart=RatioWhatIf(),
        sentence=lambda choice: choice.meaning,
    )


def fraction_text(ratio: Fraction) -> str:
    """Write a ratio as its two whole numbers."""
    return f"{ratio.numerator}/{ratio.denominator}"


def ppm_text(error_ppm: float) -> str:
    """Write a pitch error with its sign and no more figures than it deserves."""
    return f"{error_ppm:+.3g} ppm".replace("-", "−")
