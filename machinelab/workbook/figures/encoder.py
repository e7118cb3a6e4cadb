"""Spindle encoder: whether everything keeps up with the edges, and how finely the speed can be read."""

import numpy as np
from matplotlib.ticker import EngFormatter, FuncFormatter

from machinelab.workbook.figures.base import COMPUTED, LIMIT, MACHINE, OTHER_WAY, QUIET, Chart
from machinelab.workbook.figures.scales import rounded_up

LIMITS_SHOWN = 3
# The line of timing is written on below it where it is far under that of counting, else above it.
BELOW_THE_LINE, ABOVE_THE_LINE = ("left", "top"), ("right", "bottom")
FAR_BELOW, FAR_ABOVE = 1 / 12, 6


class EncoderLimits(Chart):
    """Edge rate against speed with the limits it must stay below; speed resolution two ways."""

    height_px = 390

    def lay_out(self) -> None:
        """Build the edge-rate plot on the left and the resolution plot on the right."""
        self._lay_out_rates()
        self._lay_out_resolution()

    def _lay_out_rates(self) -> None:
        self.rates = self.axes(78, 430, top_px=84)
        self.rates.set_title("Edges each second")
        self.rates.set_xlabel("spindle speed, rpm")
        self.rates.set_ylabel("edges each second, Hz")
        self.rates.yaxis.set_major_formatter(EngFormatter(sep="\N{THIN SPACE}"))
        (self.rate,) = self.rates.plot([], [], **COMPUTED)
        self.moves(self.rate)
        self.limits = [self.moves(self.rates.axhline(0, **LIMIT)) for _ in range(LIMITS_SHOWN)]
        self.limit_words = [
            self.words(self.rates, color=LIMIT["color"], va="bottom") for _ in range(LIMITS_SHOWN)
        ]
        (self.top,) = self.rates.plot([], [], clip_on=False, **MACHINE)
        self.moves(self.top)
        self.top_words = self.words(self.rates, ha="right", va="bottom")

    def _lay_out_resolution(self) -> None:
        self.resolution = self.axes(472, 24, top_px=84)
        self.resolution.set_title("Smallest change of speed that shows")
        self.resolution.set_xlabel("spindle speed, rpm")
        self.resolution.set_ylabel("speed step, rpm")
        self.resolution.set_xscale("log")
        self.resolution.set_yscale("log")
        self.resolution.xaxis.set_major_formatter(FuncFormatter(_plain))
        self.resolution.yaxis.set_major_formatter(FuncFormatter(_plain))
        self.resolution.minorticks_off()
        (self.counting,) = self.resolution.plot([], [], **COMPUTED)
        (self.timing,) = self.resolution.plot([], [], **OTHER_WAY)
        (self.crossover,) = self.resolution.plot([], [], marker="o", color=QUIET, linestyle="none")
        for artist in (self.counting, self.timing, self.crossover):
            self.moves(artist)
        self.counting_words = self.words(self.resolution, va="bottom", ha="right")
        self.timing_words = {
            (ha, va): self.words(self.resolution, color=OTHER_WAY["color"], ha=ha, va=va)
            for ha, va in (BELOW_THE_LINE, ABOVE_THE_LINE)
        }
        self.crossover_words = self.words(self.resolution, color=QUIET, va="top")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.encoder.EncoderChoice`."""
        self._move_rates(result)
        self._move_resolution(result)
        self.say(result.headline, result.details)

    def _move_rates(self, result) -> None:
        fastest = rounded_up(result.speeds_rpm[-1])
        self.rate.set_data(result.speeds_rpm, result.edge_rates_hz)
        self.top.set_data([result.top_speed_rpm], [result.top_edge_rate_hz])
        highest = max([result.edge_rates_hz[-1], *(limit.edge_rate_hz for limit in result.limits)])
        self.rates.set_xlim(0, fastest)
        self.rates.set_ylim(0, rounded_up(1.12 * highest))
        self.top_words.set_text(f"top speed {result.top_speed_rpm:.0f} rpm")
        self.top_words.set_position((result.top_speed_rpm, result.top_edge_rate_hz))
        for place, (line, words) in enumerate(zip(self.limits, self.limit_words, strict=True)):
            used = place < len(result.limits)
            line.set_visible(used)
            words.set_visible(used)
            if used:
                limit = result.limits[place]
                line.set_ydata([limit.edge_rate_hz, limit.edge_rate_hz])
                words.set_text(limit.words)
                words.set_position((0.02 * fastest, limit.edge_rate_hz))

    def _move_resolution(self, result) -> None:
        speeds = result.resolution_speeds_rpm
        self.counting.set_data(speeds, np.broadcast_to(result.counting_step_rpm, speeds.shape))
        self.timing.set_data(speeds, result.timing_step_rpm)
        self.crossover.set_data([result.crossover_rpm], [result.counting_step_rpm])
        lowest = 10 ** np.floor(np.log10(result.timing_step_rpm[0]))
        highest = 10 ** np.ceil(np.log10(max(result.timing_step_rpm[-1], 3 * result.counting_step_rpm)))
        self.resolution.set_xlim(speeds[0], rounded_up(speeds[-1]))
        self.resolution.set_ylim(lowest, highest)
        self.counting_words.set_text(f"counting edges for {result.gate_s * 1e3:.0f} ms")
        self.counting_words.set_position((rounded_up(speeds[-1]), result.counting_step_rpm))
        self._name_timing(result)
        self.crossover_words.set_text(f"equal at {result.crossover_rpm:.0f} rpm")
        self.crossover_words.set_position((result.crossover_rpm, result.counting_step_rpm))

    def _name_timing(self, result) -> None:
        """Write on the line of timing where it is far from that of counting."""
        steps = result.timing_step_rpm
        far_below = steps[0] < FAR_BELOW**2 * result.counting_step_rpm
        side = BELOW_THE_LINE if far_below else ABOVE_THE_LINE
        wanted = (FAR_BELOW if far_below else FAR_ABOVE) * result.counting_step_rpm
        place = min(int(np.searchsorted(steps, wanted)), len(steps) - 1)
        for one, words in self.timing_words.items():
            words.set_text(result.timing_words if one == side else "")
            words.set_position((result.resolution_speeds_rpm[place], steps[place]))


def _plain(value: float, _position: int) -> str:
    return f"{value:,.0f}".replace(",", "\N{THIN SPACE}") if value >= 1 else f"{value:g}"
