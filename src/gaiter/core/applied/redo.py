"""Where to begin again, and with which mark spacing."""

from collections.abc import Sequence

import numpy as np

from gaiter.core.applied.document import Redo
from gaiter.core.applied.readings import RELAXED_CM
from gaiter.core.applied.sampled import SampledApplied
from gaiter.core.applied.stretch import NEAREST_TO_LOCK
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import Layer
from gaiter.core.plan.laying import FOOT_TURNS
from gaiter.core.spread.sampling import SHIFTS_CM

_IN_PLACE = len(SHIFTS_CM) // 2


def redo(
    after: SampledApplied, wrong: Sequence[Landmark], remainder_planned: float | None
) -> Redo | None:
    """The layer that brings most of the difference, from its first turn over a wrong site.

    Parameters
    ----------
    after : SampledApplied
        Bandages that agree with the readings.
    wrong : sequence of Landmark
        Reading sites that are to be mended, at least one.
    remainder_planned : float or None
        The plan's theory remainder when a sensor was read, so that the spacing answers what it
        told; None leaves the planned spacing.

    Returns
    -------
    Redo or None
        None where no layer stretches.

    Examples
    --------
    Seven turns, of which the sixth and seventh lie over a calf that is too loose:

    >>> from types import SimpleNamespace
    >>> from gaiter.core.plan.document import Fabric
    >>> fabric = Fabric(
    ...     usual_stretch=0.5, usual_tension_n_per_cm=1.0, locking_stretch=2.0, hysteresis=0.2,
    ...     least_stretch=0.2, largest_stretch=1.5,
    ... )
    >>> layer = Layer.model_construct(
    ...     number=2, title="elastic", fabric=fabric, tensions_n_per_cm=(1.0, 1.0),
    ...     stretch_percent=50.0,
    ... )
    >>> table = np.zeros((7, len(SHIFTS_CM), 1))
    >>> table[5:] = 10.0
    >>> leg, laid = SimpleNamespace(sites=[Landmark.CALF]), SimpleNamespace(table=table)
    >>> stretch, none = np.full((7, 1), 0.3), np.zeros((0, 0))
    >>> after = SampledApplied(
    ...     leg, (layer,), (laid,), none, none, (stretch,), np.array([0.9]), none, (), ()
    ... )
    >>> found = redo(after, [Landmark.CALF], remainder_planned=None)
    >>> found.layer, found.from_turn, found.mark_spacing_cm
    (2, 6, 15.0)
    """
    rows = [list(after.padded_leg.sites).index(landmark) for landmark in wrong]
    shares = [
        (_difference(after, index, rows), index)
        for index, layer in enumerate(after.layers)
        if layer.fabric is not None
    ]
    if not shares:
        return None
    index = max(shares)[1]
    layer, table = after.layers[index], after.laid[index].table[:, _IN_PLACE]
    over_lowest = np.flatnonzero(table[:, min(rows)] > 0)
    return Redo(
        layer=layer.number,
        title=layer.title,
        from_turn=int(over_lowest[0]) + 1 if len(over_lowest) else 1,
        mark_spacing_cm=_spacing_cm(layer, after, remainder_planned),
    )


def _difference(after: SampledApplied, index: int, rows: Sequence[int]) -> float:
    """What a layer's likely stretch changes at the wrong sites, theory's mmHg."""
    layer = after.layers[index]
    if layer.fabric is None or layer.tensions_n_per_cm is None:
        return 0.0
    most = NEAREST_TO_LOCK * layer.fabric.locking_stretch
    likely = np.clip(np.median(after.stretch[index], axis=1), 0, most)
    on_foot = np.arange(len(likely)) < FOOT_TURNS
    planned = np.where(on_foot, *layer.tensions_n_per_cm)
    off = layer.fabric.curve.tension_n_per_cm(likely) - planned
    return float(np.abs(off @ after.laid[index].table[:, _IN_PLACE][:, rows]).sum())


def _spacing_cm(layer: Layer, after: SampledApplied, remainder_planned: float | None) -> float:
    """The planned spacing; after a sensor's value, the one that gives the plan's pressure."""
    stretch = layer.stretch_percent / 100
    if remainder_planned is not None and layer.fabric and layer.tensions_n_per_cm:
        learnt = float(np.median(after.remainder))
        wanted = layer.tensions_n_per_cm[1] * remainder_planned / learnt
        bandaged_leg = float(layer.fabric.curve.stretch_for(wanted))
        stretch = min(max(bandaged_leg, layer.fabric.least_stretch), layer.fabric.largest_stretch)
    return RELAXED_CM * (1 + stretch)
