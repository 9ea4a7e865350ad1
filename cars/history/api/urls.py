"""Addresses of the API of the history of cars."""

from django.urls import path

from cars.history.api import comparison

urlpatterns = [path("compare", comparison.Compare.as_view(), name="api-compare")]
