"""Addresses of the pages of events."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
