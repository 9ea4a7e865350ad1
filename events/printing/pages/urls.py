"""Addresses of the pages that offer prints."""

from django.urls import path

from events.printing.pages import views

urlpatterns = [
    path("events/<uuid:pk>/prints", views.event_prints, name="event-prints"),
    path("entries/<uuid:pk>/prints", views.entry_prints, name="entry-prints"),
    path("cars/<uuid:pk>/labels", views.car_labels, name="car-labels"),
]
