"""A stepped bar on chuck, steady rests and centre, by direct stiffness: how it gives way to the tool."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from machinelab.errors import RangeError
from machinelab.ranges import positive, whole
from machinelab.work.beam_elements import BAND, assembled, bent, between, full, held_fast, shapes, swung
from machinelab.work.bending import STEEL_N_MM2, second_moment_mm4

__all__ = ["Bar", "Section", "Support", "best_steady_mm", "critical_speed_rpm", "tool_deflection_mm"]

ELEMENTS = 64
ALONG = 61
NEAR_SHARE = 1e-5


@dataclass(frozen=True)
class Section:
    """A length of bar of one diameter.

    Parameters
    ----------
    length_mm : float [mm]
        Along the axis.
    bar_diameter_mm : float [mm]
        Outside.
    bore_mm : float [mm]
        Inside; 0 for solid.
    """

    length_mm: float
    bar_diameter_mm: float
    bore_mm: float = 0.0


@dataclass(frozen=True)
class Support:
    """What holds the bar at one place: a chuck, a centre, a steady rest.

    Parameters
    ----------
    position_mm : float [mm]
        From the chuck's jaws.
    spring_n_mm : float [N/mm]
        Force for each millimetre that it gives; infinite for one that does not.
    turning_nmm_rad : float [N mm/rad]
        Moment for each radian that it lets the bar lean: 0 for a centre, infinite for a stiff chuck.
    """

    position_mm: float
    spring_n_mm: float = np.inf
    turning_nmm_rad: float = 0.0


@dataclass(frozen=True)
class Bar:
    """The bar with all that holds it.

    Parameters
    ----------
    sections : tuple of Section
        From the chuck outward.
    supports : tuple of Support
        In any order.
    elasticity_n_mm2 : float [N/mm2]
        Modulus of elasticity, table ``bar_materials``.
    density_kg_m3 : float [kg/m3]
        Density, same table.
    """

    sections: tuple[Section, ...]
    supports: tuple[Support, ...]
    elasticity_n_mm2: float = STEEL_N_MM2
    density_kg_m3: float = 7850.0

    @property
    def length_mm(self) -> float:
        """From the jaws to the free end."""
        return float(sum(section.length_mm for section in self.sections))


def tool_deflection_mm(bar: Bar, force_n, at_mm) -> np.ndarray:
    """How far the bar gives way under the tool, wherever the tool stands.

    Formula
    -------
    none: Euler-Bernoulli beam elements assembled into one stiffness matrix, the tool between its nodes

    Parameters
    ----------
    bar : Bar
        Bar and supports.
    force_n : float [N]
        Force of the tool across the bar.
    at_mm : array of shape (places,) [mm]
        Where the tool stands, from the jaws.

    Returns
    -------
    array of shape (places,) [mm]
        Deflection away from the tool; the diameter is too large by twice as much.

    Range
    -----
    Places on the bar; supports that hold it at all.

    Raises
    ------
    RangeError
        If a place lies off the bar, or the supports let it fly.

    Examples
    --------
    >>> chuck = Support(0, turning_nmm_rad=np.inf)
    >>> bar = Bar((Section(300, 20),), (chuck,))
    >>> tool_deflection_mm(bar, 200, [150, 300]).round(4)
    array([0.1391, 1.1125])

    Source
    ------
    Direct stiffness method, textbook; the closed forms of `machinelab.work.bending` come out in the tests.
    """
    places = np.atleast_1d(at_mm)
    return float(force_n) * np.diag(_compliance(bar, places))


def critical_speed_rpm(bar: Bar) -> float:
    """The lowest speed at which a turning bar whips: its first bending frequency.

    Formula
    -------
    none: smallest eigenvalue of stiffness over consistent mass, Euler-Bernoulli beam elements

    Parameters
    ----------
    bar : Bar
        Bar and supports.

    Returns
    -------
    float [rpm]
        First critical speed. Stay below half of it, below 0.3 where the bar is bent or the clamping unknown
        (common practice, no source).

    Range
    -----
    Supports that hold the bar.

    Raises
    ------
    RangeError
        If the supports let it fly.

    Examples
    --------
    >>> tail = Bar((Section(400, 12),), (Support(0, turning_nmm_rad=np.inf),))
    >>> round(critical_speed_rpm(tail))
    3225

    Source
    ------
    Finite elements, textbook; the closed forms (k L)^2 sqrt(E I / (m L^4)) come out in the tests.
    """
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import eigsh

    nodes = _fine_nodes(bar)
    free = np.ix_(*[_free(bar, nodes)] * 2)
    stiffness, mass = (csc_array(full(band)[free]) for band in (_stiffness(bar, nodes), _mass(bar, nodes)))
    # Only the lowest is asked for, and nearly all of both matrices is nought: sought from zero upward, from
    # one and the same guess, it takes a small part of the time.
    guess = np.ones(stiffness.shape[0])
    lowest = eigsh(stiffness, 1, mass, sigma=0.0, v0=guess, return_eigenvectors=False)[0]
    return float(np.sqrt(max(lowest, 0.0)) * 60 / (2 * np.pi))


def best_steady_mm(bar: Bar, force_n, *, spring_n_mm=np.inf, cut_from_mm=0.0, cut_to_mm=None, places=41):
    """Where a steady rest helps the most while the tool travels along the cut.

    Formula
    -------
    none: the place, of evenly spaced ones, with the least greatest deflection along the cut

    Parameters
    ----------
    bar : Bar
        Bar with its other supports.
    force_n : float [N]
        Force of the tool across the bar.
    spring_n_mm : float [N/mm]
        How stiff the steady rest is, by a push test.
    cut_from_mm : float [mm]
        Where the cut begins.
    cut_to_mm : float or None [mm]
        Where it ends; None for the end of the bar.
    places : int [1]
        How many places to try.

    Returns
    -------
    tuple of two floats [mm]
        The place, and the greatest deflection with the steady rest there.

    Range
    -----
    The tool cannot pass the steady rest: a cut across it is done in two settings.

    Raises
    ------
    RangeError
        If the cut does not lie on the bar, or spring or places are not above zero.

    Examples
    --------
    >>> held = (Support(0, turning_nmm_rad=np.inf), Support(300))
    >>> place, most = best_steady_mm(Bar((Section(300, 20),), held), 200)
    >>> 0.53 < place / 300 < 0.61, round(most, 4)
    (True, 0.0046)

    Source
    ------
    Derived here: a search over `tool_deflection_mm`.
    """
    begin, end = float(cut_from_mm), bar.length_mm if cut_to_mm is None else float(cut_to_mm)
    if not 0 <= begin < end <= bar.length_mm:
        raise RangeError(
            f"The cut from {begin:g} to {end:g} mm does not lie on the bar of {bar.length_mm:g} mm."
        )
    along = np.linspace(begin, end, ALONG)
    tried = np.linspace(0, bar.length_mm, whole("places", places) + 2)[1:-1]
    gives = _compliance(bar, np.concatenate([along, tried]))
    at_tool, at_rest = np.diag(gives)[:ALONG], np.diag(gives)[ALONG:]
    # The rest pushes back until the bar stands where its spring lets it (superposition).
    held = at_tool[:, None] - gives[:ALONG, ALONG:] ** 2 / (
        at_rest + 1 / positive("spring_n_mm", spring_n_mm)
    )
    worst = float(force_n) * held.max(axis=0)
    best = int(np.argmin(worst))
    return float(tried[best]), float(worst[best])


def with_support(bar: Bar, support: Support) -> Bar:
    """The same bar, held at one more place.

    Formula
    -------
    none: a copy

    Parameters
    ----------
    bar : Bar
        Bar and supports.
    support : Support
        One more.

    Returns
    -------
    Bar
        The bar with it.

    Range
    -----
    Any.

    Examples
    --------
    >>> len(with_support(Bar((Section(300, 20),), (Support(0),)), Support(200)).supports)
    2

    Source
    ------
    Derived here.
    """
    return Bar(bar.sections, (*bar.supports, support), bar.elasticity_n_mm2, bar.density_kg_m3)


def _compliance(bar: Bar, places: np.ndarray) -> np.ndarray:
    """What the bar gives at each place (row) for one newton at each place (column)."""
    if np.any((places < 0) | (places > bar.length_mm * (1 + 1e-12))):
        raise RangeError(f"The tool stands off the bar, which is {bar.length_mm:g} mm long.")
    from scipy.linalg import solveh_banded

    nodes = _nodes(bar)
    element = np.clip(np.searchsorted(nodes, places, side="right") - 1, 0, nodes.size - 2)
    length, along = np.diff(nodes)[element], places - nodes[element]
    # What a force between two nodes lays on their shifts and leans, and gets back from them.
    moved, share = 2 * element + np.arange(BAND + 1)[:, None], shapes(along, length)
    loads = np.zeros((2 * nodes.size, places.size))
    loads[moved, np.arange(places.size)] = share
    free = _free(bar, nodes)
    loads[~free] = 0.0
    ends = solveh_banded(held_fast(_stiffness(bar, nodes), free), loads)
    within = between(along[:, None], along, length) / _bending(bar, nodes)[element]
    within[element[:, None] != element] = 0.0
    return np.einsum("ip,ipq->pq", share, ends[moved]) + within


def _nodes(bar: Bar) -> np.ndarray:
    """Nodes at every step and support; between them the elements bend exactly."""
    if not bar.sections or not bar.supports:
        raise RangeError("The bar needs at least one length of material and one support.")
    steps = np.cumsum([float(positive("length_mm", section.length_mm)) for section in bar.sections])
    held = np.array([support.position_mm for support in bar.supports])
    if np.any((held < 0) | (held > bar.length_mm * (1 + NEAR_SHARE))):
        raise RangeError(f"A support stands off the bar, which is {bar.length_mm:g} mm long.")
    if not _is_held(bar):
        raise RangeError(
            "These supports do not hold the bar: one that lets it lean must have a second one beside it."
        )
    nodes = np.unique(np.concatenate([[0.0], steps, held]))
    # Two nodes that all but coincide would make an element so stiff that the others drown in rounding.
    keep = np.append(True, np.diff(nodes) > NEAR_SHARE * bar.length_mm)
    return nodes[keep]


def _fine_nodes(bar: Bar) -> np.ndarray:
    """The same with what lies between them parted evenly, since a swinging element is not exact."""
    ends = _nodes(bar)
    parts = np.ceil(ELEMENTS * np.diff(ends) / bar.length_mm).astype(int)
    within = [
        np.linspace(*gap, part, endpoint=False) for gap, part in zip(pairwise(ends), parts, strict=True)
    ]
    return np.append(np.concatenate(within), ends[-1])


def _is_held(bar: Bar) -> bool:
    """Whether the supports stop both the shift and the lean of a bar that does not bend."""
    stopped = [(1.0, one.position_mm / bar.length_mm) for one in bar.supports if one.spring_n_mm > 0]
    stopped += [(0.0, 1.0) for one in bar.supports if one.turning_nmm_rad > 0]
    return bool(np.linalg.matrix_rank(stopped) == 2)


def _tubes(bar: Bar, nodes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Outside and inside diameter of every element."""
    ends = np.cumsum([section.length_mm for section in bar.sections])
    which = np.searchsorted(ends, (nodes[:-1] + nodes[1:]) / 2)
    sizes = np.array([(one.bar_diameter_mm, one.bore_mm) for one in bar.sections])
    return tuple(sizes[which].T)


