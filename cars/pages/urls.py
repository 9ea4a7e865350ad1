"""Addresses of the pages of cars."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
