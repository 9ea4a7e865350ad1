"""Addresses of the prints: pages."""

from django.urls import path

from clubsetup.printing.pages import views

urlpatterns = [
    path("", views.prints, name="prints"),
    path("ask", views.ask, name="print-ask"),
    path("<uuid:job_id>/state", views.state, name="print-state"),
    path("<uuid:job_id>/file", views.file, name="print-file"),
]
