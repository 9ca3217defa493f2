"""Invented legs for whoever learns: the same plan and sheet, nobody's record."""

import tomllib
from functools import cache
from importlib import resources

from django.http import Http404, HttpResponse
from django.shortcuts import render

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.exchange.case_file import case_from_mapping
from gaiter.records.models import Role
from gaiter.sheets.content import sheet_content
from gaiter.web.plan.views import designed
from gaiter.web.site.access import CLINICAL, allow
from gaiter.web.site.request import ClinicRequest


@cache
def practice_cases() -> dict[str, Case]:
    """Invented legs that come with the program, easiest first."""
    folder = resources.files("gaiter.data").joinpath("practice")
    return {
        file.name.removesuffix(".toml").split("-", 1)[1]: case_from_mapping(
            tomllib.loads(file.read_text()), file.name
        )
        for file in sorted(folder.iterdir(), key=lambda f: f.name)
        if file.name.endswith(".toml")
    }


@allow(CLINICAL | {Role.LEARNER})
def practice(request: ClinicRequest) -> HttpResponse:
    """The invented legs."""
    legs = [
        (name, name.replace("-", " ").capitalize(), next(iter(case.legs.values())))
        for name, case in practice_cases().items()
    ]
    return render(request, "practice/practice.html", {"legs": legs})


@allow(CLINICAL | {Role.LEARNER})
def practice_leg(request: ClinicRequest, name: str) -> HttpResponse:
    """One invented leg: plan, controls, and the steps of its sheet."""
    case = practice_cases().get(name)
    if case is None:
        raise Http404
    part = request.headers.get("X-Part") == "design"
    try:
        design = designed(case, request.GET.dict())
    except InputError as error:
        if part:
            return render(request, "plan/refused.html", {"sentence": str(error)}, status=400)
        raise
    context = {
        "design": design,
        "title": name.replace("-", " ").capitalize(),
        "practice": True,
        "content": sheet_content(design.plan, design.leg),
    }
    return render(request, "plan/design_part.html" if part else "practice/leg.html", context)
