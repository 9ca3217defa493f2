"""The one array type of the core, and the names of its axes.

A docstring gives the shape of an array by the names of its axes, first axis first:

===========  ====================================================================================
rings        Along the leg, from the toes towards the knee: one ring of the surface each.
angles       Round the leg, from the front over the inner side: one column of the surface each.
cells        (rings, angles) of the surface, or of the coarse grid laid over it.
layers       From the skin outwards.
turns        Of one layer, from the foot towards the knee.
discs        Reading sites, then bony places; or those up the inner side.
samples      Bandages drawn at random.
landmarks    As :class:`gaiter.core.landmark.Landmark` lists them.
===========  ====================================================================================

Arrays of unlike axes are never broadcast against each other without an axis put in by name.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
Complex = npt.NDArray[np.complex128]
Mask = npt.NDArray[np.bool_]
