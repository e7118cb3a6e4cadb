"""What page 14 asks for: guess, push test, turned bar, steady rest."""

from machinelab.units import Field
from machinelab.workbook.panels.slender import ALLOWED, DEPTH, DIAMETER, FEED, LENGTH

GUESS = Field(
    name="Longest bar in the chuck, by feel",
    kind="length",
    low="5 mm",
    high="3 m",
    example="60 mm",
    help="Of the diameter and with the cut of the picture below, still true enough for you.",
)
PUSHED_BAR = Field(
    name="Diameter of the steel bar pushed",
    kind="length",
    low="5 mm",
    high="150 mm",
    example="25 mm",
    help="As thick as the chuck holds well; then the chuck shows best.",
)
DIAL = Field(
    name="One division of the dial indicator",
    kind="length",
    low="0.0005 mm",
    high="0.2 mm",
    example="0.002 mm",
    help="As printed on its face.",
)
STEADY_PLACE = Field(
    name="Steady rest from the chuck",
    kind="length",
    low="0 mm",
    high="3 m",
    example="0 mm",
    help="0 mm where there was none.",
)
DOUBT = Field(
    name="Uncertainty of one diameter",
    kind="length",
    above_zero=True,
    high="0.5 mm",
    example="0.003 mm",
    help="Of the micrometer as you use it (k = 2).",
)
TURNED = {
    "diameter_mm": DIAMETER,
    "length_mm": LENGTH,
    "steady_mm": STEADY_PLACE,
    "depth_mm": DEPTH,
    "feed_mm": FEED,
    "allowed_mm": ALLOWED,
    "doubt_mm": DOUBT,
}
_ROLLER = Field(
    name="Diameter of a roller",
    kind="length",
    low="0 mm",
    high="100 mm",
    example="19 mm",
    help="0 mm for plain tips.",
)
_FROM_CHUCK = Field(
    name="Steady rest from the chuck",
    kind="length",
    low="10 mm",
    high="3 m",
    example="250 mm",
    help="Middle of the fingers.",
)
_OFFSET = Field(
    name="Its middle beside the axis",
    kind="length",
    low="-5 mm",
    high="5 mm",
    example="0.05 mm",
    help="By a dial beside the fingers, work turned true there.",
)
_CUT = Field(
    name="Length of the cut",
    kind="length",
    low="1 mm",
    high="3 m",
    example="100 mm",
    help="Over which the taper is told.",
)
SETTING = {
    "diameter_mm": DIAMETER,
    "roller_mm": _ROLLER,
    "steady_mm": _FROM_CHUCK,
    "offset_mm": _OFFSET,
    "cut_mm": _CUT,
}
