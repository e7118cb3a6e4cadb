"""The mill head: torque over its speeds with a cut, and its lean seen from above with the way to tap."""

import numpy as np

from machinelab.workbook.figures.base import (
    BAND,
    COMPUTED,
    LIMIT,
    MACHINE,
    MEASURED,
    OTHER_WAY,
    QUIET,
    Chart,
)
from machinelab.workbook.figures.shop_scale import in_shop_unit

ROOM = 1.45


class MillTorque(Chart):
    """Torque for hours over the head's speeds, what the cut asks, and the speeds that the tables want."""

    height_px = 400

    def lay_out(self) -> None:
        """Build one plot of torque against speed."""
        self.plot = self.axes(72, 24)
        self.plot.set_xlabel("speed of the mill spindle, rpm")
        self.plot.set_ylabel("torque, N m")
        self.wanted = self.moves(self.plot.fill_between([0, 1], [0, 0], [1, 1], color=BAND, zorder=0.5))
        (self.hours,) = self.plot.plot([], [], **OTHER_WAY)
        self.asked = self.plot.axhline(0, **COMPUTED)
        self.ends = [self.plot.axvline(0, **LIMIT) for _ in range(2)]
        (self.point,) = self.plot.plot([], [], **MACHINE)
        for artist in (self.hours, self.asked, self.point, *self.ends):
            self.moves(artist)
        self.asked_words = self.words(self.plot, va="bottom", ha="right")
        self.hours_words = self.words(self.plot, va="bottom", ha="right", color=OTHER_WAY["color"])
        self.band_words = self.words(self.plot, size=8.5, va="top", ha="center", color=QUIET)
        self.end_words = self.words(self.plot, size=8.5, va="top", color=LIMIT["color"])

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.mill_cut.MillCut`."""
        head, known = result.head, result.drives is not None
        low, _, high = result.wanted_rpm
        right = 1.08 * head.highest_rpm
        speeds = head.speeds_rpm
        torque = head.for_hours(speeds).torque_nm if known else np.full(speeds.shape, np.nan)
        highest = float(np.nanmax(torque)) if known else result.asked_nm
        top = ROOM * max(highest, min(result.asked_nm, 3 * highest))
        self.plot.set_xlim(0, right)
        self.plot.set_ylim(0, top)
        edges = np.clip([low, high, high, low], 0, right)
        self.wanted.set_verts([np.column_stack([edges, [0, 0, top, top]])])
        self.hours.set_data(speeds, torque)
        self.asked.set_ydata([result.asked_nm] * 2)
        for line, speed in zip(self.ends, (head.lowest_rpm, head.highest_rpm), strict=True):
            line.set_xdata([speed] * 2)
        self.point.set_data([result.speed_rpm], [min(result.asked_nm, top)])
        self.asked_words.set_text(f"the cut asks {result.asked_nm:.2f} N m, doubt on top")
        self.asked_words.set_position((0.99 * head.highest_rpm, min(result.asked_nm, 0.9 * top)))
        self.hours_words.set_text("dashes: the motor bears it for hours" if known else "torque not known")
        self.hours_words.set_position((0.99 * head.highest_rpm, highest if known else 0.6 * top))
        self.band_words.set_text(f"the tables want\n{low:.0f} to {high:.0f} rpm")
        self.band_words.set_position(
            (float(np.clip((low + high) / 2, 0.1 * right, 0.88 * right)), 0.99 * top)
        )
        self.end_words.set_text(f"range of the head: {head.lowest_rpm:.0f} to {head.highest_rpm:.0f} rpm")
        self.end_words.set_position((head.lowest_rpm, 0.83 * top))
        self.say(result.headline, result.details)


class HeadLean(Chart):
    """Left: the table from above with the swept readings and the way to tap. Right: the readings round it."""

    height_px = 400

    def lay_out(self) -> None:
        """Build the plan and the plot of reading against angle."""
        self.plan = self.axes(20, 470, bottom_px=30)
        self.plan.set_xlim(-1.75, 1.75)
        self.plan.set_ylim(-1.75, 1.75)
        self.plan.set_xticks([])
        self.plan.set_yticks([])
        self.plan.grid(visible=False)
        round_deg = np.radians(np.linspace(0, 360, 181))
        self.plan.plot(np.cos(round_deg), np.sin(round_deg), color=QUIET, linestyle=":", linewidth=1)
        for words, x, y, ha, va in (
            ("back", 0, 1.68, "center", "top"),
            ("front, where you stand", 0, -1.68, "center", "bottom"),
            ("left", -1.7, 0, "left", "center"),
            ("right", 1.7, 0, "right", "center"),
        ):
            self.plan.text(x, y, words, ha=ha, va=va, size=9, color=QUIET)
        (self.dots,) = self.plan.plot([], [], **MEASURED)
        (self.high,) = self.plan.plot([], [], **MACHINE)
        (self.tap,) = self.plan.plot([], [], color=LIMIT["color"], linewidth=3)
        (self.tip,) = self.plan.plot([], [], color=LIMIT["color"], marker="o", markersize=9, linestyle="none")
        self.plot = self.axes(440, 24)
        self.plot.set_xlim(0, 360)
        self.plot.set_xticks(range(0, 361, 90), ["right", "back", "left", "front", "right"])
        self.plot.set_xlabel("where the dial stood")
        self.plot.set_ylabel("dial, mm")
        (self.readings,) = self.plot.plot([], [], **MEASURED)
        (self.wave,) = self.plot.plot([], [], **COMPUTED)
        self.limits = [self.plot.axhline(0, **LIMIT) for _ in range(2)]
        for artist in (self.dots, self.high, self.tap, self.tip, self.readings, self.wave, *self.limits):
            self.moves(artist)
        self.tap_words = self.words(self.plan, ha="center", va="center", color=LIMIT["color"])
        self.high_words = self.words(self.plan, size=8.5, ha="center", va="center")
        self.limit_words = self.words(self.plot, size=8.5, va="bottom", color=LIMIT["color"])

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.mill_tests.TramResult`."""
        in_shop_unit(self, result.lengths, self.plot.yaxis)
        turned = np.radians(result.angle_deg)
        self.dots.set_data(np.cos(turned), np.sin(turned))
        high = np.radians(result.found.high_deg)
        way = np.array([np.cos(high), np.sin(high)])
        proven = result.proven
        self.high.set_data([way[0]] if proven else [], [way[1]] if proven else [])
        self.tap.set_data([0, -0.7 * way[0]] if proven else [], [0, -0.7 * way[1]] if proven else [])
        self.tip.set_data([-0.7 * way[0]] if proven else [], [-0.7 * way[1]] if proven else [])
        self.tap_words.set_text(
            f"tap the top along the bar: {result.lengths.told(result.tap_mm, 3)}" if proven else "leave it"
        )
        self.tap_words.set_position((0, -1.33))
        self.high_words.set_text("high" if proven else "")
        self.high_words.set_position(tuple(1.28 * way))
        angle, wave = result.wave
        self.readings.set_data(result.angle_deg % 360, result.reading_mm)
        self.wave.set_data(angle, wave)
        middle = float(np.mean(result.reading_mm))
        half = 0.0 if result.limit_ppm is None else result.limit_ppm * 1e-6 * result.radius_mm
        for line, way_off in zip(self.limits, (half, -half), strict=True):
            line.set_visible(half > 0)
            line.set_ydata([middle + way_off] * 2)
        room = 1.5 * max(half, float(np.abs(result.reading_mm - middle).max()), 0.002)
        self.plot.set_ylim(middle - room, middle + room)
        self.limit_words.set_text("within these lines you accept it" if half else "")
        self.limit_words.set_position((3, middle + half))
        self.say(result.headline, result.details)
