"""A page: one template, and exactly the fields that it shows."""

from dataclasses import dataclass, fields
from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.functional import Promise

# Words in the reader's language, translated when they are shown; and a choice: value and words.
Words = str | Promise
Choice = tuple[str, Words]


@dataclass(frozen=True)
class Page:
    """What one template shows; each page of the clinic is a subclass beside its views."""

    template: ClassVar[str]

    def context(self) -> dict[str, Any]:
        """The fields by name."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


def show(request: HttpRequest, page: Page, status: int = 200) -> HttpResponse:
    """A page as it is answered."""
    return render(request, page.template, page.context(), status=status)
