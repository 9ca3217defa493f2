from gaiter.library import AppliedBandage as AppliedBandage
from gaiter.library import InputError as InputError
from gaiter.library import PlannedCase as PlannedCase
from gaiter.library import PlannedLeg as PlannedLeg
from gaiter.library import PressureMap as PressureMap
from gaiter.library import applied as applied
from gaiter.library import copy_examples as copy_examples
from gaiter.library import plan as plan
from gaiter.library import safety as safety
from gaiter.library import study as study

__version__: str
