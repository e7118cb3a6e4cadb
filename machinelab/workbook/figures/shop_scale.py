"""Scales in the unit of the shop: lines stay in millimetres, the figures along the axes do not."""

import re

from matplotlib.axis import Axis
from matplotlib.ticker import FixedLocator, FuncFormatter, Locator, MaxNLocator, NullLocator

from machinelab.workbook.shop_lengths import MILLIMETRES, ShopLengths

_MM = re.compile(r"\bmm\b")
# Steps of 1, 2 and 5 from far below a thousandth of a unit to far above any machine.
_RATIOS = [step * 10.0**power for power in range(-6, 4) for step in (1, 2, 5)]


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


def in_shop_unit(chart, lengths: ShopLengths, *axes: Axis) -> None:
    """Write the figures along axes that are in millimetres in the unit of the shop."""
    foreign = [axis for axis in axes if _MM.search(axis.get_label_text())]
    if lengths == MILLIMETRES or not foreign:
        return
    for axis in foreign:
        axis.set_label_text(_MM.sub(lengths.unit, axis.get_label_text()))
        is_log = axis.get_scale() == "log"
        ratios = FixedLocator([lengths.unit_mm * ratio for ratio in _RATIOS])
        axis.set_major_locator(ratios if is_log else _WholeSteps(lengths.unit_mm))
        axis.set_major_formatter(FuncFormatter(lambda at_mm, _place: f"{at_mm / lengths.unit_mm:.4g}"))
        if is_log:
            axis.set_minor_locator(NullLocator())
    chart.renew_frame()
