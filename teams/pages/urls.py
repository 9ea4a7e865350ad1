"""Addresses of the pages of teams."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
