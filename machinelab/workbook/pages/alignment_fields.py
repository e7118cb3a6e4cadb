"""What page 12 asks for: guess, collars, level, dial."""

from machinelab.units import Field

GUESS = Field(
    name="Taper in 300 mm, by feel",
    kind="length",
    low="-2 mm",
    high="2 mm",
    example="0.05 mm",
    help="On the diameter; plus when the end away from the chuck is the thicker one.",
)
FOOT_BASE = Field(
    name="Feet of the headstock apart",
    kind="length",
    low="20 mm",
    high="1 m",
    example="120 mm",
    help="Between the screws or shims about which it can be swung, seen from above.",
)
DIAL = Field(
    name="One division of the dial indicator",
    kind="length",
    low="0.0005 mm",
    high="0.2 mm",
    example="0.01 mm",
    help="As printed on its face.",
)
_FAR = Field(
    name="Diameter of the far collar",
    kind="length",
    low="2 mm",
    high="400 mm",
    example="25.010 mm",
    help="The one away from the chuck, or at the tailstock.",
)
_NEAR = Field(
    name="Diameter of the near collar",
    kind="length",
    low="2 mm",
    high="400 mm",
    example="24.980 mm",
    help="The one at the chuck; same cut, same tool, not touched in between.",
)
_DISTANCE = Field(
    name="From collar to collar",
    kind="length",
    low="20 mm",
    high="2 m",
    example="150 mm",
    help="Middle to middle.",
)
_BAR = Field(
    name="Diameter of the bar between them",
    kind="length",
    low="5 mm",
    high="300 mm",
    example="24 mm",
    help="For what bending alone takes away.",
)
_FORCE = Field(
    name="Force of the finishing cut",
    kind="force",
    low="0 N",
    high="300 N",
    example="20 N",
    help="Across the bar; about 20 N for a sharp tool and a fine cut (common practice, no source).",
)
_DOUBT = Field(
    name="Uncertainty of one diameter",
    kind="length",
    above_zero=True,
    high="1 mm",
    example="0.004 mm",
    help="Of the micrometer as you use it (k = 2).",
)
_CENTRES = Field(
    name="From centre to centre",
    kind="length",
    low="20 mm",
    high="3 m",
    example="300 mm",
    help="Length of the bar between its centres.",
)
_LEVEL_FAR = Field(
    name="Level at the tailstock end",
    kind="slope",
    low="-10000 ppm",
    high="10000 ppm",
    example="0.04 mm/m",
    help="Plus when the front is low. Mean of both ways round, the level turned end for end.",
)
_LEVEL_NEAR = Field(
    name="Level at the headstock end",
    kind="slope",
    low="-10000 ppm",
    high="10000 ppm",
    example="0 mm/m",
    help="Plus when the front is low. Mean of both ways round.",
)
_STATIONS = Field(
    name="Along the bed between them",
    kind="length",
    low="50 mm",
    high="5 m",
    example="450 mm",
    help="From one place of the level to the other.",
)
_LEVEL_DOUBT = Field(
    name="Uncertainty of a level reading",
    kind="slope",
    above_zero=True,
    high="5000 ppm",
    example="0.01 mm/m",
    help="Half a division, for a good level (k = 2).",
)
FACE = {
    "far_side_mm": Field(
        name="Far edge less middle, past the centre",
        kind="length",
        low="-5 mm",
        high="5 mm",
        example="0.03 mm",
        help="Dial in the tool post, carried to where the tool did not cut; plus: edge stands out.",
    ),
    "diameter_mm": Field(
        name="Diameter of the face",
        kind="length",
        low="10 mm",
        high="1 m",
        example="150 mm",
        help="As far as the dial travelled, twice.",
    ),
    "doubt_mm": Field(
        name="Uncertainty of that reading",
        kind="length",
        above_zero=True,
        high="1 mm",
        example="0.006 mm",
        help="Two readings of the dial (k = 2).",
    ),
}
CHUCK = {
    "far_mm": _FAR,
    "near_mm": _NEAR,
    "distance_mm": _DISTANCE,
    "bar_mm": _BAR,
    "force_n": _FORCE,
    "doubt_mm": _DOUBT,
}


def _bar(place: str, turned: str) -> Field:
    return Field(
        name=f"Bar {place}{turned}",
        kind="length",
        low="-5 mm",
        high="5 mm",
        example="0.010 mm",
        help="Dial on the carriage, level with the axis, at the tool's side; more: the bar is nearer.",
    )


BAR = {
    "near_mm": _bar("near the spindle", ""),
    "near_turned_mm": _bar("near the spindle", ", turned half"),
    "far_mm": _bar("far out", ""),
    "far_turned_mm": _bar("far out", ", turned half"),
    "distance_mm": _DISTANCE,
    "doubt_mm": _DOUBT,
}
CENTRES = {
    "far_mm": _FAR,
    "near_mm": _NEAR,
    "distance_mm": _DISTANCE,
    "centres_mm": _CENTRES,
    "doubt_mm": _DOUBT,
}
LEVEL = {
    "far_ppm": _LEVEL_FAR,
    "near_ppm": _LEVEL_NEAR,
    "distance_mm": _STATIONS,
    "doubt_ppm": _LEVEL_DOUBT,
}
