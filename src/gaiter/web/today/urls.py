"""Addresses of the day and of one leg."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.frame.access import CLINICAL
from gaiter.web.frame.menu import InMenu
from gaiter.web.today import leg, views

urlpatterns = [
    InMenu("", views.today, name="today", title=_("Today"), place=10, roles=CLINICAL),
    path("legs/<int:pk>/", leg.leg, name="leg"),
    path("legs/<int:pk>/visit/", leg.start_visit, name="start-visit"),
    path("legs/<int:pk>/note/", leg.note, name="note"),
    path("legs/<int:pk>/call/", leg.call, name="call"),
    path("calls/<int:pk>/returned/", leg.call_returned, name="call-returned"),
    path("legs/<int:pk>/event/", leg.event, name="leg-event"),
    path("legs/<int:pk>/clear-stop/", leg.clear, name="clear-stop"),
    path("legs/<int:pk>/close/", leg.close, name="close-episode"),
    path("legs/<int:pk>/outcome/", leg.outcome, name="change-outcome"),
    path("legs/<int:pk>/files/", leg.add_file, name="add-file"),
    path("files/<int:pk>/", leg.stored_file, name="stored-file"),
]
