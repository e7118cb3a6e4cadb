"""Motor and pulleys: torque and power at the spindle against speed, with each limit that binds named."""

from itertools import groupby, zip_longest

import numpy as np
from matplotlib.ticker import MaxNLocator

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up

MOST_NAMES, MOST_ASKED = 4, 2
# Two demands nearer to each other than this share of the axis are written on either side of the pair.
CROWDED_SHARE = 0.07
# So near below a level, as a share of the axis, the beginning of a curve takes the room for its words.
NEAR_SHARE = 0.2
# A limit that binds over less of the axis than this is not named: its name would not fit.
LEAST_SHARE_NAMED = 0.06
ROOM_ABOVE = 1.1
FALLING_SHARE = 0.7
AS_BUILT = {"color": QUIET, "linestyle": ":", "linewidth": 1.3}
HEAVY = 2.2
RAD_S_PER_RPM = np.pi / 30


class DriveEnvelope(Chart):
    """Torque for hours and for a short time with the limits named; on the right the power that it makes."""

    height_px = 430

    def lay_out(self) -> None:
        """Build the torque plot on the left and the power plot on the right."""
        self.torque = self._plot("torque at the spindle, N m", 62, 318)
        self.power = self._plot("power at the spindle, W", 574, 22)
        self.power.xaxis.set_major_locator(MaxNLocator(3))
        self.torque_curves, self.power_curves = self._curves(self.torque), self._curves(self.power)
        self.asked = [self._demand() for _ in range(MOST_ASKED)]
        self.short_names = self._names("bottom", OTHER_WAY["color"])
        self.long_names = self._names("top", COMPUTED["color"])
        how = {"size": 8.5, "ha": "right", "va": "center", "color": OTHER_WAY["color"]}
        self.falling_name = self.words(self.torque, **how)
        self.built_words = self.words(self.torque, size=8.5, ha="right", va="top", color=QUIET)
        self.end = self.moves(self.torque.axvline(0, color=QUIET, linewidth=0.8))
        self.end_words = {
            side: self.words(self.torque, size=8.5, ha=side, va="bottom", color=QUIET)
            for side in ("left", "right")
        }
        self.here_words = self.words(self.power, ha="left", va="top")

    def _plot(self, label: str, left_px: float, right_px: float):
        axes = self.axes(left_px, right_px, top_px=66)
        axes.set_xlabel("spindle speed, rpm")
        axes.set_ylabel(label)
        return axes

    def _curves(self, axes):
        (short,) = axes.plot([], [], **OTHER_WAY)
        (built,) = axes.plot([], [], **AS_BUILT)
        (long,) = axes.plot([], [], **COMPUTED, linewidth=HEAVY)
        (point,) = axes.plot([], [], clip_on=False, **MACHINE)
        return [self.moves(artist) for artist in (short, built, long, point)]

    def _demand(self):
        line = self.moves(self.torque.axhline(0, **LIMIT))
        names = {
            (ha, va): self.words(self.torque, size=8.5, color=LIMIT["color"], ha=ha, va=va)
            for ha in ("left", "right")
            for va in ("bottom", "top")
        }
        return line, names

    def _names(self, side: str, color: str):
        return [self.words(self.torque, size=8.5, va=side, color=color) for _ in range(MOST_NAMES)]

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.motor.DriveView`."""
        speeds = result.all_day.speed_rpm
        angular, here = RAD_S_PER_RPM * speeds, RAD_S_PER_RPM * result.speed_rpm
        self._move_curves(self.torque_curves, result, np.ones_like(speeds), 1.0)
        self._move_curves(self.power_curves, result, angular, here)
        demands = [one.torque_nm for one in result.asked]
        most_nm = max(float(np.max(result.short_time.torque_nm)), *demands, 0.1)
        most_w = max(float(np.max(angular * result.short_time.torque_nm)), 1.0)
        right_rpm = rounded_up(speeds[-1])
        for axes, most in ((self.torque, most_nm), (self.power, most_w)):
            axes.set_xlim(0, right_rpm)
            axes.set_ylim(0, rounded_up(ROOM_ABOVE * most))
        self._move_asked(result, right_rpm)
        self._name_limits(self.short_names, result.short_time, "short time: ")
        self._name_limits(self.long_names, result.all_day, "for hours: ")
        self._name_fall(result.short_time)
        self._name_as_built(result)
        self._name_the_end(result, right_rpm)
        self.here_words.set_text(f"{float(result.here.power_w):.0f} W\nat {result.speed_rpm:.0f} rpm")
        self.here_words.set_position((0.02 * right_rpm, self.power.get_ylim()[1]))
        self.say(result.headline, result.details)

    def _move_curves(self, curves, result, times, times_here) -> None:
        short, built, long, point = curves
        speeds = result.all_day.speed_rpm
        short.set_data(speeds, times * result.short_time.torque_nm)
        built.set_data(speeds, times * result.as_built_nm)
        built.set_visible(result.changed)
        long.set_data(speeds, times * result.all_day.torque_nm)
        point.set_data([result.speed_rpm], [times_here * float(result.here.torque_nm)])
        point.set_visible(result.speed_rpm <= speeds[-1])

    def _move_asked(self, result, right_rpm: float) -> None:
        ordered = sorted(result.asked, key=lambda one: -one.torque_nm)[:MOST_ASKED]
        levels = [one.torque_nm for one in ordered]
        crowded = len(levels) > 1 and levels[0] - levels[1] < CROWDED_SHARE * self.torque.get_ylim()[1]
        for place, (line, names) in enumerate(self.asked):
            shown = place < len(ordered)
            level = levels[place] if shown else 0.0
            line.set_visible(shown)
            line.set_ydata([level] * 2)
            side = "right" if self._begins_near(level, result) else "left"
            used = (side, "bottom" if crowded and place == 0 else "top")
            for (ha, va), words in names.items():
                words.set_text(f"asked by {ordered[place].words}" if shown and (ha, va) == used else "")
                words.set_position((right_rpm if ha == "right" else 0, level))

    def _begins_near(self, level_nm: float, result) -> bool:
        """Whether one of the curves begins so near below a level that its words would lie on it."""
        near = NEAR_SHARE * self.torque.get_ylim()[1]
        begins = (curve.torque_nm[0] for curve in (result.all_day, result.short_time))
        return any(-near < float(begin) - level_nm < near / 3 for begin in begins)

    def _name_limits(self, names, envelope, lead: str) -> None:
        """Write beside each level stretch of a curve which limit it is."""
        level = [(name, places[0]) for name, places in _stretches(envelope) if not _falls(envelope, places)]
        for words, (name, place) in zip_longest(names, level[: len(names)], fillvalue=("", 0)):
            words.set_text(lead * (place == 0) + name if name else "")
            words.set_position((envelope.speed_rpm[place], envelope.torque_nm[place]))

    def _name_fall(self, envelope) -> None:
        """Write on the left of the steep stretch of a curve which limit it is."""
        steep = [(name, places) for name, places in _stretches(envelope) if _falls(envelope, places)]
        name, places = steep[0] if steep else ("", [0])
        place = places[len(places) // 2]
        self.falling_name.set_text(name)
        self.falling_name.set_position((envelope.speed_rpm[place], envelope.torque_nm[place]))

    def _name_the_end(self, result, right_rpm: float) -> None:
        """Write what ends the speeds on that side of the line where there is room."""
        self.end.set_xdata([result.top_rpm, result.top_rpm])
        roomy = "right" if result.top_rpm > right_rpm / 2 else "left"
        for side, words in self.end_words.items():
            words.set_text(f"the end: {result.ends_by}" if side == roomy else "")
            words.set_position((result.top_rpm, 0))

    def _name_as_built(self, result) -> None:
        place = int(0.8 * np.argmax(result.as_built_nm))
        self.built_words.set_text("as built, for hours" if result.changed else "")
        self.built_words.set_position((result.all_day.speed_rpm[place], result.as_built_nm[place]))


def _falls(envelope, places) -> bool:
    return envelope.torque_nm[places[-1]] < FALLING_SHARE * envelope.torque_nm[places[0]]


def _stretches(envelope):
    """The limits in the order in which they bind, with the places of each; short stretches left out."""
    speeds = envelope.speed_rpm
    for name, members in groupby(range(len(speeds)), key=lambda place: str(envelope.binding[place])):
        places = list(members)
        wide = speeds[places[-1]] - speeds[places[0]] > LEAST_SHARE_NAMED * speeds[-1]
        if wide and envelope.torque_nm[places[0]] > 0:
            yield name, places
