"""The shape of a run-down: what dry friction, viscous drag and windage each do to it."""

from machinelab.workbook.figures.base import COMPUTED, LIMIT, OTHER_WAY, QUIET, Chart

LINES = {
    "all together": COMPUTED,
    "dry friction alone": OTHER_WAY,
    "dry and viscous": {"color": "#7A3E9D", "linestyle": ":", "linewidth": 1.6},
}
# How high the mark of standstill stands, and up to where along the axis its words fit on its right.
STANDSTILL_SHARE, ROOM_ON_THE_RIGHT = 0.45, 0.8


class CoastShapes(Chart):
    """Speed against time for all drags together and with drags left out; standstill is marked."""

    height_px = 360

    def lay_out(self) -> None:
        """Build one plot with a line for each set of drags."""
        self.plot = self.axes(72, 24)
        self.plot.set_xlabel("time since the drive let go, s")
        self.plot.set_ylabel("spindle speed, rpm")
        self.lines = {}
        for name, how in LINES.items():
            (self.lines[name],) = self.plot.plot([], [], **how)
            self.moves(self.lines[name])
        (self.standstill,) = self.plot.plot([], [], **LIMIT)
        self.moves(self.standstill)
        self.stop_words = {
            side: self.words(self.plot, color=LIMIT["color"], va="center", ha=side)
            for side in ("left", "right")
        }
        self.key_words = self.words(self.plot, color=QUIET, va="top", ha="right")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.coastdown.CoastShape`."""
        for name, (time_s, speed_rpm) in result.curves.items():
            self.lines[name].set_data(time_s, speed_rpm)
        latest = max(time_s[-1] for time_s, _ in result.curves.values())
        self.plot.set_xlim(0, 1.03 * latest)
        self.plot.set_ylim(0, 1.15 * result.start_rpm)
        height = STANDSTILL_SHARE * result.start_rpm
        self.standstill.set_data([result.stop_time_s] * 2, [0, height])
        roomy = "left" if result.stop_time_s < ROOM_ON_THE_RIGHT * latest else "right"
        for side, words in self.stop_words.items():
            words.set_text(f"standstill after {result.stop_time_s:.1f} s" if side == roomy else "")
            words.set_position((result.stop_time_s, height))
        self.key_words.set_text(
            "full line: all drags together\ndashes: dry friction alone\ndots: dry and viscous"
        )
        self.key_words.set_position((1.03 * latest, 1.13 * result.start_rpm))
        self.say(
            f"From {result.start_rpm:.0f} rpm it would coast {result.stop_time_s:.1f} s "
            f"and turn {result.turns:.0f} times.",
            "The steeper the line, the quicker the spindle slows.",
        )
