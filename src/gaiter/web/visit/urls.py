"""Addresses of a visit."""

from django.urls import path

from gaiter.web.visit import check, safety, views

urlpatterns = [
    path("visits/<int:pk>/", views.visit, name="visit"),
    path("visits/<int:pk>/save/", views.save, name="save-visit"),
    path("visits/<int:pk>/live/", views.live, name="live-visit"),
    path("visits/<int:pk>/settle/", views.settle, name="settle-visit"),
    path("visits/<int:pk>/sign/", views.sign, name="sign-visit"),
    path("visits/<int:pk>/case.json", views.case_file, name="case-file"),
    path("visits/<int:pk>/none-present/", safety.none_present, name="none-present"),
    path("visits/<int:pk>/refer/", safety.refer, name="refer"),
    path("visits/<int:pk>/provisional/", safety.provisional, name="provisional"),
    path("visits/<int:pk>/no-provisional/", safety.no_provisional, name="no-provisional"),
    path("visits/<int:pk>/override/", safety.override, name="override"),
    path("overrides/<int:pk>/withdraw/", safety.withdraw, name="withdraw-override"),
    path("visits/<int:pk>/check/", check.check, name="check"),
    path("visits/<int:pk>/bandaged/", check.bandaged, name="bandaged"),
    path("bandagings/<int:pk>/undo/", check.undo, name="undo-bandaging"),
    path("bandagings/<int:pk>/check/", check.answer, name="answer-check"),
    path("bandagings/<int:pk>/deed/", check.deed, name="record-deed"),
    path("bandagings/<int:pk>/readings/", check.readings, name="readings"),
]
