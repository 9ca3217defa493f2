"""Every address of the clinic, one line a feature."""

from django.urls import include, path

urlpatterns = [
    path("", include("gaiter.web.today.urls")),
    path("", include("gaiter.web.accounts.urls")),
    path("", include("gaiter.web.people.urls")),
    path("", include("gaiter.web.teams.urls")),
    path("", include("gaiter.web.visit.urls")),
    path("", include("gaiter.web.plan.urls")),
    path("", include("gaiter.web.sheet.urls")),
    path("", include("gaiter.web.papers.urls")),
    path("", include("gaiter.web.stock.urls")),
    path("", include("gaiter.web.off.urls")),
    path("", include("gaiter.web.practice.urls")),
    path("", include("gaiter.web.frame.urls")),
]
handler400 = "gaiter.web.frame.errors.too_much"
handler404 = "gaiter.web.frame.errors.not_found"
handler403 = "gaiter.web.frame.errors.not_yours"
handler500 = "gaiter.web.frame.errors.fault"
