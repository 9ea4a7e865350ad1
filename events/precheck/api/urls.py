"""Addresses of the pre-check's API."""

from django.urls import path

from events.precheck.api import views

urlpatterns = [
    path("cars/<uuid:pk>/pre-check", views.CarPrecheck.as_view(), name="api-pre-check"),
]
