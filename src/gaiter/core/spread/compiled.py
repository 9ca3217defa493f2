"""The sums of :mod:`.reference`, compiled: row bands with the inner loop over columns.

Loading the compiler takes about two seconds, more than it saves on one plan, so
:mod:`.sums` imports this module only where many bandages are summed.
"""

from collections.abc import Callable
from typing import Any

import numba
import numpy as np


def _compiled(function: Callable[..., None]) -> Any:
    """Compiled without the lock, and kept on disk where there is a place for it."""
    try:
        return numba.njit(nogil=True, cache=True)(function)
    except RuntimeError:  # a read-only installation without a home folder
        return numba.njit(nogil=True)(function)


@_compiled
def disc_block(table, group, tension, place, out):  # type: ignore[no-untyped-def] # compiled
    """As :func:`.reference.disc_block`.

    Parameters
    ----------
    table, group, tension, place, out : ndarray
        As there.
    """
    samples, turns = tension.shape
    discs = table.shape[2]
    for i in range(samples):
        for k in range(turns):
            below = min(int(place[i, k]), table.shape[1] - 2)
            share, t = place[i, k] - below, tension[i, k]
            sums = out[group[k], i]
            lower, upper = table[k, below], table[k, below + 1]
            for d in range(discs):
                sums[d] += t * (lower[d] + share * (upper[d] - lower[d]))


@_compiled
def cell_block(  # type: ignore[no-untyped-def] # compiled
    edges, unit, tension, shift, factor, weight, limit, rings, sums
):
    """As :func:`.reference.cell_block`.

    Parameters
    ----------
    edges, unit, tension, shift, factor, weight, limit, rings, sums : ndarray
        As there, in single precision.
    """
    turns, rows, columns = unit.shape
    zero, one = np.float32(0), np.float32(1)
    cells = np.empty((rows, columns), np.float32)
    bottom, top = np.empty(columns, np.float32), np.empty(columns, np.float32)
    most = np.empty(columns, np.float32)
    for i in range(len(tension)):
        cells[:] = 0
        for k in range(turns):
            first, last = np.float32(rows), zero
            for j in range(columns):
                bottom[j] = edges[0, k, j] + shift[i, k] - one
                top[j] = edges[1, k, j] + shift[i, k]
                most[j] = max(zero, min(one, edges[1, k, j] - edges[0, k, j]))
                if most[j] > zero:
                    first, last = min(first, bottom[j]), max(last, top[j])
            t = tension[i, k]
            # Row r covers r to r + 1; what of it lies between the edges is the covered share.
            for r in range(max(0, int(first)), min(rows, int(last) + 1)):
                row, here, at = cells[r], unit[k, r], np.float32(r)
                for j in range(columns):
                    covered = min(most[j], top[j] - at, at - bottom[j])
                    row[j] += t * here[j] * max(zero, covered)
        for r in range(rows):
            row, mean = cells[r], zero
            for j in range(columns):
                pressure = row[j] * factor[i, r]
                sums[0, r, j] += pressure
                sums[1, r, j] += pressure * pressure
                sums[2, r, j] += one if pressure > limit[r, j] else zero
                mean += pressure * weight[r, j]
            rings[i, r] = mean
