"""The bench tests of the motor: volts against speed, and volts against current with the shaft held still."""

import numpy as np

from machinelab.workbook.figures.base import COMPUTED, MEASURED, QUIET, Chart

RAD_S_PER_RPM = np.pi / 30
LIGHT = {"color": "#1a1a1a", "linestyle": "none", "marker": "s", "markersize": 4.5, "markerfacecolor": "none"}
NOT_YET = "not measured yet"


class MotorBenchChart(Chart):
    """Readings and the straight lines through them."""

    height_px = 350

    def lay_out(self) -> None:
        """Build the plot of speed on the left and of current on the right."""
        self.speed = self._plot(66, 430, "back EMF against speed", "speed of the motor, rpm", "back EMF, V")
        self.current = self._plot(478, 24, "shaft held still", "current, A", "volts at the brushes, V")

    def _plot(self, left_px, right_px, title, across, up):
        axes = self.axes(left_px, right_px, top_px=72)
        axes.set_title(title)
        axes.set_xlabel(across)
        axes.set_ylabel(up)
        (line,) = axes.plot([], [], **COMPUTED)
        (points,) = axes.plot([], [], **MEASURED)
        (others,) = axes.plot([], [], **LIGHT)
        for artist in (line, points, others):
            self.moves(artist)
        return (
            axes,
            line,
            points,
            others,
            self.words(axes, va="top"),
            self.words(axes, color=QUIET, ha="center"),
        )

    def update(self, result) -> None:
        """Show a `machinelab.workbook.motor_tests.MotorTests`."""
        self._show_speeds(result)
        self._show_currents(result)
        self.say(_headline(result), " ".join(result.told()))

    def _show_speeds(self, result) -> None:
        axes, line, points, others, words, missing = self.speed
        turned = result.tables["generator"] if result.generator else np.empty((0, 2))
        light = _light_points(result)
        rpm, volts = (np.concatenate([turned[:, side], light[:, side]]) for side in (0, 1))
        _frame(axes, rpm, volts, missing)
        points.set_data(*turned.T)
        others.set_data(*light.T)
        ends = np.array(axes.get_xlim()) if rpm.size and result.back_emf else np.empty(0)
        line.set_data(ends, RAD_S_PER_RPM * ends * (result.back_emf.value if result.back_emf else 0.0))
        said = ["circles: turned by a drill"] * bool(len(turned)) + ["squares: running light"] * bool(
            len(light)
        )
        words.set_text("\n".join(said))
        words.set_position((axes.get_xlim()[0], axes.get_ylim()[1]))

    def _show_currents(self, result) -> None:
        axes, line, points, others, words, missing = self.current
        held = result.tables["locked"] if result.locked else np.empty((0, 3))
        _frame(axes, held[:, 1], held[:, 0], missing)
        points.set_data(held[:, 1], held[:, 0])
        others.set_data([], [])
        ends = np.linspace(*axes.get_xlim(), 201) if len(held) else np.empty(0)
        law = result.locked
        line.set_data(ends, law.brush_drop.value * np.sign(ends) + law.resistance.value * ends if law else [])
        words.set_text("the step at nought is the brush drop,\nthe slope the resistance" if len(held) else "")
        words.set_position((axes.get_xlim()[0], axes.get_ylim()[1]))


def _light_points(result) -> np.ndarray:
    """Runs without load as speed and what is left of the volts for the back EMF."""
    if not (result.light and result.resistance and result.brush_drop):
        return np.empty((0, 2))
    rpm, volts, amperes = result.tables["light"].T
    lost = result.resistance.value * amperes + result.brush_drop.value * np.sign(volts)
    return np.column_stack([rpm, volts - lost])


def _frame(axes, across, up, missing) -> None:
    low, high = (min(0.0, *across), max(0.0, *across)) if len(across) else (0.0, 1.0)
    bottom, top = (min(0.0, *up), max(0.0, *up)) if len(up) else (0.0, 1.0)
    axes.set_xlim(low - 0.05 * (high - low), high + 0.05 * (high - low))
    axes.set_ylim(bottom - 0.05 * (top - bottom), top + 0.30 * (top - bottom))
    missing.set_text("" if len(across) else NOT_YET)
    missing.set_position(((low + high) / 2, (bottom + top) / 2))


def _headline(result) -> str:
    said = []
    if result.resistance:
        said.append(f"The armature has {result.resistance.value:.3g} ohm")
    if result.comparison:
        said.append(
            f"two ways to the back EMF are {100 * abs(result.comparison.difference_share):.1f} % apart"
        )
    elif result.back_emf:
        said.append(f"the back EMF is {result.back_emf.value:.3g} V s/rad")
    told = "; ".join(said) or "Nothing has been measured at the motor yet"
    return f"{told[0].upper()}{told[1:]}."
