"""What published courses reached, told as it was found."""

from django.utils.translation import gettext_lazy as _

YARDSTICKS = (
    _(
        "Seeing the pressure while bandaging helped most: 31 % of bandages hit the target with "
        "printed tension marks, 85.7 % with a live reading (Verzwyvelt et al. 2023)."
    ),
    _(
        "Six courses with a sensor: the mean miss of a target of 35 to 45 mmHg fell from 8.4 to "
        "3.5 mmHg, and pressures above 60 mmHg were gone after four sessions (Hafner et al. 2000)."
    ),
    _(
        "Printed marks alone helped little, and once made the pressure along the leg worse: 4 of "
        "10 students with marks passed, 8 of 10 without (student trial; mean pressure alike)."
    ),
    _(
        "21 nurses with training and a monitor: insufficient bandages fell from 34.9 to 17.5 % "
        "(Keller et al. 2009)."
    ),
    _(
        "It fades: the gain was kept for 2 to 4 weeks in two studies and not in a third (Feben "
        "2003). Years in the job and confidence did not predict the pressure (Zarchi & Jemec 2014)."
    ),
)
