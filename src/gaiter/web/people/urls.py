"""Addresses of people."""

from django.urls import path

from gaiter.web.people import views

urlpatterns = [
    path("people/", views.people, name="people"),
    path("people/new/", views.new_person, name="new-person"),
    path("people/<int:pk>/", views.person, name="person"),
    path("people/<int:pk>/change/", views.change, name="change-person"),
    path("people/<int:pk>/leg/", views.open_leg, name="open-leg"),
]
