"""Leadscrew gearing: how near the controller's fraction comes to each thread, against the screw itself."""

import numpy as np
from matplotlib.ticker import FuncFormatter

from machinelab.workbook.figures.base import (
    BAND,
    COMPUTED,
    LIMIT,
    MACHINE,
    OTHER_WAY,
    QUIET,
    Chart,
)

SMALLEST_SHOWN_PPM = 0.1
LARGEST_SHOWN_PPM = 1e5


class ThreadErrors(Chart):
    """Each thread's pitch error with the nearest ratio, beside the error the screw has anyway."""

    height_px = 420

    def lay_out(self) -> None:
        """Build one row for each thread on a scale that holds both "exact" and thousands of ppm."""
        self.plot = self.axes(140, 210, top_px=74)
        self.plot.set_xscale("symlog", linthresh=SMALLEST_SHOWN_PPM, linscale=0.6)
        self.plot.set_xlim(0, LARGEST_SHOWN_PPM)
        self.plot.xaxis.set_major_formatter(FuncFormatter(_ppm_tick))
        self.plot.minorticks_off()
        self.plot.grid(axis="y", visible=False)
        self.plot.set_xlabel("pitch error, parts per million (to either side)")
        self.band = self.moves(self.plot.axvspan(0, 1, color=BAND, zorder=0.5))
        self.edge = self.moves(self.plot.axvline(1, **LIMIT))
        self.edge_words = self.words(self.plot, color=LIMIT["color"], ha="center", va="bottom")
        (self.stems,) = self.plot.plot([], [], color=QUIET, linewidth=0.9, linestyle="-")
        (self.points,) = self.plot.plot([], [], clip_on=False, **MACHINE)
        self.moves(self.stems)
        self.moves(self.points)
        self.remarks: list = []

    def update(self, result) -> None:
        """Show ``result.threads`` (name, error_ppm, remark) against ``result.harmless_ppm``."""
        rows = np.arange(len(result.threads))
        errors = np.array([abs(thread.error_ppm) for thread in result.threads], dtype=float)
        self.points.set_data(errors, rows)
        starts = np.column_stack([np.zeros_like(errors), errors, np.full_like(errors, np.nan)])
        self.stems.set_data(starts.ravel(), np.repeat(rows, 3))
        self.plot.set_ylim(len(rows) - 0.5, -0.5)
        self.plot.set_yticks(rows, [thread.name for thread in result.threads])
        self._show_remarks(result.threads)
        self._show_screw(result.harmless_ppm)
        self.renew_frame()
        told = "; ".join(f"{thread.name}: {' '.join(thread.remark.split())}" for thread in result.threads)
        self.say(result.headline, f"Row by row: {told}.")

    def _show_remarks(self, threads) -> None:
        for remark in self.remarks:
            remark.remove()
        beside = {"transform": self.plot.get_yaxis_transform(), "size": 9, "va": "center"}
        self.remarks = [
            self.plot.text(1.015, row, thread.remark, **beside) for row, thread in enumerate(threads)
        ]

    def _show_screw(self, harmless_ppm: float) -> None:
        known = bool(np.isfinite(harmless_ppm))
        for artist in (self.band, self.edge, self.edge_words):
            artist.set_visible(known)
        if not known:
            return
        self.band.set_width(harmless_ppm)
        self.edge.set_xdata([harmless_ppm, harmless_ppm])
        self.edge_words.set_text(f"a fifth of the screw's own error: {harmless_ppm:.0f} ppm")
        self.edge_words.set_position((harmless_ppm, -0.5))


class RatioWhatIf(Chart):
    """One thread: the rounding from count to count, and what a larger fraction would buy."""

    height_px = 360

    def lay_out(self) -> None:
        """Build the two plots: the first counts, and the error against the largest whole number."""
        self.counts = self.axes(72, 440, top_px=84)
        self.counts.set_title("From edge to edge: set less exact")
        self.counts.set_xlabel("encoder edges from the start")
        self.counts.set_ylabel("screw position, micrometres")
        (self.saw,) = self.counts.plot([], [], drawstyle="steps-post", **COMPUTED)
        self.moves(self.saw)
        self.half_steps = [self.moves(self.counts.axhline(0, **LIMIT)) for _ in range(2)]
        self.half_words = self.words(self.counts, color=LIMIT["color"], ha="right", va="bottom")

        self.bounds = self.axes(462, 24, top_px=84)
        self.bounds.set_title("Error against the largest number held")
        self.bounds.set_xlabel("largest numerator and denominator")
        self.bounds.set_ylabel("pitch error, ppm")
        self.bounds.set_xscale("log")
        self.bounds.set_yscale("symlog", linthresh=SMALLEST_SHOWN_PPM, linscale=0.6)
        self.bounds.set_xlim(8, 2**17)
        self.bounds.set_ylim(0, LARGEST_SHOWN_PPM)
        self.bounds.xaxis.set_major_formatter(FuncFormatter(_ppm_tick))
        self.bounds.yaxis.set_major_formatter(FuncFormatter(_ppm_tick))
        self.bounds.minorticks_off()
        self.band = self.moves(self.bounds.axhspan(0, 1, color=BAND, zorder=0.5))
        self.band_words = self.words(self.bounds, color=LIMIT["color"], ha="right", va="bottom")
        (self.curve,) = self.bounds.plot([], [], drawstyle="steps-post", **OTHER_WAY)
        (self.chosen,) = self.bounds.plot([], [], clip_on=False, **MACHINE)
        self.moves(self.curve)
        self.moves(self.chosen)

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.panels.gearing.RatioChoice`."""
        self.saw.set_data(result.counts, result.position_error_um)
        half = result.step_um / 2
        self.counts.set_xlim(0, result.counts[-1])
        self.counts.set_ylim(-1.7 * half, 1.7 * half)
        for line, height in zip(self.half_steps, (half, -half), strict=True):
            line.set_ydata([height, height])
        self.half_words.set_text(f"half a step: {half:.2g} \N{MICRO SIGN}m")
        self.half_words.set_position((0.98 * result.counts[-1], 1.08 * half))

        self.curve.set_data(result.bounds, np.abs(result.bound_errors_ppm))
        self.chosen.set_data([result.bound], [abs(result.error_ppm)])
        self._show_screw(result.harmless_ppm)
        self.say(result.headline, result.details)

    def _show_screw(self, harmless_ppm: float) -> None:
        known = bool(np.isfinite(harmless_ppm))
        self.band.set_visible(known)
        self.band_words.set_visible(known)
        if known:
            self.band.set_height(harmless_ppm)
            self.band_words.set_text(f"a fifth of the screw's\nown error: {harmless_ppm:.0f} ppm")
            self.band_words.set_position((2**17, harmless_ppm))


def _ppm_tick(value: float, _position: int) -> str:
    if value == 0:
        return "exact"
    return f"{value:,.0f}".replace(",", "\N{THIN SPACE}") if value >= 1 else f"{value:g}"
