"""Scales in the unit of the shop: lines stay in millimetres, the figures along the axes do not."""

import re

import numpy as np
from matplotlib.axis import Axis
from matplotlib.ticker import FixedLocator, FuncFormatter, Locator, MaxNLocator, NullLocator

from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

_MM = re.compile(r"\bmm\b")
# From far below a thousandth of a unit to far above any machine.
_POWERS = range(-6, 4)
# So many powers of ten leave no room for figures between them.
_MANY_POWERS = 3.5


class _WholeSteps(Locator):
    """Ticks at round figures of a unit along an axis in millimetres."""

    def __init__(self, unit_mm: float):
        self.unit_mm = unit_mm
        self.nice = MaxNLocator(nbins=7, steps=[1, 2, 5, 10])

    def __call__(self):
        return self.tick_values(*self.axis.get_view_interval())

    def tick_values(self, vmin, vmax):
        """Ticks between two ends."""
        return self.unit_mm * self.nice.tick_values(vmin / self.unit_mm, vmax / self.unit_mm)


def _ratios(axis: Axis, lengths: ShopLengths) -> FixedLocator:
    """Ticks at 1, 2 and 5, at 1 alone where they would touch."""
    low, high = axis.get_view_interval()
    steps = (1,) if np.log10(high / low) > _MANY_POWERS else (1, 2, 5)
    return FixedLocator([lengths.unit_mm * step * 10.0**power for power in _POWERS for step in steps])


def in_shop_unit(chart, lengths: ShopLengths, *axes: Axis) -> None:
    """Write the figures along axes that are in millimetres in the unit of the shop."""
    foreign = [axis for axis in axes if _MM.search(axis.get_label_text())]
    if lengths == MILLIMETRES or not foreign:
        return
    for axis in foreign:
        axis.set_label_text(_MM.sub(lengths.unit, axis.get_label_text()))
        is_log = axis.get_scale() == "log"
        axis.set_major_locator(_ratios(axis, lengths) if is_log else _WholeSteps(lengths.unit_mm))
        axis.set_major_formatter(FuncFormatter(lambda at_mm, _place: f"{at_mm / lengths.unit_mm:.4g}"))
        if is_log:
            axis.set_minor_locator(NullLocator())
    chart.renew_frame()
