"""RPM meter: change its lag, its hold and the rate of slowing; see how far off it reads, and for how long."""

from dataclasses import dataclass

import numpy as np

from machinelab.spindle.meter_lag import lagged_copy
from machinelab.spindle.speed_meter import reading_ahead_rpm, settling_time_s
from machinelab.units import Field, show
from machinelab.workbook.figures.speed_meter import MeterDelay
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import Quantity

POINTS = 900
STEADY_S = 1.0
# The picture slows the spindle for so long, or until half its speed is gone.
SLOWING_S = 5.0
LEFT_SHARE = 0.01

LAG = Field(
    name="Lag of the display",
    kind="time",
    low="0 s",
    high="10 s",
    example="0.8 s",
    help="After this time it shows two thirds of a sudden change.",
)
HOLD = Field(
    name="Time between new figures",
    kind="time",
    low="1 ms",
    high="5 s",
    example="250 ms",
    help="How long the display holds one number.",
)
SLOWING = Field(
    name="Speed lost in each second",
    kind="speed",
    low="1 rpm",
    high="2000 rpm",
    example="67 rpm",
    help="On the way from 1000 rpm to a new, steady speed.",
)
START_RPM = 1000.0


@dataclass(frozen=True)
class MeterView:
    """What a meter shows of a speed that falls steadily and then stays.

    Parameters
    ----------
    lag_s, hold_s, slowing_rpm_s : float [s, s, rpm/s]
        As they were set.
    time_s, true_rpm, shown_rpm : array [s, rpm, rpm]
        The spindle and the display.
    worst_s, worst_rpm, worst_shown_rpm : float [s, rpm, rpm]
        Where it reads furthest off, by how much, and what it shows there.
    trusted_s : float [s]
        When the reading may be noted.
    """

    lag_s: float
    hold_s: float
    slowing_rpm_s: float
    time_s: np.ndarray
    true_rpm: np.ndarray
    shown_rpm: np.ndarray
    worst_s: float
    worst_rpm: float
    worst_shown_rpm: float
    trusted_s: float
    steady_s: float

    @property
    def wait_s(self) -> float:
        """How long to wait once the speed is steady."""
        return self.trusted_s - self.steady_s

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        return (
            f"While the spindle slows by {self.slowing_rpm_s:.0f} rpm each second it shows up to "
            f"{self.worst_rpm:.0f} rpm too much; once steady, wait {self.wait_s:.1f} s."
        )

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        return f"Lag {show(self.lag_s, 's')}, a new figure every {show(self.hold_s, 's')}."

    @property
    def sentence(self) -> str:
        """What it means at the machine."""
        ahead = float(reading_ahead_rpm(self.lag_s, speed_change_rpm_s=-self.slowing_rpm_s))
        return (
            f"A long, steady fall would be shown {ahead:.0f} rpm too high by the lag alone, and the held "
            "number adds to that. A display that stands still has settled only if it has stood still for "
            f"{self.wait_s:.1f} s."
        )


def view_meter(*, lag_s: float, hold_s: float, slowing_rpm_s: float) -> MeterView:
    """Work out what the display shows of a steady fall and after it."""
    lasting = min(SLOWING_S, 0.5 * START_RPM / slowing_rpm_s)
    wait = float(settling_time_s(lag_s, share_left=LEFT_SHARE)) + hold_s
    end = STEADY_S + lasting + max(1.6 * wait, 1.0)
    times = np.linspace(0, end, POINTS)
    true = START_RPM - slowing_rpm_s * np.clip(times - STEADY_S, 0, lasting)
    lagging = lagged_copy(true, times[1], lag_s) if lag_s else true
    held = np.interp(hold_s * np.floor(times / hold_s), times, lagging)
    worst = int(np.argmax(held - true))
    return MeterView(
        lag_s=lag_s,
        hold_s=hold_s,
        slowing_rpm_s=slowing_rpm_s,
        time_s=times,
        true_rpm=true,
        shown_rpm=held,
        worst_s=float(times[worst]),
        worst_rpm=float((held - true)[worst]),
        worst_shown_rpm=float(held[worst]),
        trusted_s=STEADY_S + lasting + wait,
        steady_s=STEADY_S + lasting,
    )


def meter_panel(*, lag_s: float, hold_s: float, slowing_rpm_s: float) -> LivePanel:
    """Build the panel, starting at the machine's meter."""
    return LivePanel(
        controls={
            "lag_s": Quantity(LAG, sweep=[round(0.05 * n, 2) for n in range(61)], own=lag_s),
            "hold_s": Quantity(HOLD, sweep=(0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0), own=hold_s),
            "slowing_rpm_s": Quantity(
                SLOWING, sweep=[float(rate) for rate in (2, 5, *range(10, 410, 10))], start=slowing_rpm_s
            ),
        },
        compute=view_meter,
        chart=MeterDelay(),
        sentence=lambda view: view.sentence,
    )
