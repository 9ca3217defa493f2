"""Addresses of papers."""

from django.urls import path

from gaiter.web.papers import views

urlpatterns = [
    path("legs/<int:pk>/papers/<slug:kind>/", views.paper, name="paper"),
]
