"""Addresses of the API of events."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
