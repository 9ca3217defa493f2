"""Address of loosened or taken off."""

from django.urls import path

from gaiter.web.off import views

urlpatterns = [path("off/", views.off, name="off")]
