"""Addresses of the pre-check's pages."""

from django.urls import path

from events.precheck.pages import views

urlpatterns = [path("cars/<uuid:pk>/pre-check", views.pre_check, name="pre-check")]
