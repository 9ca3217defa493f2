"""The sums in plain NumPy, to be read and to be checked against.

Same names, arguments and answers as :mod:`.compiled`.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]


def disc_block(
    table: Array, group: npt.NDArray[np.intp], tension: Array, place: Array, out: Array
) -> None:
    """Adds every turn's pressure at the discs to its group.

    Parameters
    ----------
    table : ndarray, shape (turns, shifts, discs)
        Pressure per tension for a turn that lies so far off.
    group : ndarray of int, shape (turns,)
        Group of each turn.
    tension, place : ndarray, shape (samples, turns)
        Tension, and where between the table's shifts the turn lies.
    out : ndarray, shape (groups, samples, discs)
        Sums to add to.

    Examples
    --------
    Half-way between 10 and 20 mmHg cm/N, at 2 N/cm:

    >>> out = np.zeros((1, 1, 1))
    >>> table = np.array([[[10.0], [20.0]]])
    >>> disc_block(table, np.array([0]), np.array([[2.0]]), np.array([[0.5]]), out)
    >>> out.tolist()
    [[[30.0]]]
    """
    below = np.minimum(place.astype(int), table.shape[1] - 2)
    share = place - below
    for turn, into in enumerate(group):
        lower, upper = table[turn][below[:, turn]], table[turn][below[:, turn] + 1]
        unit = lower + share[:, turn, None] * (upper - lower)
        out[into] += tension[:, turn, None] * unit


def cell_block(
    edges: Array,
    unit: Array,
    tension: Array,
    shift: Array,
    factor: Array,
    weight: Array,
    limit: Array,
    rings: Array,
    sums: Array,
) -> None:
    """Adds up pressure, its square and its excess on every cell, and means round rows.

    Parameters
    ----------
    edges : ndarray, shape (2, turns, columns)
        Lower and upper edge of each turn in rows; row r covers r to r + 1.
    unit : ndarray, shape (turns, rows, columns)
        Pressure per tension where the turn covers the whole cell.
    tension, shift : ndarray, shape (samples, turns)
        Tension, and how far each turn lies from its place in rows.
    factor : ndarray, shape (samples, rows)
        What the girth's error multiplies each row by.
    weight : ndarray, shape (rows, columns)
        Share of each cell in the mean round its row.
    limit : ndarray, shape (rows, columns)
        Limit of each cell.
    rings : ndarray, shape (samples, rows)
        Means to write.
    sums : ndarray, shape (3, rows, columns)
        Sums of pressure, of its square and of its excess to add to.

    Examples
    --------
    One turn over one whole cell: 2 x 10 is above a limit of 15.

    >>> one, rings, sums = np.ones((1, 1)), np.zeros((1, 1)), np.zeros((3, 1, 1))
    >>> edges = np.array([[[0.0]], [[1.0]]])
    >>> cell_block(edges, 10 * one[None], 2 * one, 0 * one, one, one, 15 * one, rings, sums)
    >>> rings.tolist(), sums.ravel().tolist()
    ([[20.0]], [20.0, 400.0, 1.0])
    """
    row = np.arange(unit.shape[1])[:, None]
    for sample in range(len(tension)):
        cells = np.zeros(unit.shape[1:], unit.dtype)
        for turn in range(len(unit)):
            low, high = edges[:, turn] + shift[sample, turn]
            covered = np.clip(np.minimum(high, row + 1) - np.maximum(low, row), 0, 1)
            cells += tension[sample, turn] * unit[turn] * covered
        cells *= factor[sample][:, None]
        sums += np.stack([cells, cells * cells, cells > limit])
        rings[sample] = (weight * cells).sum(axis=1)
