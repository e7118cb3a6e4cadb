"""The drive chain of a machine, drawn with the ratio at each mesh; what is not known yet is dashed."""

import math

from matplotlib.patches import Circle, Rectangle

from machinelab.workbook.figures.base import COMPUTED, OTHER_WAY, QUIET, WIDTH_PX, Chart

TOP_Y, BETWEEN_Y, BOTTOM_Y = 300.0, 192.0, 118.0
LEFT_X, MIDDLE_X, RIGHT_X, CARRIAGE_X = 118.0, 392.0, 652.0, 682.0
# Both wheels of a mesh share this much radius between them, so that their sizes show the ratio.
RADII_PX, LEAST_RADIUS_PX, MOST_RADIUS_PX = 84.0, 15.0, 56.0
DASHED = (0, (4, 3))
INK = COMPUTED["color"]


class DriveChainDrawing(Chart):
    """Motor, spindle and encoder above; stepper, leadscrew and carriage below; the controller between."""

    height_px = 464

    def lay_out(self) -> None:
        """Build shafts, wheels and belts on a sheet measured in pixels."""
        self.sheet = self.figure.add_axes([0, 0, 1, 1])
        self.sheet.set_xlim(0, WIDTH_PX)
        self.sheet.set_ylim(0, self.height_px)
        self.sheet.axis("off")
        self.spindle = _MeshDrawing(self, (LEFT_X, TOP_Y), (MIDDLE_X, TOP_Y), second_label_px=-46)
        self.encoder = _MeshDrawing(self, (RIGHT_X, TOP_Y), (MIDDLE_X, TOP_Y), second_label_px=46)
        self.screw = _MeshDrawing(self, (LEFT_X, BOTTOM_Y), (MIDDLE_X, BOTTOM_Y))
        self._draw_screw_and_carriage()
        self._draw_controller()
        self.facts = {
            "motor": self._named("motor", LEFT_X, TOP_Y + 64),
            "spindle": self._named("spindle", MIDDLE_X, TOP_Y + 64),
            "encoder": self._named("encoder", RIGHT_X, TOP_Y + 64),
            "stepper": self._named("stepper", LEFT_X, 12),
            "leadscrew": self._named("leadscrew", 545, BOTTOM_Y - 38),
            "carriage": self.write(CARRIAGE_X, BOTTOM_Y - 48),
            "controller": self.write((LEFT_X + RIGHT_X) / 2, BETWEEN_Y + 7),
        }

    def update(self, result) -> None:
        """Show a `machinelab.workbook.panels.drive_chain.DriveChain`."""
        self.spindle.show(result.spindle)
        self.encoder.show(result.encoder)
        self.screw.show(result.screw)
        for name, words in self.facts.items():
            words.set_text(result.facts[name])
        self.counts.set_text(f"{result.counts} counts\na spindle turn" if result.counts else "")
        self.link.set_linestyle(_line(result.follows))
        self.screw_line.set_linestyle(_line(result.screw_lead_mm is not None))
        self.carriage.set_linestyle(_line(result.step_mm is not None))
        self.say(result.headline, result.details)

    def write(self, x: float, y: float, *, size: float = 9.5, ha: str = "center"):
        """Make an empty moving text on the sheet."""
        return self.moves(self.sheet.text(x, y, "", size=size, ha=ha, color=INK))

    def _named(self, name: str, x: float, y: float):
        """Write the name of a part, and give the place for what is known of it, one line below."""
        self.sheet.text(x, y + 15, name, size=10, weight="bold", ha="center", color=INK)
        return self.write(x, y)

    def _draw_screw_and_carriage(self) -> None:
        (self.screw_line,) = self.sheet.plot(
            [MIDDLE_X, WIDTH_PX - 30], [BOTTOM_Y] * 2, color=QUIET, linewidth=3
        )
        self.moves(self.screw_line)
        box = Rectangle((CARRIAGE_X - 40, BOTTOM_Y - 28), 80, 56, facecolor="white", edgecolor=INK, zorder=3)
        self.carriage = self.moves(self.sheet.add_patch(box))
        name = self.write(CARRIAGE_X, BOTTOM_Y - 4, size=10)
        name.set(text="carriage", weight="bold", zorder=4)

    def _draw_controller(self) -> None:
        corners = [RIGHT_X, RIGHT_X, LEFT_X, LEFT_X], [TOP_Y - 76, BETWEEN_Y, BETWEEN_Y, BOTTOM_Y + 62]
        (self.link,) = self.sheet.plot(*corners, color=OTHER_WAY["color"])
        self.moves(self.link)
        self.sheet.plot(LEFT_X, BOTTOM_Y + 62, marker="v", markersize=7, color=OTHER_WAY["color"])
        self.counts = self.write(RIGHT_X + 8, BETWEEN_Y + 2, ha="left")


class _MeshDrawing:
    """Two wheels, the two runs of a belt between them, and the words."""

    def __init__(self, chart: DriveChainDrawing, first, second, *, second_label_px: float = 0):
        sheet = chart.sheet
        self.at = first, second
        wheels = [Circle(at, 10, facecolor="none", edgecolor=INK) for at in self.at]
        self.wheels = [chart.moves(sheet.add_patch(wheel)) for wheel in wheels]
        self.runs = [chart.moves(sheet.plot([], [], color=QUIET, linewidth=1.2)[0]) for _ in range(2)]
        for at in self.at:
            sheet.add_patch(Circle(at, 3.5, color=INK))
        middle = (first[0] + second[0]) / 2
        self.ratio = chart.write(middle, first[1] + 4, size=10)
        self.joint = chart.write(middle, first[1] - 15)
        sideways = 0, second_label_px
        self.labels = [chart.write(at[0] + aside, 0) for at, aside in zip(self.at, sideways, strict=True)]

    def show(self, mesh) -> None:
        """Move to a mesh."""
        radii, known = wheel_radii_px(mesh.turns), mesh.turns is not None
        for wheel, label, words, at, radius in zip(
            self.wheels, self.labels, (mesh.first, mesh.second), self.at, radii, strict=True
        ):
            wheel.set_radius(radius)
            wheel.set_visible(not mesh.direct)
            wheel.set_linestyle(_line(known))
            label.set_text(words)
            label.set_y(at[1] - MOST_RADIUS_PX - 16)
        for run, side in zip(self.runs, (1, -1), strict=True):
            run.set_data(*tangent(*self.at, radii if mesh.belted else (0, 0), side))
            run.set_linestyle(_line(known))
        self.ratio.set_text(mesh.words)
        self.joint.set_text(mesh.joint)


def _line(known: bool):
    return "-" if known else DASHED


def wheel_radii_px(turns) -> tuple[float, float]:
    """How large to draw the two wheels: the one that turns more often is the smaller."""
    if turns is None:
        return RADII_PX / 2, RADII_PX / 2
    first = RADII_PX / (1 + float(turns))
    second = RADII_PX - first
    fitted = min(1.0, MOST_RADIUS_PX / max(first, second))
    return tuple(max(fitted * radius, LEAST_RADIUS_PX) for radius in (first, second))


def tangent(first, second, radii, side: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """The outer run of a belt over two wheels on one height, above (side 1) or below (side -1)."""
    across = (radii[0] - radii[1]) / (second[0] - first[0])
    up = side * math.sqrt(1 - across**2)
    pairs = zip((first, second), radii, strict=True)
    ends = [(at[0] + radius * across, at[1] + radius * up) for at, radius in pairs]
    return tuple(zip(*ends, strict=True))
