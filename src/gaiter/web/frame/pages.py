"""What the pages that belong to no feature show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from gaiter.core.policy import Policy
from gaiter.core.words import Said
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class ProblemPage(Page):
    """What went wrong, in one sentence under a title."""

    template: ClassVar[str] = "frame/problem.html"
    title: str
    sentence: str


@dataclass(frozen=True)
class PolicyPage(Page):
    """Every threshold in force, and the bandage systems that the clinic added or took out."""

    template: ClassVar[str] = "frame/policy.html"
    policy: Policy
    systems: Sequence[Said]
