"""Addresses of one's own account."""

from django.urls import path

from clubsetup.access.pages import by_code, me

urlpatterns = [
    path("", me.me, name="me"),
    path("name", me.my_name, name="my-name"),
    path("units", me.my_units, name="my-units"),
    path("colours", me.my_colours, name="my-colours"),
    path("code", by_code.password_by_code, name="password-by-code"),
    path("sign-ins/end", me.end_elsewhere, name="sign-ins-end"),
    path("sign-ins/<uuid:pk>/end", me.end_sign_in, name="sign-in-end"),
    path("tokens/new", me.make_token, name="token-new"),
    path("tokens/<uuid:pk>/end", me.end_token, name="token-end"),
]
