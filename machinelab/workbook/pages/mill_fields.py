"""What page 15 asks for: guess, sweep, meter, run-down."""

from machinelab.units import Field
from machinelab.workbook.panels.mill import CUTTER

GUESS = Field(
    name="Lean of the head, by feel",
    kind="slope",
    low="0 ppm",
    high="20000 ppm",
    example="0.05 mm in 300 mm",
    help="How far it is out of square with the table, whichever way.",
)
RADIUS = Field(
    name="Radius of the sweep",
    kind="length",
    low="10 mm",
    high="500 mm",
    example="90 mm",
    help="From the middle of the spindle to the dial's tip; as large as the table lets you.",
)
DIAL = Field(
    name="One division of the dial indicator",
    kind="length",
    low="0.0005 mm",
    high="0.2 mm",
    example="0.002 mm",
    help="As printed on its face.",
)
PIVOT = Field(
    name="From the pivot to where you tap",
    kind="length",
    low="10 mm",
    high="1 m",
    example="250 mm",
    help="Up the head, from the bolts that clamp it.",
)
STEP_OVER = Field(
    name="From pass to pass",
    kind="length",
    low="0.1 mm",
    high="150 mm",
    example="20 mm",
    help="How far the table is moved over.",
)
FACE_CUTTER = CUTTER
_SHOWN = Field(
    name="The meter shows",
    kind="speed",
    low="0 rpm",
    high="30000 rpm",
    example="600 rpm",
    help="Mill spindle turning, lathe spindle still, after the wait named above.",
)
_TURNS = Field(
    name="Turns of the mill spindle counted",
    kind="turns",
    low="1 turns",
    high="100000 turns",
    example="100 turns",
    help="By a mark and a camera, or by ear against a strip of card.",
)
_TIME = Field(
    name="Time that they took",
    kind="time",
    low="0.5 s",
    high="1 h",
    example="10 s",
    help="From the first mark to the last.",
)
_TIME_DOUBT = Field(
    name="Uncertainty of that time",
    kind="time",
    above_zero=True,
    high="10 s",
    example="0.1 s",
    help="Of your start and stop (k = 2).",
)
METER = {"shown_rpm": _SHOWN, "turns": _TURNS, "time_s": _TIME, "doubt_s": _TIME_DOUBT}
_FROM = Field(
    name="Speed at which it was switched off",
    kind="speed",
    above_zero=True,
    high="30000 rpm",
    example="2200 rpm",
    help="The fastest that you use.",
)
_STOP = Field(
    name="Time to standstill, by the clock",
    kind="time",
    above_zero=True,
    high="1 h",
    example="8 s",
    help="From the switch to standstill, looked at and not read from the meter; the longest of three.",
)
_STOP_DOUBT = Field(
    name="Uncertainty of the stopping time",
    kind="time",
    above_zero=True,
    high="1 min",
    example="0.5 s",
    help="Half of the spread of the three at least (k = 2).",
)
TIMER = Field(
    name="Standstill timer of the control box",
    kind="time",
    low="0 s",
    high="10 min",
    example="6 s",
    help="How long the box waits after off before the other direction may run; 0 s for no timer.",
)
RUN_DOWN = {"from_rpm": _FROM, "stop_s": _STOP, "doubt_s": _STOP_DOUBT}
