"""A braked stop: speed against time beside the free run, and turns from every speed."""

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up

LEAST_TURNS_SHOWN = 1.0
# So far along the axis the line of the free run has left the picture.
BEYOND_THE_FREE_RUN = 0.2


class BrakeStop(Chart):
    """Speed against time with and without brake on the left, turns against speed on the right."""

    height_px = 400

    def lay_out(self) -> None:
        """Build both plots."""
        self._lay_out_time()
        self._lay_out_turns()

    def _lay_out_time(self) -> None:
        self.time = self.axes(72, 412, top_px=70)
        self.time.set_xlabel("time since the drive let go, s")
        self.time.set_ylabel("spindle speed, rpm")
        (self.free,) = self.time.plot([], [], **OTHER_WAY)
        (self.braked,) = self.time.plot([], [], **COMPUTED)
        self.brushes = self.time.axhline(0, color=QUIET, linestyle=":", linewidth=1.2)
        self.wanted = self.time.axvline(0, **LIMIT)
        (self.standstill,) = self.time.plot([], [], clip_on=False, **MACHINE)
        for artist in (self.free, self.braked, self.brushes, self.wanted, self.standstill):
            self.moves(artist)
        self.free_words = self.words(self.time, color=OTHER_WAY["color"], ha="right", va="top")
        self.brush_words = self.words(self.time, color=QUIET, ha="right", va="bottom")
        self.wanted_words = self.words(self.time, color=LIMIT["color"], va="top")

    def _lay_out_turns(self) -> None:
        self.turning = self.axes(472, 24, top_px=70)
        self.turning.set_xlabel("speed when the drive lets go, rpm")
        self.turning.set_ylabel("turns to standstill")
        (self.free_turns,) = self.turning.plot([], [], **OTHER_WAY)
        (self.turns,) = self.turning.plot([], [], **COMPUTED)
        self.most = self.turning.axhline(0, **LIMIT)
        (self.here,) = self.turning.plot([], [], clip_on=False, **MACHINE)
        for artist in (self.free_turns, self.turns, self.most, self.here):
            self.moves(artist)
        self.most_words = {
            side: self.words(self.turning, color=LIMIT["color"], ha=side, va="bottom")
            for side in ("left", "right")
        }
        self.free_turns_words = self.words(self.turning, color=OTHER_WAY["color"], va="top")
        self.here_words = self.words(self.turning, ha="center", va="bottom")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.brake.BrakeView`."""
        self._move_time(result)
        self._move_turns(result)
        self.say(result.headline, result.details)

    def _move_time(self, result) -> None:
        latest, stop_s = result.times_s[-1], float(result.found.time_s)
        highest = rounded_up(1.12 * result.speed_rpm)
        self.free.set_data(result.times_s, result.free_rpm)
        self.braked.set_data(result.times_s, result.braked_rpm)
        self.standstill.set_data([stop_s], [0])
        self.time.set_xlim(0, latest)
        self.time.set_ylim(0, highest)
        self.free_words.set_text(f"dashes: no brake, {result.free_s:.1f} s")
        self.free_words.set_position((latest, 0.99 * highest))
        self.brushes.set_ydata([result.brush_rpm] * 2)
        self.brush_words.set_text("below: friction alone")
        self.brush_words.set_position((latest, result.brush_rpm))
        wanted = result.wanted.stop_time_s
        shown = wanted is not None and wanted < latest
        self.wanted.set_visible(shown)
        self.wanted_words.set_visible(shown)
        if shown:
            self.wanted.set_xdata([wanted, wanted])
            self.wanted_words.set_text(f"you want\nit still\nby {wanted:g} s")
            self.wanted_words.set_position((wanted, 0.78 * result.speed_rpm))

    def _move_turns(self, result) -> None:
        turns, fastest = float(result.found.turns), result.speeds_rpm[-1]
        highest = rounded_up(1.3 * max(result.turns[-1], turns, LEAST_TURNS_SHOWN))
        self.turns.set_data(result.speeds_rpm, result.turns)
        self.free_turns.set_data(result.speeds_rpm, result.turns_free)
        self.here.set_data([result.speed_rpm], [turns])
        self.turning.set_xlim(0, fastest)
        self.turning.set_ylim(0, highest)
        self.here_words.set_text(f"{turns:.3g} turns")
        across = min(max(result.speed_rpm, 0.13 * fastest), 0.88 * fastest)
        self.here_words.set_position((across, turns + 0.03 * highest))
        self.free_turns_words.set_text("dashes: no brake")
        self.free_turns_words.set_position((0.02 * fastest, 0.98 * highest))
        most = result.wanted.turns
        shown = most is not None and most < highest
        self.most.set_visible(shown)
        self.most.set_ydata([most if shown else 0] * 2)
        # the line of the turns lies below the limit on its left part, above it on its right part
        roomy = "left" if shown and result.turns[len(result.turns) // 2] < most else "right"
        for side, words in self.most_words.items():
            words.set_text(f"you want at most {most:g}" if shown and side == roomy else "")
            words.set_position((BEYOND_THE_FREE_RUN * fastest if side == "left" else fastest, most or 0))
