"""Boxes that more than one page asks for, each with the slips people make in it answered in words."""

from fractions import Fraction

from machinelab.units import Field, Reading, show

USUAL_MAINS_V = ((Fraction(100), Fraction(130)), (Fraction(200), Fraction(250)))
USUAL_LINES = (100, 128, 192, 200, 250, 256, 300, 360, 400, 500, 512, 600, 720, 1000, 1024, 1800, 2000, 2500)
LEAST_INSULATION_OHM = 1_000_000
BOND_LIMIT_OHM = Fraction(1, 10)


def lines_or_edges(reading: Reading) -> str | None:
    """Ask back where a figure of counts may be meant before or after the four edges of a line."""
    counted = int(reading.typed_number)
    if reading.typed_unit != "counts":
        return None
    return (
        f"{reading.typed} can be meant in two ways: {counted} lines, which give {4 * counted} edges, or "
        f"{counted} edges from {show(Fraction(counted, 4), 'count')} lines. "
        f"Type {counted} lines or {counted} edges."
    )


def usual_line_count_as_edges(reading: Reading) -> str | None:
    """Ask back where a bare figure of edges is one that makers print as lines."""
    if reading.typed_unit == "counts":
        return lines_or_edges(reading)
    bare = reading.typed.replace(" ", "").isdecimal()
    if not bare or reading.value not in USUAL_LINES:
        return None
    return (
        f"{reading.typed} is what makers print as lines; with all four edges of each it makes "
        f"{4 * reading.value}. Type {reading.typed} lines, or {reading.typed} edges if that is the count."
    )


def mains_or_bus(reading: Reading) -> str | None:
    """Ask back where a bus voltage looks like the mains that feeds it."""
    looks_like_mains = any(low <= reading.value <= high for low, high in USUAL_MAINS_V)
    peak = show(round(float(reading.value) * 2**0.5), "V")
    if reading.typed_unit == "V AC":
        return f"{reading.typed} is the mains; rectified, it leaves about {peak} DC. Type {peak} DC."
    if reading.typed_unit == "V DC" or not looks_like_mains:
        return None
    return (
        f"{reading.typed} could be the mains, which rectified leaves about {peak} on the capacitors. "
        f"Type {reading.typed} DC if it was measured on the capacitors, else {peak} DC."
    )


def low_insulation(reading: Reading) -> str | None:
    """Say what a low insulation reading means (IEC 60204-1 clause 18.3, the figure from memory)."""
    if reading.value >= LEAST_INSULATION_OHM:
        return None
    return (
        f"{reading.shown} is below the limit of {show(LEAST_INSULATION_OHM, 'ohm')}: NOT MET. "
        "Leave the machine unplugged, clean and dry it, and measure again"
    )


def bond_below_meter(reading: Reading) -> str | None:
    """Say that a display of nought ohms proves no bond."""
    if reading.value > 0:
        return None
    return (
        f"a display of {reading.typed} says more about the meter than about the bond: give its uncertainty. "
        f"A meter that cannot tell {show(BOND_LIMIT_OHM, 'ohm')} from nothing leaves this NOT PROVEN"
    )


LEAD = Field(
    name="Pitch of the thread",
    kind="lead",
    low="0.1 mm",
    high="25 mm",
    example="8 tpi",
    help="From one crest to the next; threads an inch will do.",
)
FEED_PER_TURN = Field(
    name="Feed per turn",
    kind="feed",
    above_zero=True,
    high="5 mm",
    example="0.1 mm",
    help="How far the tool moves along the work in one turn of the spindle.",
)
TEETH = Field(
    name="Teeth",
    kind="teeth",
    low="1",
    high="1000",
    example="36",
    help="Count them once round, from a mark to the same mark.",
    hint="Teeth are counted, 1 or more; a pulley without teeth is given by its diameter.",
)
ENCODER_LINES = Field(
    name="Lines of the encoder",
    kind="lines",
    low="1",
    high="20000",
    example="600",
    help="Lines on the disc, as on the plate; not the counts after the four edges of a line.",
    hint="The plate of the encoder tells, mostly 100 to 2500; without lines it counts nothing.",
    refuse=lines_or_edges,
)
ENCODER_EDGES = Field(
    name="Edges a turn of the encoder",
    kind="edges",
    low="4",
    high="80000",
    example="2400 edges",
    help="All four edges of every line counted.",
    hint="An encoder that gives none counts nothing; four times its lines is usual, 400 to 10000.",
    refuse=usual_line_count_as_edges,
)
BUS_VOLTAGE = Field(
    name="Voltage on the capacitors",
    kind="voltage",
    above_zero=True,
    high="450 V",
    example="170 V DC",
    help="Direct voltage across the large capacitors of the drive, machine at rest.",
    refuse=mains_or_bus,
)
BUS_CAPACITANCE = Field(
    name="Capacitors of the drive",
    kind="capacitance",
    low="0.1 uF",
    high="0.1 F",
    example="470 uF",
    help="All of them together, as printed on the cans.",
)
WAITING_TIME = Field(
    name="Waiting time",
    kind="time",
    above_zero=True,
    high="1 h",
    example="5 s",
    help="From pulling the plug to the reading.",
)
INSULATION = Field(
    name="Insulation resistance",
    kind="resistance",
    low="0 ohm",
    example="20 Mohm",
    help="Line to earth at 500 V, machine unplugged and its electronics disconnected.",
    remark=low_insulation,
)
BOND = Field(
    name="Resistance of the earth bond",
    kind="resistance",
    low="0 ohm",
    high="100 ohm",
    example="0.06 ohm",
    help="From the earth pin of the plug to bare metal of the machine.",
    remark=bond_below_meter,
)


def uncertainty(of: Field) -> Field:
    """Make the box for the uncertainty of what another box asks for."""
    return Field(
        name=f"Uncertainty of {of.name[0].lower()}{of.name[1:]}",
        kind=of.kind,
        above_zero=True,
        example=of.sample,
        help="How far off the reading may be, 95 times in 100.",
        hint="Every instrument has some: half of the last figure it shows is the least to write down.",
    )


def spindle_speed(limit_rpm=None, limit_from: str = "") -> Field:
    """Make the box for a spindle speed, no higher than what this machine or its chuck may turn."""
    limit = "" if limit_rpm is None else f"{float(limit_rpm):.6g} rpm"
    stop = "Read the plate again before any speed is set." if limit_from else ""
    return Field(
        name="Spindle speed",
        kind="speed",
        above_zero=True,
        high=limit or "20000 rpm",
        high_from=limit_from,
        hint=stop,
        example="400 rpm",
        help="Turns of the spindle each minute.",
    )
