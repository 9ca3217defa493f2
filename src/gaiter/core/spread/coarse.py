"""The surface as a coarse grid of cells on which thousands of bandages are summed.

Every coarse value is the mean of the fine grid's cells, never one of its points: a crest between
two points would be missed, a mean keeps its share.
"""

from collections.abc import Sequence

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.bandage.strips import Strips
from gaiter.core.leg.surface import Surface
from gaiter.core.pressure.surface_map import turn_pressure
from gaiter.core.spread.sums import Cells

# Rows of about 0.7 cm and columns of about 1 cm on an ordinary leg. Coarser loses the edges of
# turns, finer costs time: discs are not read off these cells, see docs/design/0005-spread.md.
ROWS, COLUMNS = 64, 24


def averaged(fine: Array, rows: int = ROWS, columns: int = COLUMNS) -> Array:
    """Means of a fine map over coarse cells, cells that lie across an edge shared out.

    Parameters
    ----------
    fine : ndarray, shape (rings, angles)
        A map; ``columns`` divides its angles.

    Returns
    -------
    ndarray, shape (rows, columns)

    Examples
    --------
    >>> averaged(np.array([[1.0, 3.0], [5.0, 7.0], [9.0, 11.0]]), rows=2, columns=1)
    array([[3.33333333],
           [8.66666667]])
    """
    rings, angles = fine.shape
    round_it = fine.reshape(rings, columns, angles // columns).mean(axis=2)
    # The integral along the leg, read at every edge; differences are the sums between them.
    integral = np.concatenate([np.zeros((1, columns)), round_it.cumsum(axis=0)])
    edges = np.linspace(0, rings, rows + 1)
    below = np.minimum(edges.astype(int), rings - 1)
    share = (edges - below)[:, None]
    at_edges = integral[below] + share * (integral[below + 1] - integral[below])
    means: Array = np.diff(at_edges, axis=0) * rows / rings
    return means


def on_fine_grid(surface: Surface, marked: Mask) -> Mask:
    """Marked coarse cells on the surface's own grid.

    Parameters
    ----------
    surface : Surface
        The leg.
    marked : ndarray of bool, shape (rows, columns)
        Coarse cells.

    Returns
    -------
    ndarray of bool, shape (rings, angles)

    Examples
    --------
    One of 24 columns takes 4 of 96 angles.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> marked = np.zeros((ROWS, COLUMNS), bool)
    >>> marked[:, 0] = True
    >>> int(on_fine_grid(tube, marked)[0].sum())
    4
    """
    rings, angles = surface.section_cm.shape[1:]
    row = np.arange(rings) * ROWS // rings
    column = np.arange(angles) * COLUMNS // angles
    fine: Mask = marked[row[:, None], column]
    return fine


def row_height_cm(surface: Surface) -> float:
    """Height of a coarse row along the leg [cm].

    Parameters
    ----------
    surface : Surface
        The leg.

    Returns
    -------
    float
        [cm].

    Examples
    --------
    81 rings of 0.5 cm in 64 rows:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(row_height_cm(tube), 3)
    0.633
    """
    rings = len(surface.s_cm)
    return float((surface.s_cm[1] - surface.s_cm[0]) * rings / ROWS)


def row_centres_cm(surface: Surface) -> Array:
    """Chart position of the middle of every coarse row [cm].

    Parameters
    ----------
    surface : Surface
        The leg.

    Returns
    -------
    ndarray, shape (rows,)
        [cm].

    Examples
    --------
    The first ring begins a quarter of a centimetre below 0; the first row is 0.633 cm high.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(float(row_centres_cm(tube)[0]), 3)
    0.066
    """
    below_first = surface.s_cm[0] - (surface.s_cm[1] - surface.s_cm[0]) / 2
    centres: Array = below_first + (np.arange(ROWS) + 0.5) * row_height_cm(surface)
    return centres


def coarse_cells(layers: Sequence[Strips], holding_turns: int, reach_cm: float) -> Cells:
    """Turns of all pressing layers over the coarse grid.

    Parameters
    ----------
    layers : sequence of Strips
        On one surface, from the skin outwards.
    holding_turns : int
        First turns of each layer that only hold its end and press nothing.
    reach_cm : float
        How far a turn may be shifted along the leg [cm].

    Returns
    -------
    Cells

    Examples
    --------
    The shares of a row's cells sum to 1.

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> cells = coarse_cells([band], holding_turns=0, reach_cm=0.0)
    >>> cells.unit.shape, round(float(cells.weight[0].sum()), 6)
    ((2, 64, 24), 1.0)
    """
    surface = layers[0].surface
    parts = [
        _turn(strips, turn, reach_cm, turn >= holding_turns)
        for strips in layers
        for turn in range(strips.turns)
    ]
    arc = averaged(np.sqrt(surface.forms.metric[2]))
    return Cells(
        edges=np.stack([edges for edges, _rest in parts], axis=1),
        unit=np.stack([unit for _key, unit in parts]),
        weight=arc / arc.sum(axis=1, keepdims=True),
    )


def _turn(strips: Strips, turn: int, reach_cm: float, presses: bool) -> tuple[Array, Array]:
    """Edges in rows, shape (2, columns), and unit pressure, shape (rows, columns), of one turn."""
    surface, bands = strips.surface, strips.bands
    fine = np.zeros(surface.section_cm.shape[1:])
    part = turn_pressure(strips, turn, reach_cm) if presses else None
    passed = ~np.isnan(bands.low_s_cm[turn])
    if part is not None:
        fine[part.rings] = part.unit_mmhg * passed
    share = passed.reshape(COLUMNS, -1).sum(axis=1)
    first_edge = surface.s_cm[0] - (surface.s_cm[1] - surface.s_cm[0]) / 2
    both = np.stack([bands.low_s_cm[turn], bands.high_s_cm[turn]])
    summed = np.nan_to_num(both).reshape(2, COLUMNS, -1).sum(axis=2)
    # Where the turn does not pass, both edges lie at nothing: no height, no pressure.
    edges = summed / np.maximum(share, 1) - first_edge
    return edges / row_height_cm(surface), averaged(fine)
