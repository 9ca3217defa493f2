"""What the steps on screen show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from gaiter.core.plan.document import Layer
from gaiter.records.models import Episode, Person, PlanRecord, Visit
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class StepsPage(Page):
    """Big steps, one after the other.

    Attributes
    ----------
    content : Mapping
        The same sentences as on the printed sheet.
    drawing : str
        SVG of the leg with its turns.
    approval, ended, why_not : str
        Who approved; why the plan is in force no more; why it must not be bandaged today. Empty
        where there is nothing to say.
    """

    template: ClassVar[str] = "sheet/steps.html"
    record: PlanRecord
    visit: Visit
    episode: Episode
    person: Person
    content: Mapping[str, Any]
    layers: Sequence[Layer]
    drawing: str
    approval: str
    ended: str
    why_not: str
