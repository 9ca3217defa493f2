"""Addresses of accounts."""

from django.urls import path
from django.utils.translation import gettext_lazy as _

from gaiter.web.accounts import factor, manage, orders, own, views
from gaiter.web.frame.menu import InMenu

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("lock/", views.lock, name="lock"),
    path("second-factor/", factor.second_factor, name="second-factor"),
    path("second-factor/set-up/", factor.second_factor_set_up, name="second-factor-set-up"),
    path("second-factor/recovery/", factor.recovery_codes, name="recovery-codes"),
    path("welcome/", views.welcome, name="welcome"),
    path("own/", own.own, name="own"),
    path("own/notices/", own.notices, name="notices"),
    path("own/sessions/end/", own.end_other_sessions, name="end-other-sessions"),
    path("own/sessions/<int:pk>/end/", own.end_one_session, name="end-session"),
    InMenu("accounts/", manage.accounts, name="accounts", title=_("Accounts"), place=70),
    path("accounts/<int:pk>/", manage.account, name="account"),
    path("accounts/grants/<int:pk>/approve/", manage.approve, name="approve-grant"),
    path("accounts/grants/<int:pk>/end/", manage.end, name="end-grant"),
    InMenu("orders/", orders.orders, name="orders", title=_("Standing orders"), place=30),
    path("orders/<int:pk>/end/", orders.end_order, name="end-order"),
]
