"""Milling on the head: move cutter, width, depth and chip; see speed, feed and torque."""

from collections.abc import Mapping
from functools import partial

from machinelab.units import Field
from machinelab.workbook.figures.mill import MillTorque
from machinelab.workbook.job import tools
from machinelab.workbook.mill_cut import MillHead, materials, mill_cut
from machinelab.workbook.panels.choice import Choice
from machinelab.workbook.panels.live import LivePanel
from machinelab.workbook.panels.quantity import ExactQuantity, Quantity

CUTTER = Field(
    name="Diameter of the cutter",
    kind="length",
    low="0.5 mm",
    high="150 mm",
    example="10 mm",
    help="On which the edges run.",
)
TEETH = Field(
    name="Teeth of the cutter",
    kind="teeth",
    low="1",
    high="30",
    example="2",
    help="Cutting edges round it; one for a fly cutter.",
)
WIDTH = Field(
    name="Width of the cut",
    kind="length",
    low="0.05 mm",
    high="150 mm",
    example="5 mm",
    help="Across the cutter; a slot is as wide as the cutter.",
)
DEPTH = Field(
    name="Depth of the cut",
    kind="length",
    low="0.01 mm",
    high="50 mm",
    example="1 mm",
    help="Along the cutter's axis.",
)
CHIP = Field(
    name="Thickest chip of a tooth",
    kind="length",
    low="0.001 mm",
    high="0.5 mm",
    example="0.02 mm",
    help="6 mm with two teeth: 0.01 to 0.02 mm in steel, 0.02 to 0.04 in aluminium (common practice, no "
    "source).",
)
RUNOUT = Field(
    name="Run-out at the cutter, total",
    kind="length",
    low="0 mm",
    high="0.5 mm",
    example="0.02 mm",
    help="Highest less lowest on a dial, turned by hand.",
)
# An end mill in mild steel, half its width; it only starts the sliders.
USUAL_CUT: Mapping[str, object] = {
    "material": "mild steel",
    "tool": "high-speed steel on a light lathe",
    "diameter_mm": 10.0,
    "teeth": 2,
    "width_mm": 5.0,
    "depth_mm": 1.0,
    "chip_mm": 0.02,
    "runout_mm": 0.02,
}


def mill_panel(head: MillHead) -> LivePanel:
    """Build the panel, starting at a usual cut."""
    start = USUAL_CUT
    return LivePanel(
        controls={
            "material": Choice("Material", {name: name for name in materials()}, chosen=start["material"]),
            "tool": Choice("Cutter of", {name: name for name in tools()}, chosen=start["tool"]),
            "diameter_mm": Quantity(
                CUTTER, sweep=[*range(3, 26), 30, 40, 50, 63], start=start["diameter_mm"]
            ),
            "teeth": ExactQuantity(TEETH, sweep=range(1, 9), start=start["teeth"]),
            "width_mm": Quantity(WIDTH, sweep=[0.5 * n for n in range(1, 41)], start=start["width_mm"]),
            "depth_mm": Quantity(DEPTH, sweep=[0.25 * n for n in range(1, 41)], start=start["depth_mm"]),
            "chip_mm": Quantity(CHIP, sweep=[0.002 * n for n in range(1, 51)], start=start["chip_mm"]),
            "runout_mm": Quantity(RUNOUT, sweep=[0.005 * n for n in range(21)], start=start["runout_mm"]),
        },
        compute=partial(mill_cut, head=head),
        chart=MillTorque(),
        sentence=lambda cut: cut.sentence,
        lines=5,
    )
