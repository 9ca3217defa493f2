"""Addresses of practice."""

from django.urls import path

from gaiter.web.practice import views

urlpatterns = [
    path("practice/", views.practice, name="practice"),
    path("practice/<slug:name>/", views.practice_leg, name="practice-leg"),
]
