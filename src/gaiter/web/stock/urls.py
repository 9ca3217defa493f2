"""Addresses of stock."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.frame.menu import InMenu
from gaiter.web.stock import views

urlpatterns = [
    InMenu("stock/", views.stock, name="stock", title=_("Stock"), place=60),
    path("stock/<int:pk>/", views.item, name="stock-item"),
    path("stock/<int:pk>/count/", views.count, name="count-stock"),
]
