from gaiter.api import AppliedBandage as AppliedBandage
from gaiter.api import InputError as InputError
from gaiter.api import PlannedCase as PlannedCase
from gaiter.api import PlannedLeg as PlannedLeg
from gaiter.api import PressureMap as PressureMap
from gaiter.api import applied as applied
from gaiter.api import copy_examples as copy_examples
from gaiter.api import plan as plan
from gaiter.api import safety as safety
from gaiter.api import study as study

__version__: str
