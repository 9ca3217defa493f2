"""Pressure of a bandage on every cell of the surface, round each ring, and turn by turn at discs.

Each covering turn adds 75.0062 t kappa: t its tension per width, kappa the normal curvature of
the padded surface along the turn. Where kappa is not positive the fabric bridges and presses
nothing. Everything here is per unit of tension, so that stretches can be swept cheaply.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import convolve1d

from gaiter.core.arrays import Array
from gaiter.core.bandage.strips import Strips
from gaiter.core.leg.forms import normal_curvature
from gaiter.core.leg.surface import Surface
from gaiter.core.pressure.discs import DISC_RADIUS_CM, Disc, disc
from gaiter.core.units import MMHG_PER_N_PER_CM2


@dataclass(frozen=True)
class TurnPressure:
    """Pressure of one turn per tension, on the rings it can reach.

    Attributes
    ----------
    rings : slice
        Rows of the grid.
    unit_mmhg : ndarray, shape (rows, angles)
        Pressure where the turn covers, per N/cm of tension [mmHg cm/N].

    Examples
    --------
    >>> TurnPressure(slice(2, 4), np.zeros((2, 96))).unit_mmhg.shape
    (2, 96)
    """

    rings: slice
    unit_mmhg: Array


def turn_pressure(strips: Strips, turn: int, reach_cm: float = 0.0) -> TurnPressure | None:
    """Pressure per tension of one turn, as if it covered every cell within reach of its band.

    Parameters
    ----------
    strips : Strips
        One layer.
    turn : int
        Which turn, from 0.
    reach_cm : float
        How far past its edges [cm], 0 or more.

    Returns
    -------
    TurnPressure or None
        None for a turn that passes no column.

    References
    ----------
    Thomas S. EWMA Journal 2003;3(1):21-23 (tension over the radius of curvature, which here is that
    of the surface along the turn).

    Examples
    --------
    A level turn on a radius of 4 cm presses 75.0062 / 4 mmHg for 1 N/cm.

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> round(float(turn_pressure(band, 0).unit_mmhg.max()), 2)
    18.75
    """
    bands, surface = strips.bands, strips.surface
    low, high = bands.low_s_cm[turn], bands.high_s_cm[turn]
    if np.isnan(low).all():
        return None
    s = surface.s_cm
    reached = np.searchsorted(s, [np.nanmin(low) - reach_cm, np.nanmax(high) + reach_cm])
    # Two rings at least, of a turn beyond the grid too: their distance is what a ring reaches.
    bottom, top = np.clip(reached, 1, len(s) - 1)
    rows = slice(int(bottom) - 1, int(top) + 1)
    # Columns that the turn does not pass are NaN; where its edges meet, any slope serves.
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.clip((s[rows, None] - low) / (high - low), 0, 1)
        slope = bands.low_slope[turn] + share * (bands.high_slope[turn] - bands.low_slope[turn])
        curvature = normal_curvature(
            surface.forms.metric[:, rows], surface.forms.second[:, rows], slope
        )
    return TurnPressure(rows, MMHG_PER_N_PER_CM2 * np.nan_to_num(np.maximum(curvature, 0)))


def unit_map(strips: Strips, turns: range | None = None) -> Array:
    """Pressure of a layer per tension [mmHg cm/N], shape (rings, angles).

    Parameters
    ----------
    strips : Strips
        One layer.
    turns : range or None
        Only these of its turns; all of them when None.

    Returns
    -------
    ndarray, shape (rings, angles)
        Multiply by the layer's tension in N per cm of width.

    References
    ----------
    Thomas S. EWMA Journal 2003;3(1):21-23 (tension over the radius of curvature, which here is that
    of the surface along the turn).

    Examples
    --------
    Two level turns on a radius of 4 cm, 2 x 75.0062 / 4 mmHg:

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> round(float(unit_map(band)[40, 24]), 1)
    37.5
    """
    surface = strips.surface
    total = np.zeros(surface.section_cm.shape[1:])
    for turn in range(strips.turns) if turns is None else turns:
        part = turn_pressure(strips, turn)
        if part is not None:
            covered = strips.bands.share_of_ring(turn, surface.s_cm[part.rings])
            total[part.rings] += part.unit_mmhg * covered
    return total


def ring_mean(surface: Surface, cells: Array) -> Array:
    """Arc-length mean of a map round each ring.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray, shape (rings, angles)
        The map, in any unit.

    Returns
    -------
    ndarray, shape (rings,)
        In the map's unit.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> halves = np.where(tube.angle < np.pi, 40.0, 20.0) * np.ones((81, 1))
    >>> round(float(ring_mean(tube, halves)[10]), 6)
    30.0
    """
    weights = np.sqrt(surface.forms.metric[2])
    mean: Array = (cells * weights).sum(axis=1) / weights.sum(axis=1)
    return mean


def ring_mean_at(surface: Surface, cells: Array, s_cm: float) -> float:
    """Ring mean over a band as high as a disc, so that one edge of a turn does not decide it.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray, shape (rings, angles)
        The map, in any unit.
    s_cm : float
        Chart position [cm].

    Returns
    -------
    float
        In the map's unit.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(ring_mean_at(tube, np.ones((81, 96)) * tube.s_cm[:, None], 20.0), 6)
    20.0
    """
    near = np.abs(surface.s_cm - s_cm) <= DISC_RADIUS_CM
    return float(ring_mean(surface, cells)[near].mean())


def highest_on_ring(surface: Surface, cells: Array, s_cm: float) -> float:
    """Mean over the disc of a ring on which a map is highest.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray, shape (rings, angles)
        The map, in any unit.
    s_cm : float
        Chart position of the ring [cm].

    Returns
    -------
    float
        In the map's unit.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> cells = np.ones((81, 96))
    >>> cells[:, :24] = 3  # a quarter of the way round, wider than a disc
    >>> round(highest_on_ring(tube, cells, 20.0), 1)
    3.0
    """
    near = np.abs(surface.s_cm - s_cm) <= DISC_RADIUS_CM
    columns = cells[near].mean(axis=0)
    half = round(DISC_RADIUS_CM / (surface.girth_cm[near].mean() / len(columns)))
    # An odd number of columns has a middle one.
    best = int(np.argmax(convolve1d(columns, np.ones(2 * half + 1), mode="wrap")))
    return disc(surface, "highest", s_cm, float(surface.angle[best])).mean(cells)


def shifted_unit_table(strips: Strips, discs: Sequence[Disc], shifts_cm: Array) -> Array:
    """Pressure per tension of every turn on every disc, for turns shifted along the leg.

    Parameters
    ----------
    strips : Strips
        One layer.
    discs : sequence of Disc
        Where pressure is wanted.
    shifts_cm : ndarray, shape (shifts,)
        How far the turn lies from its place along the leg, in equal steps [cm].

    Returns
    -------
    ndarray, shape (turns, shifts, discs)
        [mmHg cm/N]. The curvature is that of the place, so a shifted turn presses as the
        surface under the disc asks, not as the one it has left.

    Examples
    --------
    In its place a level turn presses 75.0062 / 4 mmHg for 1 N/cm; a shift by more than half its
    width and the disc's radius takes it off the disc.

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.pressure.discs import disc
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> here = disc(tube, "", 20.0, np.pi / 2)
    >>> table = shifted_unit_table(band, [here], np.array([-8.0, 0.0, 8.0]))
    >>> [round(abs(float(value)), 2) for value in table[0, :, 0]]
    [0.0, 18.75, 0.0]
    """
    surface, bands = strips.surface, strips.bands
    rings = np.concatenate([where.rings for where in discs])
    angles = np.concatenate([where.angles for where in discs])
    weights = np.concatenate([where.arrives * where.weights for where in discs])
    owner = np.repeat(np.arange(len(discs)), [len(where.rings) for where in discs])
    half_step = (surface.s_cm[1] - surface.s_cm[0]) / 2
    s, reach = surface.s_cm[rings], float(np.abs(shifts_cm).max()) + half_step
    low, high = bands.low_s_cm[:, angles], bands.high_s_cm[:, angles]
    # Only pairs of turn and cell that some shift brings together; NaN is a turn not passing.
    turn, cell = np.nonzero((low - reach < s) & (s < high + reach))
    low, high, s = low[turn, cell], high[turn, cell], s[cell]
    rings, angles = rings[cell], angles[cell]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.nan_to_num(np.clip((s - low) / (high - low), 0, 1))
    first, last = bands.low_slope[turn, angles], bands.high_slope[turn, angles]
    curvature = normal_curvature(
        surface.forms.metric[:, rings, angles],
        surface.forms.second[:, rings, angles],
        first + share * (last - first),
    )
    unit = MMHG_PER_N_PER_CM2 * np.nan_to_num(np.maximum(curvature, 0)) * weights[cell]
    pair = turn * len(discs) + owner[cell]
    return _ramps(
        unit / (2 * half_step),
        [(s - half_step - high, 1), (s + half_step - high, -1),
         (s - half_step - low, -1), (s + half_step - low, 1)],
        pair, (strips.turns, len(discs)), shifts_cm,
    )  # fmt: skip


def _ramps(
    height: Array,
    starts: Sequence[tuple[Array, int]],
    pair: npt.NDArray[np.intp],
    shape: tuple[int, int],
    shifts_cm: Array,
) -> Array:
    """Sum by pair of ramps that rise from each start, at every shift, (turns, shifts, discs).

    What a band covers of a cell is a trapezoid in the shift, four ramps; each leaves only two
    marks in the second difference, and two running sums give the table.
    """
    count, step = len(shifts_cm), shifts_cm[1] - shifts_cm[0]
    size = shape[0] * shape[1] * (count + 2)
    second = np.zeros(size)
    for start, sign in starts:
        first = np.clip(np.ceil((start - shifts_cm[0]) / step), 0, count).astype(int)
        at_first = shifts_cm[0] + first * step - start
        at = pair * (count + 2) + first
        second += np.bincount(at, sign * height * at_first, size)
        second += np.bincount(at + 1, sign * height * (step - at_first), size)
    table = second.reshape(*shape, count + 2).cumsum(axis=2).cumsum(axis=2)[..., :count]
    return np.ascontiguousarray(table.swapaxes(1, 2))
