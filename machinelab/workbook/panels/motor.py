"""Motor and pulleys: change a pulley, the supply or the speed; see the torque that is left at the chuck."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

import numpy as np

from machinelab.spindle.drive_train import DriveTrain
from machinelab.spindle.motor_limits import (
    SUPPLY,
    TOP,
    Envelope,
    continuous_envelope,
    short_time_envelope,
    top_speed_rpm,
)
from machinelab.spindle.pulleys import pulley_ratio
from machinelab.units import Field, show
from machinelab.workbook.figures.motor import DriveEnvelope
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity
from machinelab.workbook.torque_words import torque_words
from machinelab.workbook.work_asked import Asked

SPEED_POINTS = 240
# A motor of unknown build stands only so much more than its rated voltage; it only ends the sliders.
LEAST_SUPPLY_SHARE, MOST_SUPPLY_SHARE = 0.3, 1.5

VOLTAGE = Field(
    name="Full voltage at the motor",
    kind="voltage",
    low="10 V",
    high="450 V",
    example="130 V",
    help="More volts move the top end of the curve, hardly the torque at low speed.",
)
SPEED = Field(
    name="Spindle speed you want to work at",
    kind="speed",
    low="5 rpm",
    high="10000 rpm",
    example="100 rpm",
    help="Where the curve is read off.",
)
DIAMETERS = {
    "motor_pulley": Field(
        name="Pulley on the motor",
        kind="length",
        low="10 mm",
        high="500 mm",
        example="50 mm",
        help="Running diameter. A smaller one gives torque and takes top speed; too small wears the belt.",
    ),
    "spindle_pulley": Field(
        name="Pulley on the spindle",
        kind="length",
        low="10 mm",
        high="800 mm",
        example="150 mm",
        help="Running diameter. A larger one gives torque and takes top speed.",
    ),
}
TEETH = {
    "motor_pulley": Field(
        name="Teeth on the motor",
        kind="teeth",
        low="8",
        high="200",
        example="20",
        help="Fewer give torque and take top speed.",
    ),
    "spindle_pulley": Field(
        name="Teeth on the spindle",
        kind="teeth",
        low="8",
        high="400",
        example="60",
        help="More give torque and take top speed.",
    ),
}


@dataclass(frozen=True)
class Pulleys:
    """The two wheels of the spindle drive, by running diameter in millimetres or by teeth."""

    motor: Fraction
    spindle: Fraction
    toothed: bool

    @property
    def ratio(self) -> Fraction:
        """Turns of the motor for one turn of the spindle."""
        return pulley_ratio(self.motor, self.spindle)


@dataclass(frozen=True)
class DriveView:
    """What the drive gives over all speeds, what binds it, and what the work asks.

    Parameters
    ----------
    train : DriveTrain
        The drive as it was set.
    speed_rpm : float [rpm]
        The speed at which the curve is read off.
    all_day, short_time : Envelope
        Over all speeds.
    here, here_short : Envelope
        At that one speed.
    as_built_nm : array [N m]
        Torque in work without end with the machine as built, over the same speeds.
    asked : tuple of Asked
        Work to compare with.
    top_rpm, allowed_rpm : float [rpm]
        The fastest that the motor turns the spindle, and that the owner or the chuck allows.
    """

    train: DriveTrain
    speed_rpm: float
    all_day: Envelope
    short_time: Envelope
    here: Envelope
    here_short: Envelope
    as_built_nm: np.ndarray
    asked: tuple[Asked, ...]
    top_rpm: float
    allowed_rpm: float

    @property
    def changed(self) -> bool:
        """Whether it differs from the machine as built."""
        return not np.allclose(self.as_built_nm, self.all_day.torque_nm, rtol=1e-6, atol=1e-9)

    @property
    def ends_by(self) -> str:
        """What sets the top speed."""
        own_top = self.train.highest_motor_speed_rpm / float(self.train.motor_turns_per_spindle_turn)
        return TOP if self.top_rpm >= 0.999 * own_top else SUPPLY

    @property
    def headline(self) -> str:
        """The conclusion, for the top of the figure."""
        if self.speed_rpm > self.top_rpm:
            return f"{self.speed_rpm:.0f} rpm is beyond this drive; it ends at {self.top_rpm:.0f} rpm."
        long, short = float(self.here.torque_nm), float(self.here_short.torque_nm)
        told = f"{torque_words(long)} at {self.speed_rpm:.0f} rpm for hours ({self.here.binding} sets it)"
        if short < 1.02 * long:
            return f"{told}, and no more for a short time."
        return f"{told}, {torque_words(short)} for a short time ({self.here_short.binding})."

    @property
    def details(self) -> str:
        """What else the figure shows, for those who cannot see it."""
        met = sorted({str(name) for name in (*self.all_day.binding, *self.short_time.binding)})
        asked = "; ".join(f"{one.words} asks {torque_words(one.torque_nm)}" for one in self.asked)
        return (
            f"{float(self.train.motor_turns_per_spindle_turn):.3g} turns of the motor for one of the "
            f"spindle, {show(self.train.supply_v, 'V')}; top speed {self.top_rpm:.0f} rpm. Limits met on the "
            f"way: {', '.join(met)}. {asked}."
        )

    @property
    def sentence(self) -> str:
        """What the drive means for the work, in plain words."""
        power_w = float(self.here.power_w)
        carried = [one.words for one in self.asked if one.torque_nm <= float(self.here.torque_nm)]
        briefly = [
            one.words
            for one in self.asked
            if float(self.here.torque_nm) < one.torque_nm <= float(self.here_short.torque_nm)
        ]
        told = [f"That is {power_w:.0f} W at the chuck."]
        told += [f"It carries for hours: {', '.join(carried)}."] if carried else []
        told += [f"For a pass or two only: {', '.join(briefly)}."] if briefly else []
        if not (carried or briefly):
            told.append("None of the work shown is carried here: slower tools, thinner chips, another ratio.")
        if self.top_rpm > 1.01 * self.allowed_rpm:
            told.append(
                f"The motor could turn the spindle at {self.top_rpm:.0f} rpm, but only "
                f"{self.allowed_rpm:.0f} rpm are allowed: limit the drive, too."
            )
        return " ".join(told)


def view_drive(
    as_built: DriveTrain,
    asked: Sequence[Asked],
    allowed_rpm: float,
    *,
    motor_pulley: Fraction,
    spindle_pulley: Fraction,
    supply_v: float,
    speed_rpm: float,
) -> DriveView:
    """Work out what the drive gives with other pulleys or another supply."""
    ratio = pulley_ratio(motor_pulley, spindle_pulley)
    train = replace(as_built, motor_turns_per_spindle_turn=ratio, supply_v=supply_v)
    top = top_speed_rpm(train)
    speeds = np.linspace(0, max(top, top_speed_rpm(as_built), 1.0) * 1.04, SPEED_POINTS)
    return DriveView(
        train=train,
        speed_rpm=speed_rpm,
        all_day=continuous_envelope(speeds, train),
        short_time=short_time_envelope(speeds, train),
        here=continuous_envelope(speed_rpm, train),
        here_short=short_time_envelope(speed_rpm, train),
        as_built_nm=continuous_envelope(speeds, as_built).torque_nm,
        asked=tuple(asked),
        top_rpm=top,
        allowed_rpm=allowed_rpm,
    )


def drive_panel(
    as_built: DriveTrain,
    pulleys: Pulleys,
    asked: Sequence[Asked],
    *,
    allowed_rpm: float,
    speed_rpm: float,
) -> LivePanel:
    """Build the panel, starting at the machine as built."""
    fields = TEETH if pulleys.toothed else DIAMETERS
    own_v = as_built.supply_v
    volts = np.linspace(LEAST_SUPPLY_SHARE, MOST_SUPPLY_SHARE, 49) * own_v
    return LivePanel(
        controls={
            "motor_pulley": ExactQuantity(
                fields["motor_pulley"], sweep=_around(pulleys.motor, least=10), own=pulleys.motor
            ),
            "spindle_pulley": ExactQuantity(
                fields["spindle_pulley"], sweep=_around(pulleys.spindle, least=10), own=pulleys.spindle
            ),
            "supply_v": Quantity(
                VOLTAGE, sweep=[float(round(v)) for v in volts if 10 <= round(v) <= 450], own=own_v
            ),
            "speed_rpm": Quantity(
                SPEED, sweep=[float(rpm) for rpm in (20, 30, 40, *range(50, 3025, 25))], start=speed_rpm
            ),
        },
        compute=partial(view_drive, as_built, tuple(asked), allowed_rpm),
        chart=DriveEnvelope(),
        sentence=lambda view: view.sentence,
    )


def _around(own: Fraction, *, least: int) -> list[Fraction]:
    """Whole sizes from less than half to more than twice the machine's own."""
    first, last = max(int(0.4 * own), least), max(int(2.5 * own), least + 10)
    step = max((last - first) // 60, 1)
    return [Fraction(size) for size in range(first, last + 1, step)]
