"""What the page of a bandage that came off shows."""

from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class OffPage(Page):
    """The form; nothing of the patient."""

    template: ClassVar[str] = "off/off.html"
    form: Form
