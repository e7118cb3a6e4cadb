"""Moment of inertia: what each way gives with its doubt, beside the line of the machine file."""

from machinelab.workbook.figures.base import LIMIT, MEASURED, Chart

ROWS = 2


class InertiaRoutes(Chart):
    """One bar of doubt a way, its best value on it, and a line where the machine file stands."""

    height_px = 250

    def lay_out(self) -> None:
        """Build one plot with a row for each way."""
        self.plot = self.axes(130, 24)
        self.plot.set_xlabel("moment of inertia at the spindle, kg m²")
        self.plot.set_ylim(-0.9, ROWS - 0.4)
        look = MEASURED | {"linestyle": "-", "linewidth": 2, "markersize": 9, "markevery": [1]}
        self.bars = [self.plot.plot([], [], **look)[0] for _ in range(ROWS)]
        self.filed = self.plot.axvline(0, **LIMIT)
        for artist in (*self.bars, self.filed):
            self.moves(artist)
        self.filed_words = self.words(self.plot, color=LIMIT["color"], va="top", ha="center")

    def update(self, result) -> None:
        """Move everything to a `machinelab.workbook.inertia_routes.InertiaFound`."""
        reach = [end for route in result.routes for end in route.inertia.interval]
        filed = result.filed_kg_m2
        everything = [*reach, *([] if filed is None else [filed])]
        room = 0.25 * (max(everything) - min(everything))
        for row, bar in enumerate(self.bars):
            bar.set_visible(row < len(result.routes))
        for row, (bar, route) in enumerate(zip(self.bars, result.routes, strict=False)):
            low, high = route.inertia.interval
            bar.set_data([low, route.value, high], [row] * 3)
        self.plot.set_yticks(range(len(result.routes)), [route.name for route in result.routes])
        self.renew_frame()
        self.plot.set_xlim(min(everything) - room, max(everything) + room)
        for artist in (self.filed, self.filed_words):
            artist.set_visible(filed is not None)
        if filed is not None:
            self.filed.set_xdata([filed, filed])
            self.filed_words.set_text(f"machine file {filed:.3g} kg m²")
            self.filed_words.set_position((filed, -0.3))
        self.say(result.headline, result.details)
