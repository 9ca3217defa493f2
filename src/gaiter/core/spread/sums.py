"""Sums over the turns of sampled bandages, at discs and on coarse cells, over fixed blocks.

Draws, tables and bands come in as arrays made elsewhere. Blocks are as large whatever the number
of threads, and their partial sums are added in order, so any number of threads gives the same
answer. Until :func:`load` is called the plain :mod:`.reference` does the sums.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

import numpy as np
import numpy.typing as npt

from gaiter.core.arrays import Array, Single
from gaiter.core.spread import reference

# Samples to a block: small enough to share out evenly, large enough to hide the call.
_BLOCK = 256


class _Engine:
    """What does the sums in this process."""

    sums: ModuleType = reference
    threads: int | None = 1


def load(threads: int | None = None) -> None:
    """Takes the compiled sums from here on, for a process that samples many bandages.

    Parameters
    ----------
    threads : int or None
        Threads to share the blocks between; a few more than the processors when None.
    """
    _Engine.sums = import_module("gaiter.core.spread.compiled")
    _Engine.threads = threads


@dataclass(frozen=True)
class Cells:
    """Turns over a coarse grid of cells.

    Attributes
    ----------
    edges : ndarray, shape (2, turns, columns)
        Lower and upper edge of each turn, in rows of the grid; the upper is not above the lower
        where the turn does not pass.
    unit : ndarray, shape (turns, rows, columns)
        Pressure per tension where the turn covers the whole cell [mmHg cm/N].
    weight : ndarray, shape (rows, columns)
        Share of each cell in the mean round its row; each row sums to 1.

    Examples
    --------
    >>> Cells(np.zeros((2, 3, 24)), np.zeros((3, 64, 24)), np.full((64, 24), 1 / 24)).unit.shape
    (3, 64, 24)
    """

    edges: Array
    unit: Array
    weight: Array


@dataclass(frozen=True)
class CellSummary:
    """What thousands of bandages do on every cell and round every row of cells.

    Attributes
    ----------
    mean_mmhg, sd_mmhg : ndarray, shape (rows, columns)
        Mean and standard deviation [mmHg].
    chance_above : ndarray, shape (rows, columns)
        Share of bandages above the cell's limit.
    ring_mmhg : ndarray, shape (samples, rows)
        Mean round each row [mmHg].

    Examples
    --------
    >>> one = np.ones((1, 1))
    >>> CellSummary(40 * one, 4 * one, 0 * one, np.ones((1, 1), np.float32)).mean_mmhg.tolist()
    [[40.0]]
    """

    mean_mmhg: Array
    sd_mmhg: Array
    chance_above: Array
    ring_mmhg: Single


def disc_sums(table: Array, group: npt.NDArray[np.intp], tension: Array, place: Array) -> Array:
    """Pressure at every disc summed over the turns of each group.

    Parameters
    ----------
    table : ndarray, shape (turns, shifts, discs)
        Pressure per tension for a turn that lies so far off [mmHg cm/N].
    group : ndarray of int, shape (turns,)
        The group each turn is summed into, from 0.
    tension : ndarray, shape (samples, turns)
        Tension, in any unit.
    place : ndarray, shape (samples, turns)
        Where between the table's shifts each turn lies, 0 to shifts - 1.

    Returns
    -------
    ndarray, shape (groups, samples, discs)

    Examples
    --------
    Two turns of one group, 10 mmHg cm/N each, at 1 and 2 N/cm:

    >>> table = np.full((2, 3, 1), 10.0)
    >>> disc_sums(table, np.array([0, 0]), np.array([[1.0, 2.0]]), np.array([[1.0, 1.0]])).tolist()
    [[[30.0]]]
    """
    groups = int(group.max()) + 1
    out = np.zeros((groups, len(tension), table.shape[2]))
    # Quick enough in one thread; in blocks so that the plain sums' arrays stay small.
    for part in _blocks(len(tension)):
        _Engine.sums.disc_block(table, group, tension[part], place[part], out[:, part])
    return out


def cell_summary(
    cells: Cells, tension: Array, shift_rows: Array, factor: Array, limit_mmhg: Array
) -> CellSummary:
    """Mean, spread and chance above a limit on every cell, and means round rings.

    Parameters
    ----------
    cells : Cells
        Turns over the grid.
    tension : ndarray, shape (samples, turns)
        Tension of each turn [N/cm], everything that multiplies it included.
    shift_rows : ndarray, shape (samples, turns)
        How far each turn lies from its place, in rows.
    factor : ndarray, shape (samples, rows)
        What the girth's error multiplies each row's pressure by.
    limit_mmhg : ndarray, shape (rows, columns)
        Limit of each cell [mmHg].

    Returns
    -------
    CellSummary

    Examples
    --------
    One turn over one cell in two bandages, 20 and 40 mmHg; one of two is above 30.

    >>> one = np.ones((1, 1))
    >>> cells = Cells(np.array([[[0.0]], [[1.0]]]), 10 * one[None], one)
    >>> tension = np.array([[2.0], [4.0]])
    >>> found = cell_summary(cells, tension, 0 * tension, np.ones((2, 1)), 30 * one)
    >>> [float(part[0, 0]) for part in (found.mean_mmhg, found.sd_mmhg, found.chance_above)]
    [30.0, 10.0, 0.5]
    """

    def single(array: Array) -> Single:
        return np.ascontiguousarray(array, np.float32)

    edges, unit, weight = single(cells.edges), single(cells.unit), single(cells.weight)
    samples, limit = len(tension), single(limit_mmhg)
    rings = np.zeros(factor.shape, np.float32)
    sums = np.zeros((-(-samples // _BLOCK), 3, *limit.shape), np.float32)
    tensions, shifts, factors = single(tension), single(shift_rows), single(factor)

    def one(part: slice) -> None:
        _Engine.sums.cell_block(
            edges, unit, tensions[part], shifts[part], factors[part], weight, limit,
            rings[part], sums[part.start // _BLOCK],
        )  # fmt: skip

    _in_blocks(samples, one)
    mean, square, above = sums.sum(axis=0, dtype=np.float64) / samples
    return CellSummary(mean, np.sqrt(np.maximum(square - mean**2, 0)), above, rings)


def _blocks(samples: int) -> list[slice]:
    return [slice(at, min(at + _BLOCK, samples)) for at in range(0, samples, _BLOCK)]


def _in_blocks(samples: int, work: Callable[[slice], None]) -> None:
    """Runs work on every block; in this thread when there is only one of either."""
    blocks = _blocks(samples)
    if _Engine.threads == 1 or len(blocks) == 1:
        for block in blocks:
            work(block)
        return
    # Made anew each time (a fraction of a millisecond): threads do not survive a server's fork.
    with ThreadPoolExecutor(_Engine.threads) as pool:
        for _done in pool.map(work, blocks):
            pass
