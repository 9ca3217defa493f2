"""What the page of a paper shows."""

from dataclasses import dataclass
from typing import ClassVar

from gaiter.outlets.papers.source import Paper
from gaiter.records.models import Episode, Person
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class PaperPage(Page):
    """One paper, and whose leg it is about."""

    template: ClassVar[str] = "papers/paper.html"
    paper: Paper
    episode: Episode
    person: Person
