"""Addresses of the API of teams."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
