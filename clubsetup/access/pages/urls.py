"""Addresses of one's own account."""

from django.urls import path

from clubsetup.access.pages import me

urlpatterns = [
    path("", me.me, name="me"),
    path("name", me.my_name, name="my-name"),
    path("units", me.my_units, name="my-units"),
    path("tokens/new", me.make_token, name="token-new"),
    path("tokens/<uuid:pk>/end", me.end_token, name="token-end"),
]
