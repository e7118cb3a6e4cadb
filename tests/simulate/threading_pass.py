"""A threading pass as the controller lives through it: count by count, from start to start.

The spindle's angle advances one encoder edge at a time, the time that each edge takes follows from the
deceleration in the middle of it, and the screw is stepped by an accumulator of whole numbers. Nothing here
leans on the closed forms of the library, nor on how it turns counts into steps. All numbers are invented.
"""

import math
from dataclasses import dataclass, field
from fractions import Fraction

RPM = 2 * math.pi / 60
STILL = 1e-12


@dataclass
class Screw:
    """The screw's accumulator: whole steps and the rest, forward and back."""

    ratio: Fraction
    steps: int = 0
    rest: int = 0

    def count(self, direction: int) -> None:
        """Take one edge; half a step is in hand, as in rounding."""
        self.rest += direction * self.ratio.numerator
        carried, self.rest = divmod(self.rest, self.ratio.denominator)
        self.steps += carried


@dataclass
class PassTruth:
    """A spindle with a late brake, an encoder on it, a screw behind it."""

    counts_per_turn: int
    ratio: Fraction
    brake_drag_per_s: float
    brush_speed_rad_s: float
    drags: tuple[float, float, float]
    drive_release_s: float
    contact_delay_s: float
    spin_up_rad_s2: float
    count: int = 0
    time_s: float = 0.0
    part_rad: float = 0.0
    log: list = field(default_factory=list)

    def __post_init__(self):
        self.screw = Screw(self.ratio)
        self.edge_rad = 2 * math.pi / self.counts_per_turn

    @property
    def turns(self) -> float:
        """Spindle angle, the part of a count in it."""
        return (self.count * self.edge_rad + self.part_rad) / (2 * math.pi)

    def free(self, speed):
        """Deceleration of the free spindle."""
        a, b, c = self.drags
        return a + (b + c * speed) * speed

    def braked(self, speed):
        """Deceleration with the resistor in."""
        return self.free(speed) + self.brake_drag_per_s * max(speed - self.brush_speed_rad_s, 0.0)

    def wait(self, seconds) -> None:
        """Stand still."""
        self.time_s += seconds

    def turn(self, speed, direction, slowing, *, until_turns=None, for_s=math.inf, up_to=math.inf):
        """Go on at what ``slowing`` says until an angle, a time or a speed is reached; return the speed."""
        end_s = self.time_s + for_s
        while True:
            left = self.edge_rad - self.part_rad if direction > 0 else self.part_rad or self.edge_rad
            if until_turns is not None:
                to_go = direction * (until_turns - self.turns) * 2 * math.pi
                if to_go <= STILL:
                    return speed
                left = min(left, to_go)
            after, took = self._over(speed, left, slowing)
            if after > up_to:
                before, after = after, up_to
                left *= (up_to**2 - speed**2) / (before**2 - speed**2)
                took = 2 * left / (speed + after)
            if after == 0.0 and slowing(0.0) > 0:
                rate = slowing(speed / 2)
                left, took = min(left, speed**2 / (2 * rate)), speed / rate
            if self.time_s + took > end_s:
                took = end_s - self.time_s
                middle = slowing(speed - slowing(speed) * took / 2)
                left, after = speed * took - middle * took**2 / 2, speed - middle * took
                self._advance(left, direction)
                self.time_s = end_s
                return after
            self._advance(left, direction)
            self.time_s += took
            speed = after
            if speed == 0.0 or speed >= up_to:
                return speed

    def stop(self, speed, direction) -> None:
        """From the stop command to standstill."""
        speed = self.turn(speed, direction, lambda w: 0.0, for_s=self.drive_release_s)
        if self.contact_delay_s:
            speed = self.turn(speed, direction, self.free, for_s=self.contact_delay_s)
        if speed > 0:
            self.turn(speed, direction, self.braked)

    def start(self, speed_rpm, direction) -> float:
        """From standstill to a speed."""
        return self.turn(0.0, direction, lambda w: -self.spin_up_rad_s2, up_to=speed_rpm * RPM)

    def _over(self, speed, angle, slowing):
        """Speed after an angle and the time it takes, by the deceleration in the middle."""
        after = speed
        for _ in range(4):
            squared = speed**2 - 2 * slowing((speed + after) / 2) * angle
            after = math.sqrt(max(squared, 0.0))
        return after, 2 * angle / (speed + after) if speed + after > 0 else 0.0

    def _advance(self, angle, direction) -> None:
        self.part_rad += direction * angle
        if self.part_rad >= self.edge_rad - STILL:
            self.part_rad = max(self.part_rad - self.edge_rad, 0.0)
            self.count += 1
            self.screw.count(1)
        elif self.part_rad < -STILL:
            self.part_rad += self.edge_rad
            self.count -= 1
            self.screw.count(-1)