def _bending(bar: Bar, nodes: np.ndarray) -> np.ndarray:
    """Bending stiffness E I of every element."""
    return positive("elasticity_n_mm2", bar.elasticity_n_mm2) * second_moment_mm4(*_tubes(bar, nodes))


def _stiffness(bar: Bar, nodes: np.ndarray) -> np.ndarray:
    lengths = np.diff(nodes)
    band = assembled(nodes, (_bending(bar, nodes) / lengths**3)[:, None, None] * bent(lengths))
    for support in bar.supports:
        node = _node_at(nodes, support.position_mm)
        for place, spring in ((2 * node, support.spring_n_mm), (2 * node + 1, support.turning_nmm_rad)):
            band[BAND, place] += spring if np.isfinite(spring) else 0.0
    return band


def _free(bar: Bar, nodes: np.ndarray) -> np.ndarray:
    """Shifts and leans that no stiff support takes away."""
    free = np.ones(2 * nodes.size, dtype=bool)
    for support in bar.supports:
        node = _node_at(nodes, support.position_mm)
        free[2 * node] &= bool(np.isfinite(support.spring_n_mm))
        free[2 * node + 1] &= bool(np.isfinite(support.turning_nmm_rad))
    return free


def _node_at(nodes: np.ndarray, place_mm: float) -> int:
    return int(np.argmin(np.abs(nodes - place_mm)))


def _mass(bar: Bar, nodes: np.ndarray) -> np.ndarray:
    """Consistent mass, in tonnes, so that newton, millimetre and second go together."""
    tonne_mm3 = float(positive("density_kg_m3", bar.density_kg_m3)) * 1e-12
    outside, inside = _tubes(bar, nodes)
    lengths = np.diff(nodes)
    tonnes = tonne_mm3 * np.pi / 4 * (outside**2 - inside**2) * lengths
    return assembled(nodes, (tonnes / 420)[:, None, None] * swung(lengths))
