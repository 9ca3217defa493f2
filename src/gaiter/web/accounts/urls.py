"""Addresses of accounts."""

from django.urls import path

from gaiter.web.accounts import manage, orders, views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("lock/", views.lock, name="lock"),
    path("second-factor/", views.second_factor, name="second-factor"),
    path("second-factor/set-up/", views.second_factor_set_up, name="second-factor-set-up"),
    path("welcome/<int:pk>/<str:token>/", views.welcome, name="welcome"),
    path("own/", views.own, name="own"),
    path("accounts/", manage.accounts, name="accounts"),
    path("accounts/<int:pk>/", manage.account, name="account"),
    path("orders/", orders.orders, name="orders"),
    path("orders/<int:pk>/end/", orders.end_order, name="end-order"),
]
