"""Addresses of practice."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.frame.menu import InMenu
from gaiter.web.practice import habits, views

urlpatterns = [
    InMenu("technique/", habits.technique, name="technique", title=_("Technique"), place=50),
    InMenu("practice/", views.practice, name="practice", title=_("Practice"), place=40),
    path("practice/attempts/<int:pk>/", views.attempt, name="attempt"),
    path("practice/record/<int:pk>.pdf", views.practice_record, name="practice-record"),
    path("practice/<slug:name>/", views.practice_leg, name="practice-leg"),
    path("practice/<slug:name>/try/", views.practice_try, name="practice-try"),
]
