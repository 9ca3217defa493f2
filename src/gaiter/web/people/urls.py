"""Addresses of people."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.frame.menu import InMenu
from gaiter.web.people import views

urlpatterns = [
    InMenu("people/", views.people, name="people", title=_("People"), place=20),
    path("people/new/", views.new_person, name="new-person"),
    path("people/<int:pk>/", views.person, name="person"),
    path("people/<int:pk>/change/", views.change, name="change-person"),
    path("people/<int:pk>/leg/", views.open_leg, name="open-leg"),
]
