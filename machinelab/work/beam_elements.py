"""Elements of a bending bar put together into symmetric matrices of which few diagonals hold everything.

A node has a shift and a lean and touches none but its neighbours: the main diagonal and three above it are
enough. Textbook finite elements (Euler and Bernoulli, cubic shapes, consistent mass); the closed forms of
bars come out in the tests.
"""

import numpy as np

# For the bar alone; a person's question never ends here.
__all__: list[str] = []

BAND = 3


def assembled(nodes: np.ndarray, blocks: np.ndarray) -> np.ndarray:
    """One symmetric matrix from the 4 by 4 block of every element, kept as its diagonal and those above.

    A node touches none but its neighbours, so that three diagonals above the main one hold everything.
    """
    band = np.zeros((BAND + 1, 2 * nodes.size))
    for row in range(BAND + 1):
        for column in range(row, BAND + 1):
            band[BAND + row - column, column : column + 2 * len(blocks) : 2] += blocks[:, row, column]
    return band


def full(band: np.ndarray) -> np.ndarray:
    """The whole matrix from its diagonals."""
    whole = np.diag(band[BAND])
    for above in range(1, BAND + 1):
        diagonal = band[BAND - above, above:]
        whole += np.diag(diagonal, above) + np.diag(diagonal, -above)
    return whole


def held_fast(band: np.ndarray, free: np.ndarray) -> np.ndarray:
    """The equations with those of a stiff support put as: it does not move."""
    held = np.flatnonzero(~free)
    band[:, held] = 0.0
    for above in range(1, BAND + 1):
        beyond = held[held + above < free.size] + above
        band[BAND - above, beyond] = 0.0
    band[BAND, held] = 1.0
    return band


def bent(h: np.ndarray) -> np.ndarray:
    """Bending of each element, over E I / h^3."""
    return _blocks(
        h,
        [
            [12, 6 * h, -12, 6 * h],
            [6 * h, 4 * h**2, -6 * h, 2 * h**2],
            [-12, -6 * h, 12, -6 * h],
            [6 * h, 2 * h**2, -6 * h, 4 * h**2],
        ],
    )


def swung(h: np.ndarray) -> np.ndarray:
    """Mass of each element, over its own mass by 420."""
    return _blocks(
        h,
        [
            [156, 22 * h, 54, -13 * h],
            [22 * h, 4 * h**2, 13 * h, -3 * h**2],
            [54, 13 * h, 156, -22 * h],
            [-13 * h, -3 * h**2, -22 * h, 4 * h**2],
        ],
    )


def shapes(x: np.ndarray, h: np.ndarray) -> np.ndarray:
    """How far a place of an element follows the shift and the lean of its near and of its far end."""
    s = x / h
    return np.array(
        [(1 - s) ** 2 * (1 + 2 * s), h * s * (1 - s) ** 2, s**2 * (3 - 2 * s), -h * s**2 * (1 - s)]
    )


def between(x: np.ndarray, force_at: np.ndarray, h: np.ndarray) -> np.ndarray:
    """What an element clamped at both ends gives at a place for a force at another, times E I over the force.

    A bar fixed at both ends with a force between them, any table of beam formulas.
    """
    near, far = np.minimum(x, force_at), np.maximum(x, force_at)
    return (near * (h - far)) ** 2 * (3 * far * h - near * (2 * far + h)) / (6 * h**3)


def _blocks(h: np.ndarray, rows: list) -> np.ndarray:
    """Four by four numbers for every element, the element first."""
    return np.moveaxis(np.array([[np.broadcast_to(one, h.shape) for one in row] for row in rows]), -1, 0)
