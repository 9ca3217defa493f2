"""Addresses of stock."""

from django.urls import path

from gaiter.web.stock import views

urlpatterns = [
    path("stock/", views.stock, name="stock"),
    path("stock/<int:pk>/", views.item, name="stock-item"),
    path("stock/<int:pk>/count/", views.count, name="count-stock"),
]
