"""Addresses of the frame."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.frame import views
from gaiter.web.frame.menu import InMenu

urlpatterns = [
    path("health/", views.health, name="health"),
    InMenu("policy/", views.policy, name="policy", title=_("Policy"), place=80),
]
