"""One leg over weeks: what has changed since, and what is due."""

from gaiter.core.episode.concerns import (
    Lateness,
    above_maximum,
    arterial_due,
    girth_drift,
    lateness,
    wound_stalled,
)

__all__ = [
    "Lateness",
    "above_maximum",
    "arterial_due",
    "girth_drift",
    "lateness",
    "wound_stalled",
]
