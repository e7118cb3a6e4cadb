"""What current a wire may carry, by the European table and the American rule side by side, and its fuse.

The two do not agree, and neither is wrong: the one is a table of what the insulation bears in a given way of
laying, the other a plain limit of the fuse. The smaller of them is the one to keep.
"""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import not_negative, positive, whole

__all__ = [
    "ConductorCurrents",
    "FuseFit",
    "awg_area_mm2",
    "conductor_currents",
    "continuous_wire_a",
    "fuse_fit",
    "protective_area_mm2",
]

# How a wire lies: the columns of the table.
LAYINGS = {"in conduit or duct": "b2_a", "on a wall": "c_a", "in free air": "e_a"}
# Motors that run on: NEC 430.22, from memory.
CONTINUOUS_FACTOR = 1.25
# Up to here the earth wire is as thick as the line; IEC 60204-1, from memory.
EQUAL_EARTH_MM2 = 16.0
# A wire counts as a size of the table if it is so near below it.
NEARLY = 1.005


@dataclass(frozen=True)
class ConductorCurrents:
    """What a wire may carry by either rule.

    Parameters
    ----------
    iec_a : float or array [A]
        By EN 60204-1, for the way of laying, the air and the wires beside it.
    us_a : float or array [A]
        By NEC or NFPA 79; NaN where the wire is thinner than any that they give.
    lower_a : float or array [A]
        The smaller of the two; where one is missing, the other.
    """

    iec_a: float
    us_a: float
    lower_a: float


@dataclass(frozen=True)
class FuseFit:
    """Whether a fuse stands rightly between load and wire.

    Parameters
    ----------
    carries_load : bool or array
        The fuse lets the load run.
    guards_wire : bool or array
        The fuse goes before the wire does.
    """

    carries_load: bool
    guards_wire: bool


def awg_area_mm2(awg):
    """How thick an American wire is.

    Formula
    -------
    awg_area_mm2 = pi / 4 * (127/1000 * 92**((36 - awg) / 39))**2

    Parameters
    ----------
    awg : int or array [1]
        Gauge number; a larger number is a thinner wire.

    Returns
    -------
    float or array [mm2]
        Section of the copper.

    Range
    -----
    Gauges of 0 and more; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the gauge is less than zero.

    Examples
    --------
    >>> round(float(awg_area_mm2(14)), 2)
    2.08

    Source
    ------
    ASTM B258, from memory: thirty-nine equal ratios from 0.127 mm to 11.684 mm.
    """
    gauge = not_negative("awg", awg)
    return np.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2


def conductor_currents(area_mm2, *, laying, air_degc, loaded_circuits) -> ConductorCurrents:
    """What current a copper wire may carry, by both rules.

    Formula
    -------
    none: rows of the tables ``iec_conductors``, ``air_factors``, ``bundle_factors`` and ``us_conductors``;
    between two rows the less favourable one holds.

    Parameters
    ----------
    area_mm2 : float or array [mm2]
        Section of the copper.
    laying : str
        In conduit or duct, on a wall, or in free air.
    air_degc : float or array [degC]
        Temperature of the air around it, in the box rather than in the room.
    loaded_circuits : int [1]
        Circuits under load that lie together, this one counted.

    Returns
    -------
    ConductorCurrents
        Both figures and the smaller.

    Range
    -----
    From 0.75 mm2; wires thicker than 10 mm2 get no more than those of 10 mm2. Air up to 60 degrees, up to
    four circuits together.

    Raises
    ------
    RangeError
        If the wire is thinner, the air hotter, the circuits more, or the way of laying is not in the table.

    Examples
    --------
    >>> found = conductor_currents(1.5, laying="in conduit or duct", air_degc=40, loaded_circuits=1)
    >>> float(found.iec_a), float(found.us_a), float(found.lower_a)
    (13.1, 10.0, 10.0)

    Source
    ------
    EN 60204-1 as reprinted in a drive manual; NEC 240.4(D); NFPA 79 and bundles from memory: see each row.
    """
    if laying not in LAYINGS:
        raise RangeError(f"laying is {str(laying)[:40]!r}; type one of: {', '.join(LAYINGS)}.")
    area = positive("area_mm2", area_mm2)
    areas, currents = _columns("iec_conductors", "area_mm2", LAYINGS[laying])
    if np.any(area * NEARLY < areas[0]):
        raise RangeError(
            f"area_mm2 is {np.nanmin(area):g}; the table begins at {areas[0]:g} mm2. "
            "Take a thicker wire for power."
        )
    iec = _at_or_below(area * NEARLY, areas, currents) * _air_factor(air_degc) * _bundle(loaded_circuits)
    gauges, devices = _columns("us_conductors", "awg", "device_a")
    us = _at_or_below(area * NEARLY, awg_area_mm2(gauges), devices)
    return ConductorCurrents(iec, us, np.fmin(iec, us))


