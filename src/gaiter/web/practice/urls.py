"""Addresses of practice."""

from django.urls import path

from gaiter.web.practice import habits, views

urlpatterns = [
    path("technique/", habits.technique, name="technique"),
    path("practice/", views.practice, name="practice"),
    path("practice/attempts/<int:pk>/", views.attempt, name="attempt"),
    path("practice/record/<int:pk>.pdf", views.practice_record, name="practice-record"),
    path("practice/<slug:name>/", views.practice_leg, name="practice-leg"),
    path("practice/<slug:name>/try/", views.practice_try, name="practice-try"),
]
