"""Addresses of teams."""

from django.urls import path

from gaiter.web.teams import manage, person

urlpatterns = [
    path("teams/", manage.teams, name="teams"),
    path("teams/place/", manage.place, name="place-people"),
    path("teams/<int:pk>/", manage.team, name="team"),
    path("people/outside/", person.outside, name="open-outside"),
    path("people/<int:pk>/teams/", person.teams, name="person-teams"),
]