def fuse_fit(fuse_a, *, load_a, wire_a) -> FuseFit:
    """Whether a fuse or breaker stands rightly between load and wire.

    Formula
    -------
    result.carries_load = load_a <= fuse_a
    result.guards_wire = fuse_a <= wire_a

    Parameters
    ----------
    fuse_a : float or array [A]
        Rating of the fuse or breaker; on direct current only with a rating for it.
    load_a : float or array [A]
        What the load takes.
    wire_a : float or array [A]
        What the thinnest wire behind the fuse may carry.

    Returns
    -------
    FuseFit
        Two answers; both must be yes.

    Range
    -----
    A drive that limits its current may never blow a fuse at its output: fuse its input.

    Raises
    ------
    RangeError
        If a current is less than zero.

    Examples
    --------
    >>> fuse_fit(10.0, load_a=6.0, wire_a=13.1)
    FuseFit(carries_load=True, guards_wire=True)

    Source
    ------
    IEC 60364-4-43, from memory: load, then fuse, then wire.
    """
    fuse = not_negative("fuse_a", fuse_a)
    return FuseFit(not_negative("load_a", load_a) <= fuse, fuse <= not_negative("wire_a", wire_a))


def continuous_wire_a(rated_current_a):
    """For which current the wire of a motor is chosen that runs on and on.

    Formula
    -------
    continuous_wire_a = 5/4 * rated_current_a

    Parameters
    ----------
    rated_current_a : float or array [A]
        From the motor's plate.

    Returns
    -------
    float or array [A]
        Current that the wire must carry.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the current is less than zero.

    Examples
    --------
    >>> continuous_wire_a(6.0)
    7.5

    Source
    ------
    NEC 430.22, from memory.
    """
    return CONTINUOUS_FACTOR * not_negative("rated_current_a", rated_current_a)


def protective_area_mm2(area_mm2):
    """How thick the protective earth is beside a line.

    Formula
    -------
    protective_area_mm2 = area_mm2

    Parameters
    ----------
    area_mm2 : float or array [mm2]
        Section of the line.

    Returns
    -------
    float or array [mm2]
        Least section of the protective earth: the same.

    Range
    -----
    Up to 16 mm2; thicker lines have their own rule. Green-yellow (IEC), or green or green-yellow (US), is for
    it alone. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the section is not above zero or more than 16 mm2.

    Examples
    --------
    >>> protective_area_mm2(1.5)
    1.5

    Source
    ------
    IEC 60204-1, from memory.
    """
    area = positive("area_mm2", area_mm2)
    if np.any(area > EQUAL_EARTH_MM2):
        raise RangeError(f"area_mm2 is {np.nanmax(area):g}; this rule ends at {EQUAL_EARTH_MM2:g} mm2.")
    return area


def _columns(table: str, first: str, second: str):
    rows = tables.read(table)
    return tuple(np.array([float(row[name]) for row in rows]) for name in (first, second))


def _at_or_below(wanted, steps, figures):
    """Figure of the largest step that is not above what is wanted; NaN below all of them."""
    place = np.searchsorted(steps, wanted, side="right") - 1
    known = (place >= 0) & ~np.isnan(wanted)
    return np.where(known, figures[np.maximum(place, 0)], np.nan)


def _air_factor(air_degc):
    air = np.asarray(air_degc, dtype=float)
    steps, factors = _columns("air_factors", "air_degc", "air_factor")
    if np.any(air > steps[-1]):
        raise RangeError(f"air_degc is {np.nanmax(air):g}; above {steps[-1]:g} the table has no figure.")
    place = np.minimum(np.searchsorted(steps, air, side="left"), len(steps) - 1)
    return np.where(np.isnan(air), np.nan, factors[place])


def _bundle(loaded_circuits) -> float:
    circuits, factors = _columns("bundle_factors", "loaded_circuits", "bundle_factor")
    count = whole("loaded_circuits", loaded_circuits)
    if count > circuits[-1]:
        raise RangeError(f"loaded_circuits is {count}; for more than {circuits[-1]:g} ask an electrician.")
    return float(factors[count - 1])
