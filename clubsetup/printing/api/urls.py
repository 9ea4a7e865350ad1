"""Addresses of the prints: api."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
