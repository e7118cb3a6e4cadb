"""Cutting speeds: what the tool bears by material and work, and the spindle speed that follows.

Tables differ by two to three times, for good reasons: the life of the tool that is asked, oil or dry, a stiff
machine or a light one. So a range is given, never one figure.
"""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.ranges import positive

LIGHT_LATHE = "high-speed steel on a light lathe"


@dataclass(frozen=True)
class CuttingSpeed:
    """The range of cutting speeds for a material, a tool and a kind of work.

    Parameters
    ----------
    low_m_min : float [m/min]
        Lower end: long life of the tool, dry, a light machine.
    typical_m_min : float [m/min]
        Where to begin.
    high_m_min : float [m/min]
        Upper end: oil, a stiff machine, a tool that is ground often.
    source : str
        Where the figures come from.
    """

    low_m_min: float
    typical_m_min: float
    high_m_min: float
    source: str


def cutting_speed_m_min(speed_rpm, *, diameter_mm):
    """How fast a rim runs past the tool.

    Formula
    -------
    cutting_speed_m_min = pi * diameter_mm / 1000 * speed_rpm

    Parameters
    ----------
    speed_rpm : float or array [rpm]
        Speed of the work, or of the drill or cutter.
    diameter_mm : float or array [mm]
        Diameter that is cut.

    Returns
    -------
    float or array [m/min]
        Cutting speed.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the diameter is not above zero.

    Examples
    --------
    >>> float(round(cutting_speed_m_min(382, diameter_mm=25), 1))
    30.0

    Source
    ------
    Derived here: the rim's way each minute.
    """
    return np.pi * positive("diameter_mm", diameter_mm) / 1000 * speed_rpm


def speed_for_cutting_rpm(cutting_speed_m_min, *, diameter_mm):
    """How fast the spindle must turn for a cutting speed.

    The marking of the chuck, work that is out of balance, and the hand that has to stop a pass at a shoulder
    mostly ask for less.

    Formula
    -------
    speed_for_cutting_rpm = 1000 * cutting_speed_m_min / (pi * diameter_mm)

    Parameters
    ----------
    cutting_speed_m_min : float or array [m/min]
        Cutting speed.
    diameter_mm : float or array [mm]
        Diameter that is cut.

    Returns
    -------
    float or array [rpm]
        Spindle speed.

    Range
    -----
    NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the diameter or the cutting speed is not above zero.

    Examples
    --------
    >>> float(round(speed_for_cutting_rpm(30, diameter_mm=25)))
    382.0

    Source
    ------
    Derived here: the rim's way each minute, solved for the speed.
    """
    speed = positive("cutting_speed_m_min", cutting_speed_m_min)
    return 1000 * speed / (np.pi * positive("diameter_mm", diameter_mm))


def cutting_speed(material, *, tool=LIGHT_LATHE, operation="turning") -> CuttingSpeed:
    """The range of cutting speeds for a material, a tool and a kind of work.

    Formula
    -------
    none: a row of the table ``cutting_speeds``, times the shares of the table ``cutting_operations``.

    Parameters
    ----------
    material : str
        A name such as ``mild steel``.
    tool : str
        What the tool is made of and by whose figures, a name of the table.
    operation : str
        Turning, facing, boring, drilling, reaming, parting or threading.

    Returns
    -------
    CuttingSpeed
        Low, typical and high, and where they come from.

    Raises
    ------
    RangeError
        If a table does not know one of the names; the message lists those it knows.

    Examples
    --------
    >>> found = cutting_speed("mild steel", operation="drilling")
    >>> found.low_m_min, found.high_m_min
    (20.0, 24.0)

    Source
    ------
    See the source of each row.
    """
    rows = tables.read("cutting_speeds")
    material, tool, operation = (str(name).strip().lower() for name in (material, tool, operation))
    _known("material", material, [row["material"] for row in rows])
    fitting = {row["tool"]: row for row in rows if row["material"] == material}
    _known(f"tool for {material}", tool, list(fitting))
    shares = {row["operation"]: row for row in tables.read("cutting_operations")}
    _known("operation", operation, list(shares))
    row, share = fitting[tool], shares[operation]
    least, most = float(share["least_share"]), float(share["most_share"])
    return CuttingSpeed(
        low_m_min=float(row["low_m_min"]) * least,
        typical_m_min=float(row["typical_m_min"]) * (least + most) / 2,
        high_m_min=float(row["high_m_min"]) * most,
        source=f"{row['source']}; {operation}: {share['source']}",
    )


def _known(what: str, name: str, names: list[str]) -> None:
    if name not in names:
        listed = ", ".join(dict.fromkeys(names))
        raise RangeError(f"The table knows no {what} {name[:40]!r}. It knows: {listed}.")
