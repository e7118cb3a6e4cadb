"""The specific cutting force: how many newtons each square millimetre of chip asks, thin chips more.

Tables disagree, by a quarter and more, and so do sharp tools and blunt ones: every force and power that comes
from them carries that much doubt. Never mix the figures of two tables.
"""

from dataclasses import dataclass

import numpy as np

from machinelab import tables
from machinelab.errors import RangeError
from machinelab.estimate import Estimate
from machinelab.ranges import positive

__all__ = [
    "CuttingMaterial",
    "cutting_material",
    "exponent_from_two_forces",
    "materials",
    "specific_force_n_mm2",
    "tool_force_factor",
]

# How far tables, tools and bars of one name differ; common practice, no source.
DOUBT_SHARE = 0.25


@dataclass(frozen=True)
class CuttingMaterial:
    """What a material asks of the tool, from the table ``cutting_forces``.

    Parameters
    ----------
    material : str
        Its name in the workshop.
    given_for : str
        What exactly the figures were given for.
    specific_force_1_n_mm2 : float [N/mm2]
        Force on each square millimetre of a chip 1 mm thick (kc1.1).
    chip_exponent : float [1]
        How quickly thinner chips ask more (mc); NaN when the source prints none.
    source : str
        Where the figures come from.
    """

    material: str
    given_for: str
    specific_force_1_n_mm2: float
    chip_exponent: float
    source: str


def materials() -> tuple[str, ...]:
    """Which materials the table of cutting forces knows.

    Formula
    -------
    none: the names in the table ``cutting_forces``.

    Returns
    -------
    tuple of str
        Their names, in the table's order.

    Examples
    --------
    >>> materials()[0]
    'mild steel'

    Source
    ------
    See the table's own column of sources.
    """
    return tuple(row["material"] for row in tables.read("cutting_forces"))


def cutting_material(material) -> CuttingMaterial:
    """What a material asks of the tool, by its name in the workshop.

    Formula
    -------
    none: a row of the table ``cutting_forces``.

    Parameters
    ----------
    material : str
        A name such as ``mild steel``; capitals and spaces around it do not matter.

    Returns
    -------
    CuttingMaterial
        Its figures and where they come from.

    Raises
    ------
    RangeError
        If the table does not know the name.

    Examples
    --------
    >>> cutting_material("Mild steel").specific_force_1_n_mm2
    1350.0

    Source
    ------
    See the row's own source.
    """
    wanted = str(material).strip().lower()
    for row in tables.read("cutting_forces"):
        if row["material"].lower() == wanted:
            force, exponent = float(row["specific_force_1_n_mm2"]), float(row["chip_exponent"] or "nan")
            return CuttingMaterial(row["material"], row["condition"], force, exponent, row["source"])
    raise RangeError(f"The table knows no {str(material)[:40]!r}. It knows: {', '.join(materials())}.")


def specific_force_n_mm2(chip_thickness_mm, *, specific_force_1_n_mm2, chip_exponent, force_factor):
    """How many newtons each square millimetre of chip asks at a thickness of chip.

    Halving the chip's thickness does not halve the force: the tool rubs and squeezes as much as it cuts. From
    0.5 mm down to 0.05 mm the figure grows 1.8 times at an exponent of 0.25.

    Formula
    -------
    specific_force_n_mm2 = force_factor * specific_force_1_n_mm2 * chip_thickness_mm**(-chip_exponent)

    Parameters
    ----------
    chip_thickness_mm : float or array [mm]
        Thickness of the chip before it is squeezed, square to the cutting edge.
    specific_force_1_n_mm2 : float or array [N/mm2]
        Force on each square millimetre of a chip 1 mm thick (kc1.1).
    chip_exponent : float or array [1]
        How quickly thinner chips ask more (mc).
    force_factor : float or array [1]
        1 for a sharp tool without rake, see `tool_force_factor`.

    Returns
    -------
    float or array [N/mm2]
        Specific cutting force (kc).

    Range
    -----
    Chips of about 0.03 to 1 mm; thinner ones rub. NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the thickness or the force is not above zero.

    Examples
    --------
    >>> float(
    ...     round(specific_force_n_mm2(0.1, specific_force_1_n_mm2=1500, chip_exponent=0.22, force_factor=1))
    ... )
    2489.0

    Source
    ------
    Kienzle's law, textbook; constants from the table ``cutting_forces``.
    """
    chip = positive("chip_thickness_mm", chip_thickness_mm)
    at_1_mm = positive("specific_force_1_n_mm2", specific_force_1_n_mm2)
    return positive("force_factor", force_factor) * at_1_mm * chip ** (-chip_exponent)


def tool_force_factor(rake_deg, *, wear_factor):
    """How many times the table's force a tool needs: less for a keen one, more for a blunt one.

    Formula
    -------
    tool_force_factor = wear_factor * (1 - rake_deg / 100)

    Parameters
    ----------
    rake_deg : float or array [deg]
        Rake of the tool; high-speed steel is ground to 15 to 25 degrees, carbide has 0 to 6.
    wear_factor : float or array [1]
        1 sharp, 1.3 worn.

    Returns
    -------
    float or array [1]
        Factor on the table's force.

    Range
    -----
    Rakes from about -10 to 30 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the wear factor is not above zero.

    Examples
    --------
    >>> tool_force_factor(20, wear_factor=1.3)
    1.04

    Source
    ------
    Common practice, no source: one per cent for each degree, 1.0 to 1.3 for wear.
    """
    return positive("wear_factor", wear_factor) * (1 - rake_deg / 100)


def exponent_from_two_forces(thin_chip_n_mm2, *, thick_chip_n_mm2, thin_chip_mm, thick_chip_mm):
    """How quickly thinner chips ask more, from two entries of a table that gives force by feed.

    Formula
    -------
    exponent_from_two_forces = ln(thin_chip_n_mm2 / thick_chip_n_mm2) / ln(thick_chip_mm / thin_chip_mm)

    Parameters
    ----------
    thin_chip_n_mm2 : float or array [N/mm2]
        Specific force at the thin chip.
    thick_chip_n_mm2 : float or array [N/mm2]
        Specific force at the thick chip.
    thin_chip_mm : float or array [mm]
        The thin chip.
    thick_chip_mm : float or array [mm]
        The thick chip.

    Returns
    -------
    float or array [1]
        Exponent (mc) that goes through both.

    Range
    -----
    Two different thicknesses of one table; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a figure is not above zero.

    Examples
    --------
    >>> found = exponent_from_two_forces(3610, thick_chip_n_mm2=2280, thin_chip_mm=0.1, thick_chip_mm=0.6)
    >>> round(float(found), 4)
    0.2565

    Source
    ------
    Derived here: Kienzle's law solved for its exponent.
    """
    forces = positive("thin_chip_n_mm2", thin_chip_n_mm2) / positive("thick_chip_n_mm2", thick_chip_n_mm2)
    chips = positive("thick_chip_mm", thick_chip_mm) / positive("thin_chip_mm", thin_chip_mm)
    return np.log(forces) / np.log(chips)


def with_table_doubt(reckoned: float) -> Estimate:
    """A force, torque or power from the tables, less and more a quarter.

    >>> with_table_doubt(100.0).interval
    (75.0, 125.0)
    """
    return Estimate.symmetric(float(reckoned), DOUBT_SHARE * float(reckoned))
