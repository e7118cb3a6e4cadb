"""Single figures of the electrical checks, each with where it was seen, and the lists that go with them."""

from dataclasses import dataclass

from machinelab import tables
from machinelab.errors import RangeError

__all__ = ["CheckPoint", "ElectricalLimit", "check_points", "electrical_limit", "electrical_limits"]


@dataclass(frozen=True)
class ElectricalLimit:
    """One figure that a check holds something against.

    Parameters
    ----------
    limit_name : str
        Its name in the table.
    limit_value : float
        The figure.
    limit_unit : str
        Its unit.
    meaning : str
        What it limits.
    source : str
        Where it was seen, or that it is from memory.
    """

    limit_name: str
    limit_value: float
    limit_unit: str
    meaning: str
    source: str


@dataclass(frozen=True)
class CheckPoint:
    """One point of a list to go through at the machine, answered by yes, no or not known.

    Parameters
    ----------
    point : str
        Its number.
    asked : str
        What must be so.
    otherwise : str
        What to do where it is not so or not known; empty where that is plain.
    source : str
        Where it was seen, or that it is common practice.
    """

    point: str
    asked: str
    otherwise: str
    source: str


def electrical_limits() -> tuple[ElectricalLimit, ...]:
    """Every figure of the table.

    Formula
    -------
    none: the rows of the table ``electrical_limits``.

    Returns
    -------
    tuple of ElectricalLimit
        In the table's order.

    Examples
    --------
    >>> [one.limit_name for one in electrical_limits()][:2]
    ['residual voltage', 'residual time']

    Source
    ------
    See the source of each row.
    """
    return tuple(
        ElectricalLimit(row["limit"], float(row["value"]), row["unit"], row["meaning"], row["source"])
        for row in tables.read("electrical_limits")
    )


def electrical_limit(limit_name) -> ElectricalLimit:
    """One figure by its name.

    Formula
    -------
    none: a row of the table ``electrical_limits``.

    Parameters
    ----------
    limit_name : str
        Its name in the table.

    Returns
    -------
    ElectricalLimit
        The figure, its unit and its source.

    Raises
    ------
    RangeError
        If the table does not know the name.

    Examples
    --------
    >>> electrical_limit("bond").limit_value
    0.1

    Source
    ------
    See the source of each row.
    """
    known = {one.limit_name: one for one in electrical_limits()}
    if limit_name not in known:
        raise RangeError(f"There is no limit {str(limit_name)[:40]!r}. There are: {', '.join(known)}.")
    return known[limit_name]


def check_points(check_list) -> tuple[CheckPoint, ...]:
    """A list to go through at the machine.

    Formula
    -------
    none: the rows of a table.

    Parameters
    ----------
    check_list : str
        ``emergency_stop``, ``isolation`` or ``noise``.

    Returns
    -------
    tuple of CheckPoint
        Its points in order.

    Raises
    ------
    RangeError
        If there is no such list.

    Examples
    --------
    >>> check_points("isolation")[0].point
    'i1'

    Source
    ------
    See the source of each point.
    """
    if check_list not in ("emergency_stop", "isolation", "noise"):
        raise RangeError(
            f"There is no list {str(check_list)[:40]!r}. There are: emergency_stop, isolation, noise."
        )
    return tuple(
        CheckPoint(row["point"], row["asked"], row.get("otherwise", ""), row["source"])
        for row in tables.read(f"{check_list}_points")
    )
