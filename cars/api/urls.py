"""Addresses of the API of cars."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
