"""The application as a server runs it."""

import os

from django.core.handlers.wsgi import WSGIHandler
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gaiter.operations.settings")
_pages: WSGIHandler = get_wsgi_application()

# Needs the settings and the models that are ready now.
from gaiter.web.frame.bodies import Utf8Request  # noqa: E402
from gaiter.web.frame.gate import Gate  # noqa: E402

_pages.request_class = Utf8Request
application = Gate(_pages)


def _warm_up() -> None:
    """What the first visitor would wait for: numerical libraries, pages compiled, one leg drawn."""
    from django.template.loader import get_template
    from django.urls import get_resolver

    from gaiter.core.spread import sums
    from gaiter.operations.demo.people import ORDINARY
    from gaiter.records.visit.case import local_catalogue, local_policy
    from gaiter.web.visit.pictures import measured, outline

    # Visitors are served side by side already; one bandage's sums need no threads of their own.
    sums.load(threads=1)
    get_resolver().url_patterns  # noqa: B018 # imports every view
    for name in (
        "visit/visit",
        "today/today",
        "today/leg",
        "plan/design",
        "plan/plan",
        "visit/check",
    ):
        get_template(f"{name}.html")
    local_policy()
    local_catalogue()
    outline("right", measured(ORDINARY))


_warm_up()
