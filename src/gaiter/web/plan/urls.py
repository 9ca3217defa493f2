"""Addresses of plans."""

from django.urls import path

from gaiter.web.plan import views

urlpatterns = [
    path("visits/<int:pk>/plan/", views.design, name="design"),
    path("visits/<int:pk>/plan/propose/", views.propose, name="propose"),
    path("plans/<int:pk>/", views.plan, name="plan"),
    path("plans/<int:pk>/approve/", views.approve, name="approve"),
    path("plans/<int:pk>/withdraw/", views.withdraw, name="withdraw-plan"),
    path("plans/<int:pk>/plan.json", views.plan_file, name="plan-file"),
]
