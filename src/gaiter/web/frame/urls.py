"""Addresses of the frame."""

from django.urls import path

from gaiter.web.frame import views

urlpatterns = [
    path("health/", views.health, name="health"),
    path("policy/", views.policy, name="policy"),
]
