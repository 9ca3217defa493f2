"""Addresses of accounts."""

from django.urls import path

from gaiter.web.accounts import factor, manage, orders, own, views

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
    path("accounts/", manage.accounts, name="accounts"),
    path("accounts/<int:pk>/", manage.account, name="account"),
    path("accounts/grants/<int:pk>/approve/", manage.approve, name="approve-grant"),
    path("accounts/grants/<int:pk>/end/", manage.end, name="end-grant"),
    path("orders/", orders.orders, name="orders"),
    path("orders/<int:pk>/end/", orders.end_order, name="end-order"),
]
