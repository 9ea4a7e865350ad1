"""Addresses of the prints: pages."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
