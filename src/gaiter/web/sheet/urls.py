"""Addresses of the sheet."""

from django.urls import path

from gaiter.web.sheet import views

urlpatterns = [
    path("plans/<int:pk>/sheet/", views.steps, name="steps"),
    path("plans/<int:pk>/sheet.pdf", views.sheet_file, name="sheet-file"),
]
